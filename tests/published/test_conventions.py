"""Conventions: firing gaps from the crank's geometry, direction of rotation, and the cards.

Sources: gaps of V-twins and of the odd-firing V6 by common practice, of the semi-even V6 and
the V10 from memory; all are redone here from slider and crank. Direction of rotation: clockwise
seen from the front (1979 Jeep CJ manual p. 1B-44, seen), which SAE J824 says as counter-clockwise
from the principal output end; ISO 1204:1990 leaves road-vehicle engines out, so it is no default.
"""

from __future__ import annotations

import cmath
import math
import tomllib
from pathlib import Path

import pytest
from scipy.optimize import brentq, minimize_scalar

from heelwise.valvetrain.cam import tdc_distance
from heelwise.valvetrain.engine import Engine, make_engine
from heelwise.valvetrain.turn import true_tdc
from heelwise.wording import MM_PER_INCH as INCH

CARDS = Path(__file__).parents[2] / "procedures" / "engines"
RIGHT, LEFT = -1, 1
"""Which way a bank leans, seen from the front with the driver's left on the viewer's right."""


def card(name: str) -> dict[str, object]:
    return tomllib.loads((CARDS / f"{name}.toml").read_text(encoding="utf-8"))


def engine_of(name: str) -> Engine:
    table = card(name)["engine"]
    assert isinstance(table, dict)
    return make_engine(
        table["firing_order"],
        table.get("firing_gaps"),
        table["banks"],
        table.get("valve_rows"),
        clockwise=table["rotation"] == "clockwise",
    )


def tdc(pin_deg: float, bore_deg: float) -> float:
    """Crank angle, modulo 360, at which a piston stands highest: found, not deduced.

    Args:
        pin_deg: the crankpin's place when the crank is at 0, clockwise from straight up.
        bore_deg: the bore's lean, clockwise from straight up.
    """

    def lowness(crank: float) -> float:
        angle = math.radians(pin_deg + crank - bore_deg)
        return -(math.cos(angle) + math.sqrt(9.0 - math.sin(angle) ** 2))

    best = min(range(0, 360, 5), key=lowness)
    found = minimize_scalar(lowness, bounds=(best - 10, best + 10), method="bounded")
    return float(found.x) % 360


def gap(first: float, second: float) -> float:
    return (second - first) % 360


@pytest.mark.parametrize(("name", "angle"), [("v2-45", 45.0), ("v2-90", 90.0)])
def test_v_twins_fire_a_turn_less_and_a_turn_more_than_their_angle(name: str, angle: float) -> None:
    # Cylinder 1 is the one reached second: a turn less the angle later comes the other.
    first, second = tdc(0.0, angle / 2), tdc(0.0, -angle / 2)
    engine = engine_of(name)
    assert gap(first, second) == pytest.approx(360 - angle, abs=1e-3)
    assert engine.firing_gaps == pytest.approx((360 - angle, 360 + angle))
    assert engine.phase(2) == pytest.approx(gap(first, second), abs=1e-3)


@pytest.mark.parametrize(
    ("name", "pins", "split"),
    [
        ("v6-165432-odd-firing", 3, 0.0),
        ("v6-165432-semi-even", 3, 18.0),
        ("v10-1-10-9-4-3-6-5-8-7-2", 5, 0.0),
    ],
)
def test_ninety_degree_vees_on_shared_pins(name: str, pins: int, split: float) -> None:
    """A pin turning clockwise passes the right bank first; a split pin has the left one wait."""
    engine = engine_of(name)
    for pin in range(pins):
        left, right = 2 * pin + 1, 2 * pin + 2
        assert left in engine.bank_of(left).cylinders
        place = -engine.phase(left)
        on_left = tdc(place + 45.0, LEFT * 45.0)
        on_right = tdc(place + 45.0 + split, RIGHT * 45.0)
        # The left piston's TDC is the card's by construction; the right one's must then agree.
        assert tdc_distance(engine, left, on_left) == pytest.approx(0.0, abs=1e-3)
        assert tdc_distance(engine, right, on_right) == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize(
    ("name", "gaps"),
    [
        ("v6-165432-odd-firing", {90.0, 150.0}),
        ("v6-165432-semi-even", {108.0, 132.0}),
        ("v2-45", {315.0, 405.0}),
        ("v2-90", {270.0, 450.0}),
        ("flat2-12", {360.0}),
        ("v8-18436572", {90.0}),
        ("i6-153624", {120.0}),
        ("i4-1342", {180.0}),
        ("single", {720.0}),
    ],
)
def test_gaps_as_known(name: str, gaps: set[float]) -> None:
    assert set(engine_of(name).firing_gaps) == gaps


