from __future__ import annotations

import random

import pytest

from heelwise.valvetrain.valves import Kind, Valve


@pytest.mark.parametrize(
    ("text", "valve"),
    [
        ("1I", Valve(1, Kind.INTAKE)),
        ("8e", Valve(8, Kind.EXHAUST)),
        (" 24E ", Valve(24, Kind.EXHAUST)),
    ],
)
def test_names_are_read_in_either_case(text: str, valve: Valve) -> None:
    assert Valve.parse(text) == valve
    assert Valve.parse(str(valve)) == valve


@pytest.mark.parametrize(
    "text", ["", "I1", "1", "0I", "01I", "1X", "1II", "-1I", "１I", "1 I", "123E"]
)
def test_what_is_no_valve_is_refused_with_the_right_form(text: str) -> None:
    with pytest.raises(ValueError, match="as in 1I or 8E"):
        Valve.parse(text)


def test_valves_sort_by_cylinder_and_the_intake_first() -> None:
    names = ["1I", "1E", "2I", "2E", "10I", "10E"]
    valves = [Valve.parse(name) for name in names]
    shuffled = random.Random(3).sample(valves, len(valves))
    assert [str(valve) for valve in sorted(shuffled)] == names
    assert valves[0] < valves[1] <= valves[1] < valves[2]
    assert valves[5] > valves[4] >= valves[4]
    assert len({*valves, *shuffled}) == len(valves)
