"""One line of words for each kind of entry, for screens and sheets alike."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from heelwise.documents import entries as e
from heelwise.documents.entry_base import Body, NotKnown
from heelwise.documents.faults import QuantityFault
from heelwise.documents.procedure import Procedure
from heelwise.documents.typed_numbers import show_turns, turns
from heelwise.sheet.sections import safe
from heelwise.sheet.setup_words import UNKNOWN, typed_length
from heelwise.wording import Length, Text, joined, listed, text

WALKS_OWN = "walk/"
"""How the ids of steps begin that are the walk's own and no procedure's."""

SANE_TURNS = 1000.0
"""More than any bolt can make: beyond it a figure is not written in sixteenths."""

SANE_MM = 1000.0
"""More than any part of a valvetrain: beyond it a length is not written in inches."""


def entry_words(entry: e.AnyEntry, procedure: Procedure | None = None) -> Text:
    """Say an entry in one line, without its number, time and person; safe to show, bounded.

    `procedure`: whose steps have the titles; without it a step goes by its id in words.
    """
    words = _WORDS[type(entry.body)]
    fields = _fields(entry.body, procedure)
    sentence = _filled(words, fields) if isinstance(words, str) else words(entry.body, fields)
    as_it_stands = "".join(f"; {safe(k, 60)} = {v}" for k, v in entry.unknown.items())
    return Text(safe(sentence + f"{as_it_stands} ({UNKNOWN})" if as_it_stands else sentence))


def entry_valves(entry: e.AnyEntry) -> tuple[str, ...]:
    """The valves an entry is about by their names in the record; none for the whole build's."""
    several = getattr(entry.body, "valves", None)
    valve = getattr(entry.body, "valve", None)
    return tuple(several) if several else (valve,) if valve else ()


def step_name(step: str, procedure: Procedure | None = None) -> str:
    """A step by its title, or its id in words where it has none: "battery off"."""
    known = procedure.step(step) if procedure else None
    title = getattr(known, "title", "")
    return safe(title or step.removeprefix(WALKS_OWN).replace("-", " "), 200)


def turns_or_none(typed: str) -> float | None:
    """Turns as a number; None if they can't be understood."""
    try:
        return turns(typed)
    except QuantityFault:
        return None


def turns_words(typed: str) -> str:
    """Turns as typed, the way the trade writes them: "1 3/8 turns" for "1.375" and "495°"."""
    value = turns_or_none(typed)
    if value is None:
        return safe(typed, 200)
    return f"{turns_figure(value)} {'turn' if 0 < value <= 1 else 'turns'}"


def turns_figure(value: float) -> str:
    """Turns such as "1 3/8"; in powers of ten where no engine has so many."""
    return show_turns(value) if abs(value) <= SANE_TURNS else f"{value:g}"


def length(mm: float) -> str:
    """A length worked out by the program, however odd the record."""
    return Text(Length(mm)) if abs(mm) <= SANE_MM else f"{mm:g} mm"


def name_list(names: Iterable[str]) -> str:
    """Valves by name: "1I, 2E and 5I"."""
    return listed([safe(name, 20) for name in names]) or "none"


_LENGTHS = ("pushrod", "ordered", "length", "lash")
_OPTIONAL = re.compile(r"\[([^][]*\{(\w+)\}[^][]*)\]")

Fields = Mapping[str, str]


def _filled(template: str, fields: Fields) -> Text:
    """A template's fields put in; what stands in [ ] goes where its field is empty."""
    shown = _OPTIONAL.sub(lambda part: part[1] if fields[part[2]] else "", template)
    return text(shown, **fields)


def _fields(body: e.AnyBody, procedure: Procedure | None) -> Fields:
    """What a body holds, each field in words, and what several kinds say of it alike."""
    setting = getattr(body, "setting", "")
    return {
        "about": f"{safe(valve, 20)} " if (valve := getattr(body, "valve", None)) else "",
        "trial": "trial" if getattr(body, "phase", "") == "trial" else "",
        "set_to": "" if setting == getattr(body, "torque", "") else safe(setting, 100),
        "answered": safe(getattr(body, "said", "") or getattr(body, "answer", "")),
        **{key: _field(key, value, procedure) for key, value in vars(body).items()},
    }


def _field(key: str, value: object, procedure: Procedure | None) -> str:
    if (not value and not isinstance(value, int | float)) or value is False:
        return ""
    if key == "step":
        return step_name(str(value), procedure)
    if key in _LENGTHS and isinstance(value, str):
        return typed_length(value)
    if isinstance(value, list):
        return name_list(value)
    return f"{value:g}" if isinstance(value, float) else safe(str(value))


_OWN_ANSWERS = {
    "walk/doubted": "{about}{answer} typed, asked once more",
    "walk/travel-not-measured": "went on with the travel per turn not measured, {answer}: {said}",
}
"""Answers to the walk's own questions that don't read as a step and its answer."""


def _answered(body: e.Answered, f: Fields) -> Text:
    return text(_OWN_ANSWERS.get(body.step, "{about}{step}: {answered}"), **f)


_FELT = {"up": "up on the lobe", "down": "down on the heel", "unsure": "but not clearly up or down"}


def _read(body: e.Read, f: Fields) -> Text:
    what = "counted again" if body.recount else f["trial"]
    near = "near a limit" if body.near else ""
    window = f"{turns_figure(body.least_turns)} to {turns_figure(body.most_turns)}"
    more = {"what": what, "near": near, "count": turns_words(body.turns), "window": window}
    words = "{valve} [{what}, ]{count}: {verdict}[, {near}] (window {window}, pushrod {pushrod})"
    return _filled(words, {**f, **more})


