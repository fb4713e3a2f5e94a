"""Wrong answers at random: true ones afterward reach the signature; nothing goes in circles."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from heelwise.documents.quantities import show_length
from heelwise.walk.buying import ANOTHER, RECEIVE
from heelwise.walk.prompts import Refused
from heelwise.walk.trials import FIT_TRIAL
from heelwise.walk.valve_steps import OUTSIDE
from heelwise.wording import show_turns
from tests.rehearsal.driving import rehearsed
from tests.walk.driving import Drive

NAMES = ("bolt-down-rockers", "adjustable-checking-pushrod", "stud-rockers")
READINGS = ("count", "checked", "proof", "play")
MOST_ANSWERS = 700
"""True answers in which any walk of so small an engine must have come to its signature."""


def wrong_answer(drive: Drive, chance: random.Random) -> tuple[str, tuple[str, ...]] | None:
    """Any eighth from 0 to 4, any length sold, any finding; None where only the truth is asked."""
    prompt = drive.prompt
    lengths = drive.setup.lengths()
    if prompt.records == "count":
        return show_turns(chance.randrange(33) / 8), ()
    if prompt.id in (FIT_TRIAL, RECEIVE, ANOTHER):
        return show_length(chance.choice(lengths), "mm"), ()
    if prompt.id == OUTSIDE and prompt.option("2"):
        return "2", (show_length(chance.choice(lengths), "mm"),)
    if prompt.records in READINGS:
        step = drive.build.procedure.step(prompt.id)
        return (chance.choice(step.options).key, ()) if step and step.options else None
    return None


def answered_wrong(seed: int, card: str, name: str, answers: int) -> Drive:
    """A walk some of whose answers were wrong, wherever in it they fell."""
    drive, chance = rehearsed(card, seed, name=name), random.Random(f"wrong {seed}")
    begin = chance.randrange(answers)
    for number in range(begin + 25):
        if drive.walker.closed:
            break
        wrong = wrong_answer(drive, chance) if number >= begin and chance.random() < 0.5 else None
        try:
            drive.step(*wrong) if wrong else drive.step()
        except Refused:
            drive.step()
    return drive


def finish(drive: Drive) -> None:
    """True answers to the end; no question stands a third time without another way out."""
    asked: Counter[tuple[object, ...]] = Counter()
    for _ in range(MOST_ANSWERS):
        if drive.walker.closed:
            return
        prompt, known = drive.prompt, len(drive.kept)
        state = (prompt.id, prompt.valve, str(prompt.question), prompt.suggested)
        asked[state] += 1
        ways = len(prompt.options) + bool(prompt.reading)
        assert asked[state] < 3 or ways > 1 or prompt.turns_crank, prompt
        drive.step()
        assert len(drive.kept) > known or asked[state] < 3, prompt
    raise AssertionError(f"no end; stands at {drive.prompt}")


def recovers(seed: int, card: str, name: str, answers: int) -> None:
    drive = answered_wrong(seed, card, name, answers)
    finish(drive)
    assert len(drive.outcome) == len(drive.build.engine.valves)


@pytest.mark.parametrize("name", ["bolt-down-rockers", "adjustable-checking-pushrod"])
@pytest.mark.parametrize("seed", range(6))
def test_true_answers_after_wrong_ones_reach_the_signature(seed: int, name: str) -> None:
    recovers(seed, "i2-360", name, 90)


@pytest.mark.long
@pytest.mark.parametrize(
    "name", ["bolt-down-rockers", "adjustable-checking-pushrod", "stud-rockers"]
)
@pytest.mark.parametrize("card", ["i2-360", "i4-1342", "single"])
def test_true_answers_after_wrong_ones_reach_the_signature_in_the_long_run(
    card: str, name: str
) -> None:
    for seed in range(100, 160):
        recovers(seed, card, name, 200)
