"""One line of words for each kind of entry, for screens and sheets alike."""

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from heelwise.documents import entries as e
from heelwise.documents.entry_base import Body, NotKnown
from heelwise.documents.faults import QuantityFault
from heelwise.documents.procedure import Procedure
from heelwise.documents.quantities import turns
from heelwise.sheet.sections import safe
from heelwise.sheet.setup_words import UNKNOWN, typed_length
from heelwise.valvetrain.figures import turns_text
from heelwise.walk.steps import NOTHING
from heelwise.wording import Length, Text, joined, listed, show_turns, show_window, text

WALKS_OWN = "walk/"
"""How the ids of steps begin that are the walk's own and no procedure's."""


def entry_words(entry: e.AnyEntry, procedure: Procedure | None = None) -> Text:
    """Say an entry in one line, without its number, time and person; safe to show, bounded.

    `procedure`: whose steps have the titles; without it a step goes by its id in words.
    """
    words = _WORDS[type(entry.body)]
    template, more = (words, {}) if isinstance(words, str) else words(entry.body)
    fields = {**_fields(entry.body, procedure), **more}
    shown = _OPTIONAL.sub(lambda part: part[1] if fields[part[2]] else "", template)
    sentence = text(shown, **fields)
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
    return safe(typed, 200) if value is None else turns_text(value)


def length(mm: float) -> Text:
    """A length worked out by the program."""
    return Text(Length(mm))


def name_list(names: Iterable[str]) -> str:
    """Valves by name: "1I, 2E and 5I"."""
    return listed([safe(name, 20) for name in names]) or "none"


_OPTIONAL = re.compile(r"\[([^][]*\{(\w+)\}[^][]*)\]")
"""What goes from a template where its field is empty."""

Fields = Mapping[str, str]
Words = tuple[str, Fields]
"""A template, and what goes into it besides a body's fields."""


def _fields(body: e.AnyBody, procedure: Procedure | None) -> Fields:
    """What a body holds, each field in words, and what several kinds say of it alike."""
    setting = getattr(body, "setting", "")
    limits = (body.least_turns, body.most_turns) if isinstance(body, e.Read) else ()
    return {
        "about": f"{safe(valve, 20)} " if (valve := getattr(body, "valve", None)) else "",
        "window": show_window(*limits) if limits else "",
        "left_out": "" if getattr(body, "reason", "") == NOTHING else "left out",
        "trial": "trial" if getattr(body, "phase", "") == "trial" else "",
        "set_to": "" if setting == getattr(body, "torque", "") else safe(setting, 100),
        "answered": safe(getattr(body, "said", "") or getattr(body, "answer", "")),
        **{key: _field(key, value, procedure) for key, value in body.values().items()},
    }


def _field(key: str, value: Any, procedure: Procedure | None) -> str:
    if (not value and not isinstance(value, int | float)) or value is False:
        return ""
    if key == "step":
        return step_name(value, procedure)
    if key == "turns":
        return turns_words(value)
    if key == "holding":
        return safe(value.removeprefix("holding at: "))
    if key in ("pushrod", "ordered", "length", "lash", "reading"):
        return typed_length(value)
    if isinstance(value, list):
        return name_list(value)
    if isinstance(value, float):
        by_unit = {"mm": length, "turns": show_turns}
        return by_unit.get(key.rpartition("_")[2], "{:g}".format)(value)
    return _WORDS_FOR.get((key, value)) or safe(str(value))


_WORDS_FOR = {
    ("near", True): "near a limit",
    ("what", "gap"): "gap with the plunger bottomed",
    ("locked", True): "after locking",
    ("recount", True): "counted again",
    ("clock_went_back", True): "the clock had gone back",
    ("state", "up"): "up on the lobe",
    ("state", "down"): "down on the heel",
    ("state", "unsure"): "but not clearly up or down",
}
"""What stands for a value of a field."""

_OWN_ANSWERS = {
    "walk/doubted": "{about}{answer} typed, asked once more",
    "walk/travel-not-measured": "went on with the travel per turn not measured, {answer}: {said}",
}
"""Answers to the walk's own questions that don't read as a step and its answer."""


def _ordered(body: e.Ordered) -> Words:
    groups: dict[str, list[str]] = {}
    for valve, pushrod in zip(body.valves, body.pushrods, strict=False):
        groups.setdefault(pushrod, []).append(valve)
    each = (
        text("{} of {} for {}", len(valves), typed_length(pushrod), name_list(valves))
        for pushrod, valves in groups.items()
    )
    return "pushrods to buy: {each}", {"each": joined("; ", each)}