def _no_click(body: e.NoClick, f: Fields) -> Text:
    words = "{valve} no click by {} turns, never past: count ended (pushrod {pushrod})"
    return text(words, turns_figure(body.never_past_turns), **f)


def _ordered(body: e.Ordered, f: Fields) -> Text:
    groups: dict[str, list[str]] = {}
    for valve, pushrod in zip(body.valves, body.pushrods, strict=False):
        groups.setdefault(pushrod, []).append(valve)
    each = (
        text("{} of {} for {}", len(valves), typed_length(pushrod), name_list(valves))
        for pushrod, valves in groups.items()
    )
    return text("pushrods to buy: {}", joined("; ", each))


def _received(body: e.Received, f: Fields) -> Text:
    if not body.measured:
        return text("{valve} pushrod taken as the {ordered} ordered, not measured", **f)
    as_ordered = "as ordered" if body.as_ordered else "NOT as ordered ({ordered})"
    return text("{valve} pushrod received, measures {pushrod}, " + as_ordered, **f)


PROOFS = {
    "clicked": "clicked, did not move",
    "settled": "settled a little before the click",
    "moved": "moved: count again from zero lash",
    "held": "held",
    "slipped": "lock slipped: set again",
    "play": "play found: set again",
    "tight": "too tight: set again",
    "loose": "too loose: set again",
}


def _proved(body: e.Proved | e.IndependentProof, f: Fields) -> Text:
    """A click is torque, a lock is tried."""
    who = "independently " if isinstance(body, e.IndependentProof) else ""
    how = f"lock tried {who}"
    if body.outcome in ("clicked", "settled", "moved"):
        how = f"re-torqued {who}to {{torque}}[ (wrench set to {{set_to}})] "
    return _filled(f"{{valve}} {how}on the heel: {PROOFS[body.outcome]}", f)


def _gauged(body: e.Gauged, f: Fields) -> Text:
    what = "lash" if body.what == "lash" else "gap with the plunger bottomed"
    when = " after locking" if body.locked else ""
    near = ", near a limit" if body.near else ""
    limits = text("{} to {}", length(body.least_mm), length(body.most_mm))
    words = "{valve} {}{} {}: {verdict}{} ({})"
    return text(words, what, when, typed_length(body.reading), near, limits, **f)


def _checked(body: e.Checked, f: Fields) -> Text:
    wanted = length(body.wanted_mm)
    zero = "" if body.zero_lash_mm is None else length(body.zero_lash_mm)
    if body.pattern:
        words = "{valve} {length}: the tip's mark stands right, so {wanted} is wanted"
        return _filled(words, {**f, "wanted": wanted})
    if body.lash is None:
        words = "{valve} {length}[ out, {zero}] long at zero lash, so {wanted} is wanted"
        return _filled(words, {**f, "zero": zero, "wanted": wanted})
    side = "higher" if (body.cup_above_mm or 0.0) > 0 else "lower"
    above = text("{} {}", length(abs(body.cup_above_mm)), side) if body.cup_above_mm else ""
    words = (
        "{valve} {lash} of lash over a pushrod {length} on the solid lifter"
        "[, the hydraulic cup {above}]: zero lash at {zero}, so {wanted} is wanted"
    )
    return _filled(words, {**f, "zero": zero, "wanted": wanted, "above": above})


_WORDS: Mapping[type[Body], str | Callable[[Any, Fields], Text]] = {
    e.Begun: "begun with {program}, procedure {procedure}",
    e.Answered: _answered,
    e.NotYet: "{about}{step}: not yet, {said}",
    e.Skipped: "{about}{step}: left out, because {reason}",
    e.Measured: "{about}{step}: {reading}",
    e.Noted: "{about}note[, {step}]: {text}[ (photograph {photo})]",
    e.Crank: "crank at {at_deg}° ({how})[: {seen}]",
    e.CrankLost: "crank position not known: {reason}",
    e.Felt: lambda body, f: text("{valve} felt {}", _FELT[body.state], **f),
    e.Fitted: "{valve} [{trial} ]pushrod {pushrod} fitted",
    e.Read: _read,
    e.NoClick: _no_click,
    e.Unloaded: "{valve} backed off, lifter given {minutes} min to come up",
    e.BackedOff: "{valves} backed off: {why}",
    e.Held: "{valves} left {minutes} min to bleed down",
    e.Accepted: "{valve} entry {of} accepted as is by {person}: {reason}",
    e.Settled: "{valves} settled at pushrod {pushrod}, untried: {reason}",
    e.Ordered: _ordered,
    e.Received: _received,
    e.Proved: _proved,
    e.IndependentProof: _proved,
    e.Gauged: _gauged,
    e.Checked: _checked,
    e.Drawn: "stand of {valves} drawn down evenly to {torque}[ (wrench set to {set_to})]"
    "[; {on_lobe} on a lobe]",
    e.CrossedOut: "entry {of} crossed out: {reason}",
    e.Paused: lambda body, f: text("paused at: {}", f["holding"].removeprefix("holding at: ")),
    e.Resumed: lambda body, f: text(
        "resumed{}", "; the clock had gone back" if body.clock_went_back else ""
    ),
    e.Recovered: "a torn end of {bytes_set_aside} bytes was set aside in {aside}",
    e.HandedOver: "handed over to {to}",
    e.SignedOff: "signed off by {person}",
    e.Reopened: "reopened by {person}: {reason}",
    e.Trouble: "{about}{what}[: {words}]",
    e.PutRight: "entry {of} put right, {cause}[: {words}][ ({person})]",
    NotKnown: f"{{named}}: {UNKNOWN}",
}
"""By kind; a test holds it against every kind there is."""
