"""One line of words for each kind of entry, for screens and sheets alike."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from heelwise.documents import entries as e
from heelwise.documents.entry_base import NotKnown
from heelwise.documents.quantities import QuantityFault, show_length, show_turns, turns
from heelwise.plain_text import one_line

LONGEST = 2000
"""Characters of one entry's words; the record keeps all of it."""

WALKS_OWN = "walk/"
"""How the ids of steps begin that are the walk's own and no procedure's."""

NOT_KNOWN = "not known to this version"

SANE_TURNS = 1000.0
"""More than any bolt can make: beyond it a figure is not written in sixteenths."""


def entry_words(entry: e.AnyEntry) -> str:
    """Say an entry in one line: what was done or read, without its number, time and person.

    Args:
        entry: any entry.

    Returns:
        Plain text, control characters made visible, at most `LONGEST` characters.
    """
    words = _WORDS[type(entry.body)](entry.body)
    as_it_stands = "".join(f"; {key} = {value}" for key, value in entry.unknown.items())
    note = f"{as_it_stands} ({NOT_KNOWN})" if entry.unknown else ""
    return one_line(words + note, LONGEST)


def turns_said(typed: str) -> str:
    """Turns as typed, in the trade's way of writing.

    Args:
        typed: a reading as the record has it.

    Returns:
        Such as "1 3/8 turns" for "1.375" and "495°"; as typed if it can't be understood.
    """
    try:
        value = turns(typed)
    except QuantityFault:
        return one_line(typed)
    return f"{show_turns(value)} {'turn' if 0 < value <= 1 else 'turns'}"


def figure_said(value: float) -> str:
    """Turns worked out by the program, however odd the record.

    Args:
        value: any finite number of turns.

    Returns:
        Such as "1 3/8"; in powers of ten where no engine has so many.
    """
    return show_turns(value) if abs(value) <= SANE_TURNS else f"{value:g}"


def names_said(names: Iterable[str]) -> str:
    """Valves by name.

    Args:
        names: their names.

    Returns:
        Such as "1I, 2E and 5I".
    """
    *most, last = [one_line(name, 20) for name in names] or ["none"]
    return f"{', '.join(most)} and {last}" if most else last


def entry_valves(entry: e.AnyEntry) -> tuple[str, ...]:
    """The valves an entry is about.

    Args:
        entry: any entry.

    Returns:
        Their names as the record has them; none for an entry about the whole build.
    """
    named = getattr(entry.body, "valves", None)
    one = getattr(entry.body, "valve", None)
    return tuple(named) if named else (one,) if one else ()


def _about(body: Any) -> str:
    return f"{body.valve} " if body.valve else ""


def _begun(body: e.Begun) -> str:
    return (
        f"begun with {body.program}, procedure {body.procedure} "
        f"(digest {body.procedure_digest[:12]}…)"
    )


def _step(body: Any) -> str:
    """A step's id in words: "battery off"."""
    return str(body.step).removeprefix(WALKS_OWN).replace("-", " ")


def _answered(body: e.Answered) -> str:
    return f"{_about(body)}{_step(body)}: {body.said or body.answer}"


def _not_yet(body: e.NotYet) -> str:
    return f"{_about(body)}{_step(body)}: not yet, {body.said}"


def _skipped(body: e.Skipped) -> str:
    return f"{_about(body)}{_step(body)}: left out, because {body.reason}"


def _measured(body: e.Measured) -> str:
    return f"{_about(body)}{_step(body)}: {body.reading}"


def _noted(body: e.Noted) -> str:
    photo = f" (photograph {body.photo})" if body.photo else ""
    return f"{_about(body)}note: {body.text}{photo}"


def _crank(body: e.Crank) -> str:
    seen = f": {body.seen}" if body.seen else ""
    return f"crank at {body.at_deg:g}° ({body.how}){seen}"


def _crank_lost(body: e.CrankLost) -> str:
    return f"the crank's place is not known: {body.reason}"


def _felt(body: e.Felt) -> str:
    told = {"up": "up on the lobe", "down": "down on the heel", "unsure": "not to be told"}
    return f"{body.valve} felt {told[body.state]}"


def _fitted(body: e.Fitted) -> str:
    trial = "trial " if body.phase == "trial" else ""
    return f"{body.valve} {trial}pushrod {body.pushrod} fitted"


def _read(body: e.Read) -> str:
    what = "counted again, " if body.recount else "trial, " if body.phase == "trial" else ""
    near = ", near a limit" if body.near else ""
    window = f"{figure_said(body.least_turns)} to {figure_said(body.most_turns)}"
    return (
        f"{body.valve} {what}{turns_said(body.turns)}: {body.verdict}{near} "
        f"({window}, pushrod {body.pushrod})"
    )


def _ceiling(body: e.Ceiling) -> str:
    return (
        f"{body.valve} {figure_said(body.never_past_turns)} turns reached without a click: count "
        f"ended there (pushrod {body.pushrod})"
    )


def _unloaded(body: e.Unloaded) -> str:
    return f"{body.valve} loosened, its lifter left to rise for {body.minutes:g} min"


def _backed_off(body: e.BackedOff) -> str:
    return f"{names_said(body.valves)} backed off: {body.why}"


def _held(body: e.Held) -> str:
    return f"{names_said(body.valves)} left {body.minutes:g} min to bleed down"


def _accepted(body: e.Accepted) -> str:
    return f"{body.valve} entry {body.of} accepted as is by {body.person}: {body.reason}"


