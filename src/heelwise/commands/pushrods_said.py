"""`heelwise pushrods` for people: every figure in words, with where it comes from."""

from __future__ import annotations

from heelwise.commands.reporting import say
from heelwise.valvetrain.figures import length_text, turns_text
from heelwise.valvetrain.growth import HotPreload
from heelwise.valvetrain.pattern import find_pattern
from heelwise.valvetrain.pushrods import Expectation, Order, nothing_serves, try_pushrod
from heelwise.valvetrain.verdict import Word, preload_mm
from heelwise.walk.hot import growth_said
from heelwise.walk.pushrod_set import POOR_CHANCE, Counted, PushrodSet


def print_all(found: PushrodSet, bought: Order) -> None:
    """Print what the readings are worth and what to buy.

    Args:
        found: The readings and what judges them.
        bought: The order worked out from them.
    """
    _print_basis(found)
    for each in found.readings:
        _print_row(found, each)
    for again in found.repeated:
        mean, first = turns_text(again.found.mean), again.first
        said = f"{first.valve} with {length_text(first.pushrod_mm)}, mean {mean}"
        say(f"{said} (the latest is judged): {again.found.said}")
    _print_pattern(found)
    for purchase in bought.buy:
        names = " ".join(str(v) for v in purchase.valves)
        say(f"buy {len(purchase.valves)} of {length_text(purchase.pushrod_mm)} for {names}")
    _print_expected(found, bought)
    _print_unserved(found, bought)


def _print_basis(found: PushrodSet) -> None:
    used, window = found.travel.used, found.window
    say(f"travel per turn {length_text(used.mm)}: {used.said}")
    least, most = window.least_turns, turns_text(window.most_turns)
    say(f"window {turns_text(least).split(' turn')[0]} to {most}: {window.said}")
    if found.ceiling.turns is not None:
        say(f"never past {turns_text(found.ceiling.turns)}: {found.ceiling.said}")
    else:
        say(f"never past: {found.ceiling.said} (a walk ends the count half a turn over the window)")
    for note in (*found.travel.notes, *window.notes):
        say(f"note: {note}")
    _print_growth(found)


def _print_growth(found: PushrodSet) -> None:
    table = found.setup.growth
    lengths = {each.reading.pushrod_mm for each in found.readings}
    lost = found.setup.growth_mm(max(lengths)) if lengths else None
    if table is not None and lost is not None:
        say(f"{growth_said(lost)}: {table.growth_said}")


def _print_row(found: PushrodSet, one: Counted) -> None:
    reading = one.reading
    hot = found.hot(reading.pushrod_mm, reading.turns) if one.counted else None
    said = f"{reading.valve!s:<4} {length_text(reading.pushrod_mm)}  {_worth(found, one, hot)}"
    if found.verdict(one).word is not Word.INSIDE:
        tried = try_pushrod(reading, found.window, found.travel.used.mm, found.lengths)
        if tried.pushrod_mm is not None and tried.expect_turns is not None:
            said += f"  try {length_text(tried.pushrod_mm)}"
            said += f", expect {turns_text(tried.expect_turns)}"
    say(said)
    if one.lash_left:
        say(
            "     0 turns: lash was left at the click, so it needs at least that much more. Try a "
            "longer one and count again before buying."
        )
    elif not one.counted:
        say(f"     {one.said}")
    for note in hot.notes if hot else ():
        say(f"     {note}")


def _worth(found: PushrodSet, one: Counted, hot: HotPreload | None) -> str:
    """A count's turns, preload and verdict in words; a length at zero lash has none of them."""
    if not one.counted:
        return "at zero lash"
    turns, verdict = one.reading.turns, found.verdict(one)
    deep = preload_mm(turns, found.travel.used.mm, found.seat_turns)
    said = f"{turns_text(turns)}  preload {length_text(deep)}"
    said += f", hot {length_text(max(hot.hot_mm, 0.0))}" if hot else ""
    return said + f"  {verdict.word.value.upper()}" + (" (near a limit)" if verdict.near else "")


def _print_expected(found: PushrodSet, bought: Order) -> None:
    expected = found.expected(bought)
    if expected:
        say("then expect, worked out from each reading (± standard uncertainty, chance inside):")
    for each in expected:
        said = f"  {each.valve!s:<4} {each.turns:.2f} ± {each.uncertainty_turns:.2f} turns"
        say(f"{said}, {each.chance:.0%} inside")
    if found.lash_left:
        names = " ".join(map(str, found.lash_left))
        say(f"before buying: {names} left lash at the click; count again with a longer pushrod")
    poor = [each for each in expected if each.chance < POOR_CHANCE]
    if poor:
        say(f"before buying: {_poor(poor)}")


def _poor(poor: list[Expectation]) -> str:
    names = " ".join(str(each.valve) for each in poor)
    return (
        f"{names} may well land outside. Count again, finer (marked socket, degree wheel), or try "
        "that length on the valve first; a second trial 0.050 in or more apart settles the travel."
    )


def _print_unserved(found: PushrodSet, bought: Order) -> None:
    for reading in found.latest:
        if reading.valve not in bought.not_served:
            continue
        travel = found.travel.used.mm
        alone = try_pushrod(reading, found.window, travel, found.lengths).pushrod_mm
        if alone is None:
            say(nothing_serves(reading, found.window, travel, found.lengths))
        elif found.setup.stock():
            would = f"{length_text(alone)} would serve it alone"
            say(f"what is on hand can't be shared out to serve {reading.valve} too: {would}")
        else:
            would = f"{length_text(alone)} would"
            say(f"no one length for its kind suits {reading.valve} too; {would}")


def _print_pattern(found: PushrodSet) -> None:
    for finding in find_pattern(found.setup.make_engine(), found.latest, found.travel.used.mm):
        say(f"pattern, to be looked into before buying: {finding.what}")
        say(f"  look first: {finding.first_look}")
