"""[lash] and stands of a setup: cold from hot by hand, and every fault told."""

from typing import Any

import pytest

from heelwise.documents.faults import Faulty
from heelwise.documents.setup import parse_setup
from heelwise.documents.setup_growth import LashTable
from heelwise.valvetrain.engine import ValveKind
from tests.rehearsal.setups import setup_for

INCH = 25.4
LENGTH_MM = 8.0 * INCH
PLAIN: dict[str, Any] = {"intake": "0.020 in", "exhaust": "0.022 in"}


def test_hot_and_cold_by_the_chart() -> None:
    """The chart adds -0.012 in for all aluminum: a starting point of two magazines."""
    table = LashTable(**PLAIN, measured="hot", chart="aluminum block, aluminum heads")
    assert table.cold_mm(ValveKind.INTAKE, LENGTH_MM, 1.6) == pytest.approx(0.008 * INCH)
    assert table.hot_mm(ValveKind.EXHAUST, LENGTH_MM, 1.6) == pytest.approx(0.022 * INCH)
    assert "starting point" in table.growth_source


def test_a_figure_measured_cold_is_set_as_it_stands() -> None:
    table = LashTable(**PLAIN, measured="cold")
    assert table.cold_mm(ValveKind.EXHAUST, LENGTH_MM, 1.6) == pytest.approx(0.022 * INCH)
    assert table.hot_mm(ValveKind.EXHAUST, LENGTH_MM, 1.6) is None


def test_growth_by_hand() -> None:
    """8 in of aluminum less 8 in of 4140, 70 K: 0.0052 in at the pushrod, times the ratio."""
    table = LashTable(
        **PLAIN,
        measured="cold",
        block="aluminum 356.0",
        block_length="4 in",
        heads="aluminum 356.0",
        heads_length="4 in",
        pushrod="steel 4140",
    )
    hot = table.hot_mm(ValveKind.INTAKE, LENGTH_MM, 1.5)
    assert hot is not None
    assert hot / INCH == pytest.approx(0.020 + 1.5 * 8 * 70 * (21.5 - 12.3) * 1e-6, abs=1e-9)
    assert hot / INCH == pytest.approx(0.020 + 1.5 * 0.0052, abs=1e-4)


def test_no_lash_left_cold_is_refused() -> None:
    table = LashTable(
        intake="0.010 in",
        exhaust="0.010 in",
        measured="hot",
        chart="aluminum block, aluminum heads",
    )
    with pytest.raises(ValueError, match="no lash is left cold"):
        table.cold_mm(ValveKind.INTAKE, LENGTH_MM, 1.6)


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"measured": "warm"}, 'lash.measured: is "warm"'),
        ({"block": None}, "lash.block: is missing; add it: block, block_length"),
        ({"heads": "aluminum 365.0"}, 'lash.heads: there is no material "aluminum 365.0"; did you'),
        ({"chart": "iron block, iron heads"}, "lash.chart: stands beside block"),
        ({"tolerance": "0.020 in"}, 'lash.tolerance: "0.020 in" isn\'t less than intake'),
        ({"intake": "0.020"}, "lash.intake: "),
        ({"exhaust": None}, "lash.exhaust: is missing"),
        ({"cold_c": "cold"}, "lash.cold_c: "),
        ({"colour": "red"}, "lash.colour: there is no such key"),
    ],
)
def test_a_fault_of_the_table(keys: dict[str, Any], said: str) -> None:
    raw = setup_for("i4-1342", "solid-lifters").to_toml_dict()
    raw["lash"] = {k: v for k, v in {**raw["lash"], **keys}.items() if v is not None}
    assert any(said in fault for fault in _told(raw))


def test_hot_without_growth_and_lash_beside_a_plunger_are_faults() -> None:
    raw = setup_for("i4-1342", "solid-lifters").to_toml_dict()
    raw["lash"] = {**PLAIN, "measured": "hot"}
    assert any("lash: is measured hot, and nothing says what to set cold" in f for f in _told(raw))
    raw = setup_for("i4-1342").to_toml_dict()
    raw["lash"] = {**PLAIN, "measured": "cold"}
    assert any('lash: a "hydraulic roller" lifter has preload, not lash' in f for f in _told(raw))


@pytest.mark.parametrize(
    ("stands", "said"),
    [
        ([["1I", "1E"], ["2I", "2E", "1I"]], "1I stands twice"),
        ([["1I", "1E", "2I", "2E", "3I", "3E", "4I", "4E", "5I"]], "the engine has no valve 5I"),
        ([["1I", "1E", "2I", "2E", "3I", "3E", "4I"]], "4E have no stand"),
        ([[]], "rocker.stands"),
    ],
)
def test_a_fault_of_the_stands(stands: list[list[str]], said: str) -> None:
    raw = setup_for("i4-1342", "shaft-rockers").to_toml_dict()
    raw["rocker"]["stands"] = stands
    assert any(said in fault for fault in _told(raw))


def _told(raw: dict[str, Any]) -> list[str]:
    with pytest.raises(Faulty) as refused:
        parse_setup(raw, "s.toml")
    return [str(fault) for fault in refused.value.faults]
