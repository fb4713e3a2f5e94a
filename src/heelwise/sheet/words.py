"""One line of words for each kind of entry, for screens and sheets alike."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from heelwise.documents import entries as e
from heelwise.documents.entry_base import Body, NotKnown
from heelwise.documents.procedure import Procedure
from heelwise.documents.quantities import QuantityFault, show_turns, turns
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
    sentence = text(words, **fields) if isinstance(words, str) else words(entry.body, fields)
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

Fields = Mapping[str, str]


def _fields(body: e.AnyBody, procedure: Procedure | None) -> Fields:
    """What a body holds, each field in words."""
    return {
        "about": f"{safe(valve, 20)} " if (valve := getattr(body, "valve", None)) else "",
        **{key: _field(key, getattr(body, key), procedure) for key in type(body).model_fields},
    }


def _field(key: str, value: object, procedure: Procedure | None) -> str:
    if key == "step":
        return step_name(str(value), procedure) if value else ""
    if key in _LENGTHS and isinstance(value, str):
        return typed_length(value)
    if isinstance(value, list):
        return name_list(value)
    if isinstance(value, float):
        return f"{value:g}"
    return safe(str(value)) if value is not None else ""


_OWN_ANSWERS = {
    "walk/doubted": "{about}{answer} typed, asked once more",
    "walk/travel-not-measured": "went on with the travel per turn not measured, {answer}: {said}",
}
"""Answers to the walk's own questions that don't read as a step and its answer."""


def _answered(body: e.Answered, f: Fields) -> Text:
    words = _OWN_ANSWERS.get(
        body.step, "{about}{step}: {said}" if body.said else "{about}{step}: {answer}"
    )
    return text(words, **f)


def _noted(body: e.Noted, f: Fields) -> Text:
    what = f["step"] if body.step else "note"
    photo = f" (photograph {f['photo']})" if body.photo else ""
    return text("{about}{}: {text}{}", what, photo, **f)


def _crank(body: e.Crank, f: Fields) -> Text:
    seen = f": {f['seen']}" if body.seen else ""
    return text("crank at {at_deg}° ({how}){}", seen, **f)


_FELT = {"up": "up on the lobe", "down": "down on the heel", "unsure": "but not clearly up or down"}


def _felt(body: e.Felt, f: Fields) -> Text:
    return text("{valve} felt {}", _FELT[body.state], **f)


def _fitted(body: e.Fitted, f: Fields) -> Text:
    trial = "trial " if body.phase == "trial" else ""
    return text("{valve} {}pushrod {pushrod} fitted", trial, **f)


def _read(body: e.Read, f: Fields) -> Text:
    what = "counted again, " if body.recount else "trial, " if body.phase == "trial" else ""
    near = ", near a limit" if body.near else ""
    window = f"{turns_figure(body.least_turns)} to {turns_figure(body.most_turns)}"
    count = f"{what}{turns_words(body.turns)}: {body.verdict}{near}"
    return text("{valve} {} (window {}, pushrod {pushrod})", count, window, **f)


def _no_click(body: e.NoClick, f: Fields) -> Text:
    never = turns_figure(body.never_past_turns)
    words = "{valve} no click by {} turns, never past: count ended (pushrod {pushrod})"
    return text(words, never, **f)


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
    as_ordered = "as ordered" if body.as_ordered else text("NOT as ordered ({})", f["ordered"])
    return text("{valve} pushrod received, measures {pushrod}, {}", as_ordered, **f)


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

_CLICKED = ("clicked", "settled", "moved")


def _proved(body: e.Proved | e.IndependentProof, f: Fields) -> Text:
    """A click is torque, a lock is tried."""
    who = "independently " if isinstance(body, e.IndependentProof) else ""
    how = text("lock tried {}on the heel", who)
    if body.outcome in _CLICKED:
        how = text("re-torqued {}to {torque}{} on the heel", who, _set_to(body, f), **f)
    return text("{valve} {}: {}", how, PROOFS[body.outcome], **f)


def _set_to(body: e.Proved | e.IndependentProof | e.Drawn, f: Fields) -> str:
    """What the wrench was set to, where an adapter made it another figure than the torque."""
    same = body.setting in ("", body.torque)
    return "" if same else f" (wrench set to {f['setting']})"


def _gauged(body: e.Gauged, f: Fields) -> Text:
    what = "lash" if body.what == "lash" else "gap with the plunger bottomed"
    when = " after locking" if body.locked else ""
    near = ", near a limit" if body.near else ""
    reading = typed_length(body.reading)
    limits = text("{} to {}", length(body.least_mm), length(body.most_mm))
    words = "{valve} {}{} {}: {verdict}{} ({})"
    return text(words, what, when, reading, near, limits, **f)


def _checked(body: e.Checked, f: Fields) -> Text:
    wanted = length(body.wanted_mm)
    zero = "not worked out" if body.zero_lash_mm is None else length(body.zero_lash_mm)
    if body.lash is not None:
        words = "{valve} {lash} of lash over a pushrod {length} on the solid lifter{}: zero lash "
        return text(words + "at {}, so {} is wanted", _cup(body), zero, wanted, **f)
    out = "" if body.zero_lash_mm is None else text(" out, {}", zero)
    words = "{valve} {length}{} long at zero lash, so {} is wanted"
    return text(words, out, wanted, **f)


def _cup(body: e.Checked) -> str:
    if not body.cup_above_mm:
        return ""
    side = "higher" if body.cup_above_mm > 0 else "lower"
    return text(", the hydraulic cup {} {}", length(abs(body.cup_above_mm)), side)


def _drawn(body: e.Drawn, f: Fields) -> Text:
    lobe = f"; {f['on_lobe']} on a lobe" if body.on_lobe else ""
    words = "stand of {valves} drawn down evenly to {torque}{}{}"
    return text(words, _set_to(body, f), lobe, **f)


def _paused(body: e.Paused, f: Fields) -> Text:
    return text("paused at: {}", f["holding"].removeprefix("holding at: "))


def _resumed(body: e.Resumed, f: Fields) -> Text:
    return Text("resumed; the clock had gone back" if body.clock_went_back else "resumed")


def _trouble(body: e.Trouble, f: Fields) -> Text:
    return text("{about}{what}{}", f": {f['words']}" if body.words else "", **f)


def _put_right(body: e.PutRight, f: Fields) -> Text:
    person = f" ({f['person']})" if body.person else ""
    words = f": {f['words']}" if body.words else ""
    return text("entry {of} put right, {cause}{}{}", words, person, **f)


_WORDS: Mapping[type[Body], str | Callable[[Any, Fields], Text]] = {
    e.Begun: "begun with {program}, procedure {procedure}",
    e.Answered: _answered,
    e.NotYet: "{about}{step}: not yet, {said}",
    e.Skipped: "{about}{step}: left out, because {reason}",
    e.Measured: "{about}{step}: {reading}",
    e.Noted: _noted,
    e.Crank: _crank,
    e.CrankLost: "crank position not known: {reason}",
    e.Felt: _felt,
    e.Fitted: _fitted,
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
    e.Drawn: _drawn,
    e.CrossedOut: "entry {of} crossed out: {reason}",
    e.Paused: _paused,
    e.Resumed: _resumed,
    e.Recovered: "a torn end of {bytes_set_aside} bytes was set aside in {aside}",
    e.HandedOver: "handed over to {to}",
    e.SignedOff: "signed off by {person}",
    e.Reopened: "reopened by {person}: {reason}",
    e.Trouble: _trouble,
    e.PutRight: _put_right,
    NotKnown: f"{{named}}: {UNKNOWN}",
}
"""By kind; a test holds it against every kind there is."""
