"""A valve's state in the picture, from the entries of a record."""

from datetime import UTC, datetime
from typing import Any

import pytest

from heelwise.documents.entries import (
    Accepted,
    AnyBody,
    BackedOff,
    CrossedOut,
    NoClick,
    Proved,
    Read,
    Unloaded,
)
from heelwise.documents.entry_base import Entry
from heelwise.pictures.cells import ValveSign
from heelwise.pictures.top_view import states_of
from heelwise.valvetrain.engine import Valve
from heelwise.walk.state import fold

VALVES = (Valve.parse("1I"), Valve.parse("1E"))
AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


def read(verdict: Any = "inside", near: bool = False, phase: Any = "fit") -> Read:
    return Read(
        valve="1I",
        turns="1",
        phase=phase,
        pushrod="7.400 in",
        at_deg=90.0,
        resolution_turns=0.125,
        verdict=verdict,
        near=near,
        rule="as read",
        least_turns=0.75,
        most_turns=1.25,
        never_past_turns=2.0,
        travel_mm=2.0,
        travel_from="measured",
    )


PROOF = Proved(valve="1I", outcome="clicked", torque="24 lbf ft", at_deg=90.0)
MOVED = Proved(valve="1I", outcome="moved", torque="24 lbf ft", at_deg=90.0)
ACCEPTANCE = Accepted(valve="1I", of=1, person="A. Builder", reason="agreed")
CEILING = NoClick(valve="1I", phase="fit", pushrod="7.400 in", never_past_turns=2.0)


@pytest.mark.parametrize(
    ("bodies", "state"),
    [
        ([], ValveSign.NOT_DONE),
        ([read(phase="trial")], ValveSign.TRIAL),
        ([read(phase="trial"), BackedOff(valves=["1I"], why="trial over")], ValveSign.NOT_DONE),
        ([read()], ValveSign.INSIDE),
        ([read(near=True)], ValveSign.NEAR),
        ([read("short")], ValveSign.SHORT),
        ([read("long")], ValveSign.LONG),
        ([read("long"), ACCEPTANCE], ValveSign.ACCEPTED),
        ([CEILING], ValveSign.LONG),
        ([read(), PROOF], ValveSign.PROVED),
        ([read(), MOVED], ValveSign.COUNTED),
        ([read(), Unloaded(valve="1I", minutes=1.0)], ValveSign.COUNTED),
        ([read(), PROOF, BackedOff(valves=["1I"], why="recount")], ValveSign.BACKED_OFF),
        ([read(), CrossedOut(of=1, reason="misread")], ValveSign.NOT_DONE),
    ],
)
def test_state(bodies: list[AnyBody], state: ValveSign) -> None:
    entries = [Entry(number, AT, "AB", body) for number, body in enumerate(bodies, start=1)]
    states = states_of(fold(VALVES, entries))
    assert states == {VALVES[0]: state, VALVES[1]: ValveSign.NOT_DONE}