def _received(body: e.Received) -> Words:
    how = "as ordered" if body.as_ordered else "NOT as ordered ({ordered})"
    how = f"received, measures {{pushrod}}, {how}"
    how = "received, measured with its like: the {ordered} ordered" if body.together else how
    return "{valve} pushrod " + (how if body.measured else "not measured, {ordered} ordered"), {}


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


def _proved(body: e.Proved | e.IndependentProof) -> Words:
    """A click is torque, a lock is tried."""
    who = "independently " if isinstance(body, e.IndependentProof) else ""
    how = f"lock tried {who}"
    if body.outcome in ("clicked", "settled", "moved"):
        how = f"re-torqued {who}to {{torque}}[ (wrench set to {{set_to}})] "
    return f"{{valve}} {how}on the heel: {PROOFS[body.outcome]}", {}


def _checked(body: e.Checked) -> Words:
    if body.pattern:
        return "{valve} {length}: the tip's mark sits right, so {wanted_mm} is wanted", {}
    if body.lash is None:
        words = "{valve} {length}[ out, {zero_lash_mm}] long at zero lash, so {wanted_mm} is wanted"
        return words, {}
    side = "higher" if (body.cup_above_mm or 0.0) > 0 else "lower"
    above = text("{} {}", length(abs(body.cup_above_mm)), side) if body.cup_above_mm else ""
    words = (
        "{valve} {lash} of lash over a pushrod {length} on the solid lifter"
        "[, the hydraulic cup {above}]: zero lash at {zero_lash_mm}, so {wanted_mm} is wanted"
    )
    return words, {"above": above}


_WORDS: Mapping[type[Body], str | Callable[[Any], Words]] = {
    e.Begun: "begun with {program}, procedure {procedure}",
    e.Answered: lambda body: (_OWN_ANSWERS.get(body.step, "{about}{step}: {answered}"), {}),
    e.NotYet: "{about}{step}: not yet, {said}",
    e.Skipped: "{about}{step}: [{left_out}, because ]{reason}",
    e.Measured: "{about}{step}: {reading}",
    e.Noted: "{about}note[, {step}]: {text}[ (photograph {photo})]",
    e.Crank: "crank at {at_deg}° ({how})[: {seen}]",
    e.CrankLost: "crank position not known: {reason}",
    e.Felt: "{valve} felt {state}",
    e.Fitted: "{valve} [{trial} ]pushrod {pushrod} fitted",
    e.Read: "{valve} [{recount}, ][{trial}, ]{turns}: {verdict}[, {near}] "
    "(window {window}, pushrod {pushrod})",
    e.NoClick: "{valve} no click by {never_past_turns} turns, never past: count ended "
    "(pushrod {pushrod})",
    e.Unloaded: "{valve} backed off, lifter given {minutes} min to come up",
    e.BackedOff: "{valves} backed off: {why}",
    e.Held: "{valves} left {minutes} min to bleed down",
    e.Accepted: "{valve} entry {of} accepted as is by {person}: {reason}",
    e.Settled: "{valves} settled at pushrod {pushrod}, untried: {reason}",
    e.Ordered: _ordered,
    e.Received: _received,
    e.Proved: _proved,
    e.IndependentProof: _proved,
    e.Gauged: "{valve} {what}[ {locked}] {reading}: {verdict}[, {near}] ({least_mm} to {most_mm})",
    e.Checked: _checked,
    e.Drawn: "stand of {valves} drawn down evenly to {torque}[ (wrench set to {set_to})]"
    "[; {on_lobe} on a lobe]",
    e.CrossedOut: "entry {of} crossed out: {reason}",
    e.Paused: "paused at: {holding}",
    e.Resumed: "resumed[; {clock_went_back}]",
    e.Recovered: "a torn end of {bytes_set_aside} bytes was set aside in {aside}",
    e.HandedOver: "handed over to {to}",
    e.SignedOff: "signed off by {person}",
    e.Reopened: "reopened by {person}: {reason}",
    e.Trouble: "{about}{what}[: {words}]",
    e.PutRight: "entry {of} put right, {cause}[: {words}][ ({person})]",
    NotKnown: f"{{named}}: {UNKNOWN}",
}
"""By kind; a test holds it against every kind there is."""
