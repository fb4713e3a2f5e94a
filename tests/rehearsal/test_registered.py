"""What is registered once is kept to by a whole walk of every procedure: no step is forgotten."""

from __future__ import annotations

import re
from typing import get_args

import pytest

from heelwise.documents.entries import AnyBody, AnyEntry, Crank, CrankLost, Drawn, NotYet
from heelwise.documents.entry_base import Body, OnItsHeel
from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import Procedure
from heelwise.documents.steps import SUBJECTS_IN, Records, Step
from heelwise.walk.crank import TURN
from heelwise.walk.finding import FIND_MARK, WATCH_ONE
from heelwise.walk.prompts import Prompt
from heelwise.walk.steps import step_applies
from tests.walk.driving import Drive, procedure

NAMES = sorted(find_procedures())

ENDS_WHERE_IT_BEGAN = {"felt-two-turns", "first-turn", "pattern"}
"""Steps that turn the crank whole cycles."""


def _probed(by: Procedure) -> Procedure:
    """A procedure with one more step in every place that its method's rounds come to."""
    probes = [
        Step(
            id=f"probe-{phase}-{each}".replace(" ", "-"),
            title="probe",
            phase=phase,
            each=each,
            say="Is it so?",
            why="Nobody may forget it.",
            ask="confirm",
            yes="so",
            if_not="Make it so.",
        )
        for phase, subjects in SUBJECTS_IN.items()
        for each in subjects
        if by.method.reaches(phase, each)
    ]
    return by.model_copy(update={"steps": [*probes, *by.steps]})


def _answers(drive: Drive) -> list[tuple[Prompt, tuple[AnyEntry, ...]]]:
    """The walk to its end: every prompt, with what was kept of its answer."""
    answers = []
    while not drive.walker.closed:
        prompt, before = drive.prompt, len(drive.kept)
        drive.step()
        answers.append((prompt, tuple(drive.kept[before:])))
    return answers


@pytest.mark.parametrize("name", NAMES)
def test_every_step_that_applies_is_asked(name: str) -> None:
    drive = Drive("v8-15426378", name=name, by=_probed(procedure(name)))
    drive.to_the_end()
    asked = {prompt.id for prompt in drive.prompts}
    steps = drive.build.procedure.steps
    assert [s.id for s in steps if step_applies(drive.scene, s) and s.id not in asked] == []


@pytest.mark.parametrize("name", NAMES)
def test_what_makes_its_own_entry_is_told_from_a_plain_answer(name: str) -> None:
    drive = Drive("i4-1342", planted=(), name=name)
    for prompt, kept in _answers(drive):
        bodies = [entry.body for entry in kept]
        step = drive.build.procedure.step(prompt.id)
        records = step.records if step else None
        makes_its_own = records is not None and records.own_entry
        assert makes_its_own or not any(isinstance(b, OnItsHeel | Drawn) for b in bodies), prompt.id
        if records is not None and not any(isinstance(body, NotYet) for body in bodies):
            plain = any(body.kind in ("answered", "measured") for body in bodies)
            # That a stand is down is kept both ways.
            assert plain != makes_its_own or records is Records.DRAWN, prompt.id


@pytest.mark.parametrize("name", NAMES)
def test_where_the_crank_went_is_kept_of_every_turn(name: str) -> None:
    drive = Drive("i4-1342", planted=(), name=name)
    answers = _answers(drive)
    for prompt, kept in answers:
        moved = [
            body for e in kept if isinstance(body := e.body, Crank) and body.how != "still there"
        ]
        assert prompt.turns_crank or not moved, prompt.id
        held = any(isinstance(e.body, NotYet) for e in kept)
        if prompt.turns_crank and prompt.phase != "prepare" and not held:
            placed = any(isinstance(e.body, Crank | CrankLost) for e in kept)
            assert placed != (prompt.id in ENDS_WHERE_IT_BEGAN), prompt.id
    turning = {prompt.id for prompt, _ in answers if prompt.turns_crank}
    assert TURN in turning
    assert turning.isdisjoint({FIND_MARK, WATCH_ONE})


_TURNING = re.compile(r"\b(turn on|turn to|two (full )?turns|direction of rotation)\b", re.I)


@pytest.mark.parametrize("name", NAMES)
def test_a_step_that_says_to_turn_the_crank_is_marked_so(name: str) -> None:
    for step in procedure(name).steps:
        if _TURNING.search(step.say):
            assert step.turns_crank, step.id


def test_what_is_read_at_a_margin_is_read_on_the_heel() -> None:
    kinds: tuple[type[Body], ...] = get_args(AnyBody)
    by_margin = {kind for kind in kinds if "margin_deg" in kind.__struct_fields__}
    assert by_margin
    assert all(issubclass(kind, OnItsHeel) for kind in by_margin)


def test_each_trait_of_what_a_step_records_is_one_that_is_known() -> None:
    assert [each for each in Records if each.turns_crank and each.own_entry] == []
    turning = {each.value for each in Records if each.turns_crank}
    assert turning == {"crank_reference", "wheel_first", "wheel_second", "tape_between"}
    for name in NAMES:
        for step in procedure(name).steps:
            if step.records is not None and step.records.turns_crank:
                assert step.turns_crank, step.id
