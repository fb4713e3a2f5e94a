from math import isclose

import pytest

from heelwise.valvetrain.growth import (
    MATERIALS,
    Part,
    gap_growth,
    hot_preload,
    lash_cold,
)

BLOCK = Part(100.0, MATERIALS["gray iron"], 20.0, 90.0)
HEAD = Part(80.0, MATERIALS["aluminum 356.0"], 20.0, 100.0)
PUSHROD = Part(180.0, MATERIALS["steel 4140"], 20.0, 110.0)


def test_a_sum_of_parts_less_the_pushrod() -> None:
    # 11.4e-6·100·70 + 21.5e-6·80·80 - 12.3e-6·180·90 = 0.0798 + 0.1376 - 0.19926
    assert isclose(BLOCK.growth_mm, 0.0798)
    assert isclose(gap_growth([BLOCK, HEAD], PUSHROD), 0.01814, abs_tol=1e-9)
    assert isclose(gap_growth([HEAD, BLOCK], PUSHROD), gap_growth([BLOCK, HEAD], PUSHROD))


def test_every_material_says_where_its_figure_comes_from() -> None:
    assert {each.source for each in MATERIALS.values()} == {
        "Callister, Materials Science and Engineering, Appendix B, Table B.6",
        "from memory",
    }


def test_hot_preload() -> None:
    plain = hot_preload(1.0, 0.1, 4.0, 0.5, 1.5)
    assert isclose(plain.hot_mm, 0.9)
    assert plain.notes == ()


@pytest.mark.parametrize(
    ("cold", "growth", "word"),
    [
        (0.1, 0.2, "the preload is gone"),
        (0.55, 0.1, "falls to"),
        (1.45, -0.1, "rises to"),
        (3.95, -0.1, "bottomed hot"),
    ],
)
def test_what_heat_does_is_said(cold: float, growth: float, word: str) -> None:
    notes = hot_preload(cold, growth, 4.0, 0.5, 1.5).notes
    assert len(notes) == 1
    assert word in notes[0]
    assert "worked out" in notes[0]


def test_on_a_limit_nothing_is_said() -> None:
    assert hot_preload(0.5, 0.0, 4.0, 0.5, 1.5).notes == ()
    assert hot_preload(0.75, 0.25, 4.0, 0.5, 1.5).notes == ()
    assert hot_preload(1.25, -0.25, 4.0, 0.5, 1.5).notes == ()
    assert hot_preload(0.0, 0.0).notes[0].startswith("Hot, the preload is gone: 0.000 in")
    assert "0.010 in (0.25 mm) of lash" in hot_preload(0.25, 0.5).notes[0]
    assert hot_preload(3.5, -0.5, 4.0).notes == ("The plunger is bottomed hot (worked out).",)
    assert hot_preload(3.0, -0.5, 4.0).notes == ()


def test_twenty_to_ninety_degrees_unless_said_otherwise() -> None:
    assert isclose(Part(100.0, MATERIALS["gray iron"]).growth_mm, 0.0798)


def test_lash_cold_by_hand() -> None:
    assert isclose(lash_cold(0.65, 0.1, 1.5), 0.5)
    assert isclose(lash_cold(0.5, -0.1, 1.5), 0.65)
