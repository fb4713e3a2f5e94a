"""What goes wrong, procedure by procedure: the next question, what is barred, what is kept."""

from __future__ import annotations

from typing import NamedTuple

import pytest

from heelwise.documents.entries import Accepted, BackedOff, Fitted, Trouble
from heelwise.documents.library import find_procedures
from heelwise.documents.quantities import length_mm, show_length
from heelwise.sheet.words import entry_words
from heelwise.valvetrain.cam import tdc_distance
from heelwise.walk.crank import TURN
from heelwise.walk.prompts import Prompt
from heelwise.walk.state import NAMED_TROUBLE
from heelwise.walk.troubles import NOT_UP, PUT_IT_RIGHT, SOLID_CAUSE, SOLID_ROCKERS
from heelwise.walk.valve_steps import UNLOAD
from tests.walk.driving import no_faults, procedure

NAMES = sorted(find_procedures())
CARD = "i2-360"
SET_AGAIN = ("seated", "count", "gauge")
CLICKS = ("bolt-down-rockers", "adjustable-checking-pushrod", "solid-checking-lifter")
RUNNING = ("recheck-running-engine", "first-start")
LOCKS = ("stud-rockers", "length-by-tip-pattern", "shaft-adjusters", "shaft-lengths-by-tip-pattern")
SHAFTS, SOLID = "shaft-rockers", "solid-lifters"


class Row(NamedTuple):
    """A trouble met at a question of a procedure: what is answered, and what must come of it.

    `at`: what the question records, or its id. `then`: the ids or records that may come next.
    """

    names: tuple[str, ...]
    at: str
    answer: str
    texts: tuple[str, ...]
    then: tuple[str, ...]
    kept: str


TABLE = {
    "lash left at the click": Row(CLICKS, "count", "0", (), ("walk/early-click",), "read"),
    "lash left with turns given": Row(LOCKS, "count", "0", (), ("walk/outside",), "read"),
    "the lock crept": Row((*LOCKS, SOLID), "locked", "n", (), SET_AGAIN, "backed off"),
    "play after locking": Row(LOCKS, "play", "2", (), SET_AGAIN, "backed off"),
    "the plunger stays down": Row((SHAFTS,), "plunger_up", "n", (), (PUT_IT_RIGHT,), "trouble"),
    "a gap without preload": Row((SHAFTS,), "gauge", "0.480 in", (), ("walk/outside",), "gauged"),
    "a gap that can't be": Row((SHAFTS, SOLID), "gauge", "2 in", (), ("gauge",), "answered"),
    "a stand that moved": Row((SHAFTS,), "proof", "3", (), ("plunger-end", "walk/hold"), "proved"),
    "a bolt that moved": Row(
        (*CLICKS, *RUNNING), "proof", "3", (), (*SET_AGAIN, UNLOAD, "walk/hold", TURN), "proved"
    ),
    "a lock that slipped": Row(LOCKS, "proof", "2", (), (*SET_AGAIN, UNLOAD), "proved"),
    "something wrong at a valve": Row(
        tuple(NAMES), "proof", "t", ("a thread gives",), (NAMED_TROUBLE,), "trouble"
    ),
    "something wrong seen on the way": Row(
        tuple(NAMES), TURN, "t", ("1I", "its pushrod rubs"), (NAMED_TROUBLE,), "trouble"
    ),
    "a crank gone solid": Row(
        tuple(NAMES), TURN, "x", (), (SOLID_ROCKERS, SOLID_CAUSE), "trouble"
    ),
}  # fmt: skip
CASES = [(what, name) for what, row in TABLE.items() for name in row.names]


def _at(prompt: Prompt, where: str) -> bool:
    return where in (prompt.records, prompt.id) and prompt.phase not in ("prepare", "trial")


@pytest.mark.parametrize(("what", "name"), CASES)
def test_it_leads_to_the_right_next_question(what: str, name: str) -> None:
    row = TABLE[what]
    drive = no_faults(CARD, name=name)
    asked = drive.until(lambda prompt: _at(prompt, row.at))
    before = len(drive.kept)
    option, valve = asked.option(row.answer), asked.valve or next(iter(asked.valves), None)
    # Several proved in one question: which of them it is.
    texts = row.texts
    if option and len(option.wants) > len(texts):
        texts = (str(valve), *texts)
    drive.step(row.answer, texts)
    kept = {entry.body.kind: entry for entry in drive.kept[before:]}
    assert row.kept in kept
    assert drive.prompt.id in row.then or drive.prompt.records in row.then, drive.prompt
    assert not (drive.prompt.turns_crank and row.kept == "trouble")
    if valve is not None and row.kept != "answered" and name != SHAFTS:
        assert str(valve) in entry_words(kept[row.kept], drive.build.procedure)


