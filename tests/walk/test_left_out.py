"""What a procedure's defaults leave out of the walk, and what the sheet says of it."""

import re
from collections import Counter

import pytest

from heelwise.documents.entries import Received
from heelwise.documents.quantities import length_mm
from heelwise.sheet.words import entry_words
from heelwise.walk.buying import ANOTHER, RECEIVE, ordered_lengths
from heelwise.walk.prompts import Refused
from tests.walk.driving import Drive, no_faults


def _received(drive: Drive) -> list[Received]:
    return [e.body for e in drive.kept if isinstance(e.body, Received)]


@pytest.mark.parametrize("rule", ["every one", "one of each length", "none"])
def test_new_pushrods_are_measured_as_the_procedure_wants(rule: str) -> None:
    drive = no_faults().following(receive=rule)
    drive.to_the_end()
    lengths = Counter(body.ordered for body in _received(drive))
    asked = Counter(p.id for p in drive.prompts if p.id == RECEIVE)
    assert sum(lengths.values()) == 8
    measured = sum(body.measured for body in _received(drive))
    by_itself = measured - sum(bool(body.together) for body in _received(drive))
    if rule == "none":
        assert asked == {RECEIVE: len(lengths)}
        assert measured == 0
    elif rule == "one of each length":
        assert asked == {RECEIVE: len(lengths)}
        assert measured == by_itself == len(lengths)
    else:
        assert asked == {RECEIVE: len(lengths)}
        assert measured == 8
        assert by_itself == sum(count == 1 for count in lengths.values())
    assert len(drive.build.procedure.omissions) == (rule != "every one")


def test_one_of_a_length_that_differs_is_measured_again_by_itself() -> None:
    drive = no_faults()
    drive.until(lambda p: p.id == RECEIVE and len(p.valves) > 1)
    other = drive.prompt.valves[-1]
    ordered = ordered_lengths(drive.scene)[other]
    with pytest.raises(Refused):
        drive.step(f"{length_mm(ordered) + 1.0:.2f} mm")
    drive.step(f"{other} {length_mm(ordered) + 1.0:.2f} mm")
    assert drive.prompt.id == ANOTHER
    assert drive.prompt.valve == other
    drive.step(ordered)
    drive.until(lambda p: p.phase == "fit")
    assert all(body.measured for body in _received(drive))


@pytest.mark.parametrize(("rule", "counted"), [("none", 0), ("one a bank", 1), ("all", 8)])
def test_the_recount_is_as_large_as_the_procedure_wants(rule: str, counted: int) -> None:
    drive = no_faults().following(recount=rule)
    drive.to_the_end()
    asked = [p for p in drive.prompts if p.id == "walk/recount-loosen"]
    assert len(asked) == counted
    assert bool(drive.build.procedure.omissions) is (rule == "none")


def test_the_sheet_tells_a_length_measured_by_itself_from_one_taken_with_its_like() -> None:
    told = set()
    for rule in ("every one", "one of each length"):
        drive = no_faults().following(receive=rule)
        drive.until(lambda p: p.phase == "fit")
        first = next(entry for entry in drive.kept if isinstance(entry.body, Received))
        told.add(re.sub(r"\d[^ ]*", "", str(entry_words(first))))
    assert len(told) == 2
