"""Records for the sheet's tests: a rehearsal with corrections, and one full of hostile text."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, get_args

from heelwise.documents import entries as e
from heelwise.documents.entries import AnyBody, Draft, Read
from heelwise.documents.files import parse_toml
from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import Procedure, load_procedure, parse_procedure
from heelwise.documents.record import OpenRecord, Rehearsal, begin_record
from heelwise.documents.setup import Setup, parse_setup
from heelwise.rehearsal.hands import sense
from heelwise.rehearsal.rehearse import RehearsalClock, hands_off, truth_of
from heelwise.session import Session
from heelwise.sheet.forms import Form
from heelwise.walk.walker import Walker
from tests.rehearsal.setups import begin_in_inches

FORMS: tuple[Form, ...] = get_args(Form)
AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
CARD = "v8-15426378"

HOSTILE = (
    "=cmd|' /C calc'!A0",
    "+1+1",
    "-2",
    "@SUM(A1)",
    "\t=1",
    " \u00a0=1",
    "＝1",
    "<script>alert(1)</script>",
    "</style></title><img src=x onerror=alert(1)>",
    "\x1b]0;title\x07\x1b[31m",
    "\x00\x08\x7f\x85\x9b31m",
    "\u202eevil\u2066\u200b\ufeff",
    "[@click=app.bell]x[/] [/]",
    "\"'`&amp;&#60;",
    "![x](http://e.example/y) https://e.example www.e.example <a@e.example>",
    "| a | b |\n# heading\r\n1. list\n---",
    "{pushrod} {{0}} %s $HOME \\u202e",
    "x" * 5000,
    "汉字 e\u0301 🎉",
)


def procedure_of(text: str) -> Procedure:
    return parse_procedure(parse_toml(text.encode(), "procedure"), "procedure", text)


def bolt_down() -> Procedure:
    return load_procedure(find_procedures()["bolt-down-rockers"])


def begun(folder: Path, card: str = CARD, seed: int = 1) -> OpenRecord:
    return begin_in_inches(folder / "block-12.toml", card, seed, bolt_down(), AT)


def walk_until(walker: Walker, record: OpenRecord, done: Callable[[Walker], bool]) -> None:
    """Answer from the virtual engine until something is so."""
    truth = truth_of(record.head)
    for _ in range(2000):
        if done(walker):
            return
        found = sense(walker.scene, walker.prompt, truth)
        walker.reply(found.answer, found.texts)
    raise AssertionError("the walk never came there")


def has_fit_readings(many: int) -> Callable[[Walker], bool]:
    def done(walker: Walker) -> bool:
        return sum(len(one.reads) for one in walker.state.valves.values()) >= many

    return done


def last_fit_reading(walker: Walker) -> int:
    return max(one.reads[-1].number for one in walker.state.valves.values() if one.reads)


def corrected_and_signed(folder: Path) -> Path:
    """A whole rehearsal in which a reading was crossed out, a note made and a pause taken."""
    with begun(folder) as record:
        walker = Session(record, RehearsalClock(AT)).walker
        walk_until(walker, record, has_fit_readings(3))
        walker.cross_out(last_fit_reading(walker), "misread the mark")
        walker.note("photograph 12 shows the cup")
        walker.hand_over("CD")
        hands_off(walker, truth_of(record.head), lambda entry: None)
        return record.file


def under_way(folder: Path) -> Path:
    """A rehearsal left after five readings in Fit."""
    with begun(folder) as record:
        walker = Session(record, RehearsalClock(AT)).walker
        walk_until(walker, record, has_fit_readings(5))
        return record.file


def reading(valve: str, **changed: Any) -> Read:
    return Read(
        **{
            "valve": valve,
            "turns": "1",
            "phase": "fit",
            "pushrod": "7.400 in",
            "at_deg": 90.0,
            "resolution_turns": 0.125,
            "verdict": "inside",
            "near": False,
            "rule": "as read",
            "least_turns": 0.75,
            "most_turns": 1.25,
            "never_past_turns": 2.0,
            "travel_mm": 2.0,
            "travel_from": "measured",
            **changed,
        }
    )


def every_kind(text: str) -> list[AnyBody]:
    """A body of each kind, with a text in every field that takes one; entry 1 is `begun`."""
    return [
        e.Answered(step=text, answer=text, said=text, valve=text),
        e.NotYet(step=text, said=text, valve="1I"),
        e.Skipped(step=text, reason=text),
        e.Measured(step=text, reading=text, what="length"),
        e.Noted(text=text, valve="1I"),
        e.Crank(at_deg=90.0, how="turned", seen=text),
        e.CrankLost(reason=text),
        e.Felt(valve=text, state="up"),
        e.Fitted(valve="1I", pushrod=text, phase="trial"),
        reading("1I", turns=text, pushrod=text, rule=text, travel_from=text),
        e.NoClick(valve=text, phase="fit", pushrod=text, never_past_turns=1e300),
        e.Unloaded(valve=text, minutes=1.0),
        e.BackedOff(valves=[text, "1I"], why="recount"),
        e.Held(minutes=2.0, valves=[text]),
        reading("1E", verdict="long", least_turns=-1e300, most_turns=1e300, travel_mm=1e300),
        e.Accepted(valve="1E", of=16, person=text, reason=text),
        e.Settled(valves=[text], pushrod=text, reason=text),
        e.Ordered(valves=[text, "1I"], pushrods=[text]),
        e.Received(valve="1I", pushrod=text, ordered=text, as_ordered=False),
        e.Proved(valve="1E", outcome="clicked", torque=text, at_deg=90.0),
        e.IndependentProof(valve=text, outcome="slipped", torque=text, at_deg=90.0),
        e.Drawn(valves=[text, "1I"], stand=text, torque=text, at_deg=0.0, on_lobe=[text]),
        e.CrossedOut(of=2, reason=text),
        e.Paused(holding=text),
        e.Resumed(clock_went_back=True),
        e.Recovered(bytes_set_aside=3, aside=text),
        e.HandedOver(to=text),
        e.SignedOff(person=text),
        e.Reopened(person=text, reason=text),
    ]


def hostile(folder: Path, text: str) -> Path:
    """A record with its seals in order and one text wherever the record takes text."""
    line = " ".join(text.split()) if text.isprintable() else "<b>|=1"
    setup = _hostile_setup(line[:100])
    planted = Rehearsal(1, (line[:100],))
    path = folder / "hostile.toml"
    with begin_record(path, setup, bolt_down(), line[:100], AT, planted) as record:
        for body in every_kind(text):
            record.keep(Draft(body), AT, text, [{"valve": text, "remark": text}])
    return path


def _hostile_setup(line: str) -> Setup:
    raw: dict[str, object] = {
        "format": 1,
        "engine": {"firing_order": [1, 2], "banks": {line: [1, 2]}},
        "rocker": {"mount": "bolt-down", "ratio": 1.7, "thread": "M8x1.25"},
        "lifter": {"kind": "hydraulic roller", "least_turns": 0.75, "most_turns": 1.25},
        "pushrods": {"intake": "7.4 in", "exhaust": "7.4 in"},
        "wrench": {"name": line},
    }
    return parse_setup(raw, "hostile")