@pytest.mark.parametrize("name", [name for name in NAMES if name not in (SHAFTS, "first-start")])
def test_a_pushrod_an_inch_off_is_asked_once_more(name: str) -> None:
    drive = no_faults(CARD, name=name)
    asked = drive.until(lambda p: (change := p.option("p")) is not None and bool(change.wants))
    assert asked.valve is not None
    slip = show_length(length_mm(drive.scene.build.set_length(asked.valve)) - 25.4)
    assert drive.step("p", (slip,)).id == asked.id
    assert not [e for e in drive.kept if isinstance(e.body, Fitted) and e.body.pushrod == slip]
    drive.step("p", (slip,))
    assert isinstance(drive.kept[-1].body, Fitted)


@pytest.mark.parametrize("records", ["checked", "checking_length", "pattern_length"])
def test_a_checking_length_an_inch_off_is_asked_once_more(records: str) -> None:
    for name in NAMES:
        if not any(step.records == records for step in procedure(name).steps):
            continue
        drive = no_faults(CARD, name=name)
        valve = drive.until(lambda prompt: prompt.records == records).valve
        assert valve is not None
        slip = show_length(length_mm(drive.scene.build.set_length(valve)) - 25.4)
        drive.step(slip)
        assert drive.prompt.records == records
        drive.step(slip)
        assert drive.prompt.records != records


@pytest.mark.parametrize("name", NAMES)
def test_a_valve_with_a_trouble_is_neither_proved_nor_signed_until_it_is_put_right(
    name: str,
) -> None:
    drive = no_faults(CARD, name=name)
    asked = drive.until(lambda prompt: _at(prompt, "proof"))
    valve = asked.valve or asked.valves[0]
    drive.step("t", (*(() if asked.valve else (str(valve),)), "a thread gives"))
    drive.step(next(o.key for o in drive.prompt.options if "yields" in o.label))
    number = next(e.number for e in drive.kept if isinstance(e.body, Trouble))
    assert drive.prompt.option("2") is None, "nobody goes on with a bolt past its yield"
    drive.step("3")
    while drive.walker.state.troubles:
        assert drive.walker.state.valves[valve].proof is None
        assert drive.prompt.phase != "sign off"
        drive.step()
    assert any(number in e.rests_on for e in drive.kept if e.body.kind == "put right")
    drive.to_the_end()
    assert not [e for e in drive.kept if isinstance(e.body, Accepted)]


def test_a_plunger_that_stays_down_takes_its_stand_apart_when_it_is_put_right() -> None:
    drive = no_faults(CARD, name=SHAFTS)
    valve = drive.until(lambda prompt: prompt.records == "plunger_up").valve
    assert valve is not None
    drive.step("n")
    assert drive.prompt.heading.endswith(NOT_UP)
    drive.step("1", ("exchanged",))
    off = [e.body for e in drive.kept if isinstance(e.body, BackedOff)][-1]
    assert off.valves == [str(each) for each in drive.build.stand_of(valve)]
    assert drive.prompt.id == "stand-seated"
    drive.to_the_end()


def test_lifters_full_of_oil_are_loaded_with_their_pistons_down_on_shafts_too() -> None:
    for key, down in (("1", 0.0), ("3", 20.0)):
        drive = no_faults(CARD, name=SHAFTS)
        drive.until(lambda prompt: prompt.records == "lifter_condition")
        drive.step(key)
        valve = drive.until(lambda prompt: prompt.records == "drawn").valve
        assert valve is not None
        from_tdc = tdc_distance(drive.scene.build.engine, valve.cylinder, drive.scene.at_deg)
        assert from_tdc >= down
        assert bool(from_tdc) == bool(down)
        drive.to_the_end()


@pytest.mark.parametrize("name", [name for name in NAMES if name not in RUNNING])
def test_touching_the_piston_stop_is_told_from_a_crank_gone_solid(name: str) -> None:
    drive = no_faults(CARD, name=name)
    labels = set()
    while drive.prompt.phase == "prepare":
        option = drive.prompt.option("x")
        labels |= {option.label} if option else set()
        drive.step()
    assert len(labels) == 2


@pytest.mark.parametrize("name", [name for name in NAMES if name != "first-start"])
def test_a_length_that_nobody_measured_is_not_called_measured(name: str) -> None:
    drive = no_faults(CARD, name=name)
    prompt = drive.until(lambda p: p.records in ("count", "gauge") and p.phase in ("fit", "prove"))
    assert prompt.valve is not None
    given = drive.walker.state.valves[prompt.valve].given_pushrod
    sources = [fact.source for fact in prompt.facts if fact.text.startswith("pushrod ")]
    assert all(("not measured" in source) == (given is None) for source in sources)


def test_a_trouble_left_for_later_in_prove_does_not_send_the_crank_back_to_the_trials() -> None:
    drive = no_faults("i4-1342")
    asked = drive.until(lambda prompt: _at(prompt, "proof"))
    assert asked.valves
    drive.step("t", ("1I", "a thread gives"))
    drive.step(next(o.key for o in drive.prompt.options if "yields" in o.label))
    drive.step("3")
    assert drive.prompt.phase == "prove"