def test_engines_turn_clockwise_seen_from_the_front_unless_said_otherwise() -> None:
    assert make_engine([1, 3, 4, 2]).clockwise
    assert all(engine_of(path.stem).clockwise for path in CARDS.glob("*.toml"))


def test_there_are_the_layouts_asked_for() -> None:
    names = {path.stem for path in CARDS.glob("*.toml")}
    assert len(names) >= 16
    asked = (
        "v8-18726543 v8-18436572 v8-15426378 v8-13726548 i6-153624 i4-1342 i4-1243 v6-165432 "
        "v6-165432-odd-firing flat4-1432 flat2-12 v2-45 v2-90 single"
    )
    assert names >= set(asked.split())
    assert {name.partition("-")[0] for name in names} >= {"v10", "v12"}


@pytest.mark.parametrize("path", sorted(CARDS.glob("*.toml")), ids=lambda path: path.stem)
def test_a_card_is_named_by_its_order_and_says_where_it_comes_from(path: Path) -> None:
    document = card(path.stem)
    about, table = document["card"], document["engine"]
    assert isinstance(about, dict)
    assert isinstance(table, dict)
    engine = engine_of(path.stem)
    assert document["format"] == 1
    assert engine.cylinders == table["cylinders"]
    assert len(about["title"]) > 5
    assert len(about["numbering"]) > 5
    grades = ("memory", "common practice", "printed", "worked", "Nothing to look up")
    assert any(grade in about["source"] for grade in grades)
    order = engine.firing_order
    digits = ("-" if engine.cylinders > 9 else "").join(map(str, order))
    assert digits in path.stem or engine.cylinders <= 2
    assert order[0] == 1


def test_both_numbering_habits_are_there() -> None:
    engines = [engine_of(path.stem) for path in CARDS.glob("v8-*.toml")]
    habits = {tuple(sorted(bank.cylinders)) for engine in engines for bank in engine.banks}
    assert {(1, 3, 5, 7), (2, 4, 6, 8), (1, 2, 3, 4), (5, 6, 7, 8)} <= habits


@pytest.mark.parametrize(("wheel", "stop"), [(0.0, 12.0), (7.0, 20.0), (353.5, 31.0)])
def test_true_tdc_between_two_touches_of_a_piston_stop(wheel: float, stop: float) -> None:
    """A piston stop holds the same piston at the same height from either side: solved, not halved.

    Source: the slider and crank above. `wheel` is what the degree wheel reads at true TDC.
    """

    def height(crank: float) -> float:
        angle = math.radians(crank)
        return math.cos(angle) + math.sqrt(9.0 - math.sin(angle) ** 2)

    held = height(stop)
    before = brentq(lambda crank: height(crank) - held, -90.0, -0.01)
    after = brentq(lambda crank: height(crank) - held, 0.01, 90.0)
    found = true_tdc((wheel + before) % 360, (wheel + after) % 360)
    assert (found - wheel + 180) % 360 - 180 == pytest.approx(0.0, abs=1e-6)


def test_how_far_a_piston_is_down() -> None:
    # 20° on a 3.5 in stroke is .135 in with a 6 in rod (issue 14); at 90° below half the stroke by
    # l − √(l² − r²), and the whole stroke at 180°. Each found by laying the rod to the pin as well.
    engine = make_engine([1], stroke_mm=3.5 * INCH, rod_mm=6.0 * INCH)
    assert engine.piston_drop_mm(20.0) == pytest.approx(0.135 * INCH, abs=0.0005 * INCH)
    assert engine.piston_drop_mm(180.0) == pytest.approx(3.5 * INCH)
    assert make_engine([1]).piston_drop_mm(20.0) is None
    for deg in range(0, 181, 7):
        pin = complex(0.0, 1.75) * cmath.exp(-1j * math.radians(deg))

        def rod_left(height: float, pin: complex = pin) -> float:
            return abs(complex(0.0, height) - pin) - 6.0

        height = brentq(rod_left, pin.imag + 1.0, 8.0)
        assert engine.piston_drop_mm(deg) == pytest.approx((7.75 - height) * INCH, abs=1e-9)
