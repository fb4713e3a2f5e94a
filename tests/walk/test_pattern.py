"""Lengths by the witness mark on the valve tip: off the middle brings another length."""

import pytest

from heelwise.documents.entries import Checked, Ordered
from heelwise.documents.quantities import length_mm
from tests.walk.driving import Drive

NAMES = ("length-by-tip-pattern", "shaft-lengths-by-tip-pattern")


def _on_pattern(name: str) -> Drive:
    drive = Drive("i4-1342", 1, planted=(), name=name)
    drive.until(lambda p: p.records == "pattern")
    return drive


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("answer", ["2", "3", "4"])
def test_a_mark_off_the_middle_asks_for_another_length(name: str, answer: str) -> None:
    drive = _on_pattern(name)
    valve = drive.prompt.valve
    drive.step(answer)
    assert (drive.prompt.records, drive.prompt.valve) == ("pattern_length", valve)
    drive.step()
    assert (drive.prompt.records, drive.prompt.valve) == ("pattern", valve)


@pytest.mark.parametrize("name", NAMES)
def test_the_length_in_the_middle_is_ordered_for_its_kind(name: str) -> None:
    drive = _on_pattern(name)
    drive.until(lambda p: p.id == "walk/order")
    checked = [e.body for e in drive.kept if isinstance(e.body, Checked)]
    assert {body.valve[-1] for body in checked} == {"I", "E"}
    assert all(body.pattern for body in checked)
    drive.step("y")
    (order,) = (e.body for e in drive.kept if isinstance(e.body, Ordered))
    bought = dict(zip(order.valves, order.pushrods, strict=True))
    for body in checked:
        lengths = {length for valve, length in bought.items() if valve[-1] == body.valve[-1]}
        (length,) = lengths
        assert length_mm(length) == pytest.approx(body.wanted_mm, abs=0.01)
    drive.to_the_end()
    assert all(row.proved for row in drive.outcome)