def _settled(body: e.Settled) -> str:
    return f"{names_said(body.valves)} settled at pushrod {body.pushrod}, untried: {body.reason}"


def _ordered(body: e.Ordered) -> str:
    groups: dict[str, list[str]] = {}
    for valve, pushrod in zip(body.valves, body.pushrods, strict=False):
        groups.setdefault(pushrod, []).append(valve)
    return "pushrods to buy: " + "; ".join(
        f"{len(valves)} of {pushrod} for {names_said(valves)}" for pushrod, valves in groups.items()
    )


def _received(body: e.Received) -> str:
    told = "as ordered" if body.as_ordered else f"NOT as ordered ({body.ordered})"
    return f"{body.valve} pushrod received, measures {body.pushrod}, {told}"


_PROOFS = {
    "clicked": "clicked, did not move",
    "settled": "settled a little before the click",
    "moved": "moved: counted again from zero lash",
    "held": "held",
    "slipped": "the lock slipped: set anew",
    "play": "play was found: set anew",
    "tight": "too tight: set anew",
    "loose": "too loose: set anew",
}


_CLICKED = ("clicked", "settled", "moved")


def _proved(body: e.Proved) -> str:
    what = f"{body.torque} again" if body.outcome in _CLICKED else "lock tried"
    return f"{body.valve} {what}{_set_to(body)} on the heel: {_PROOFS[body.outcome]}"


def _proved_apart(body: e.ProvedApart) -> str:
    what = body.torque if body.outcome in _CLICKED else "lock tried"
    said = f"{body.valve} proved apart, {what}{_set_to(body)} on the heel"
    return f"{said}: {_PROOFS[body.outcome]}"


def _set_to(body: e.Proved | e.ProvedApart | e.Drawn) -> str:
    """What the wrench was set to, where an adapter made it another figure than the torque."""
    return f" (wrench set to {body.setting})" if body.setting not in ("", body.torque) else ""


def _gauged(body: e.Gauged) -> str:
    what = "lash" if body.what == "lash" else "gap with the plunger at its end"
    when = " after locking" if body.locked else ""
    near = ", near a limit" if body.near else ""
    limits = f"{show_length(body.least_mm, 'in')} to {show_length(body.most_mm, 'in')}"
    return f"{body.valve} {what}{when} {body.reading}: {body.verdict}{near} ({limits})"


def _checked(body: e.Checked) -> str:
    wanted = show_length(body.wanted_mm, "in")
    zero = None if body.zero_lash_mm is None else show_length(body.zero_lash_mm, "in")
    if body.lash is not None:
        return (
            f"{body.valve} {body.lash} of lash over a pushrod {body.length} on the solid lifter"
            f"{_cup_above(body.cup_above_mm)}: zero lash at {zero}, so {wanted} is wanted"
        )
    long = body.length if zero is None else f"{body.length} out, {zero}"
    return f"{body.valve} {long} long at zero lash, so {wanted} is wanted"


def _cup_above(mm: float | None) -> str:
    if not mm:
        return ""
    way = "higher" if mm > 0 else "lower"
    return f", the hydraulic cup {show_length(abs(mm), 'in')} {way}"


def _drawn(body: e.Drawn) -> str:
    lobe = f"; {names_said(body.on_lobe)} on a lobe" if body.on_lobe else ""
    down = f"drawn down evenly to {body.torque}{_set_to(body)}"
    return f"stand of {names_said(body.valves)} {down}{lobe}"


def _crossed_out(body: e.CrossedOut) -> str:
    return f"entry {body.of} crossed out: {body.reason}"


def _paused(body: e.Paused) -> str:
    return f"laid down, {body.holding}"


def _resumed(body: e.Resumed) -> str:
    back = "; the clock had gone back" if body.clock_went_back else ""
    return f"taken up again{back}"


def _recovered(body: e.Recovered) -> str:
    return f"a torn end of {body.bytes_set_aside} bytes was set aside in {body.aside}"


def _handed_over(body: e.HandedOver) -> str:
    return f"handed over to {body.to}"


def _signed_off(body: e.SignedOff) -> str:
    return f"signed off by {body.person}"


def _reopened(body: e.Reopened) -> str:
    return f"reopened by {body.person}: {body.reason}"


def _not_known(body: NotKnown) -> str:
    return f"{body.named}: {NOT_KNOWN}"


_WORDS: Mapping[type, Callable[[Any], str]] = {
    e.Begun: _begun,
    e.Answered: _answered,
    e.NotYet: _not_yet,
    e.Skipped: _skipped,
    e.Measured: _measured,
    e.Noted: _noted,
    e.Crank: _crank,
    e.CrankLost: _crank_lost,
    e.Felt: _felt,
    e.Fitted: _fitted,
    e.Read: _read,
    e.Ceiling: _ceiling,
    e.Unloaded: _unloaded,
    e.BackedOff: _backed_off,
    e.Held: _held,
    e.Accepted: _accepted,
    e.Settled: _settled,
    e.Ordered: _ordered,
    e.Received: _received,
    e.Proved: _proved,
    e.ProvedApart: _proved_apart,
    e.Gauged: _gauged,
    e.Checked: _checked,
    e.Drawn: _drawn,
    e.CrossedOut: _crossed_out,
    e.Paused: _paused,
    e.Resumed: _resumed,
    e.Recovered: _recovered,
    e.HandedOver: _handed_over,
    e.SignedOff: _signed_off,
    e.Reopened: _reopened,
    NotKnown: _not_known,
}
