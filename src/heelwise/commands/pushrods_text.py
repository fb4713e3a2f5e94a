"""`heelwise pushrods` for people: every figure in words, with where it comes from."""

from __future__ import annotations

from heelwise.commands.reporting import say
from heelwise.valvetrain.figures import length_text, turns_text
from heelwise.valvetrain.growth import HotPreload
from heelwise.valvetrain.pattern import find_pattern
from heelwise.valvetrain.pushrods import Order, nothing_serves, try_pushrod
from heelwise.valvetrain.window import Word, preload_mm
from heelwise.walk.limits import growth_text
from heelwise.walk.pushrod_set import POOR_CHANCE, Counted, PushrodSet


def print_all(pushrods: PushrodSet, order: Order) -> None:
    """Print what the readings are worth and what to buy."""
    _print_basis(pushrods)
    for each in pushrods.readings:
        _print_row(pushrods, each)
    for again in pushrods.repeated:
        first, mean = again.first, turns_text(again.found.mean)
        mean_text = f"{first.valve} with {length_text(first.pushrod_mm)}, mean {mean}"
        say(f"{mean_text} (the latest is judged): {again.found.text}")
    _print_pattern(pushrods)
    for purchase in order.buy:
        names = " ".join(map(str, purchase.valves))
        say(f"buy {len(purchase.valves)} of {length_text(purchase.pushrod_mm)} for {names}")
    _print_expected(pushrods, order)
    _print_unserved(pushrods, order)


def _print_basis(pushrods: PushrodSet) -> None:
    used, window, ceiling = pushrods.travel.used, pushrods.window, pushrods.ceiling
    say(f"travel per turn {length_text(used.mm)}: {used.source}")
    least, most = window.least_turns, turns_text(window.most_turns)
    say(f"window {turns_text(least).split(' turn')[0]} to {most}: {window.source}")
    if ceiling.turns is not None:
        say(f"never past {turns_text(ceiling.turns)}: {ceiling.source}")
    else:
        say(f"never past: {ceiling.source} (a walk ends the count half a turn over the window)")
    for note in (*pushrods.travel.notes, *window.notes):
        say(f"note: {note}")
    growth = pushrods.setup.growth
    lengths = [each.reading.pushrod_mm for each in pushrods.readings]
    lost = pushrods.setup.growth_mm(max(lengths)) if lengths else None
    if growth is not None and lost is not None:
        say(f"{growth_text(lost)}: {growth.growth_said}")


def _print_row(pushrods: PushrodSet, count: Counted) -> None:
    reading = count.reading
    hot = pushrods.hot(reading.pushrod_mm, reading.turns) if count.counted else None
    row = f"{reading.valve!s:<4} {length_text(reading.pushrod_mm)}  {_worth(pushrods, count, hot)}"
    if pushrods.verdict(count).word is not Word.INSIDE:
        travel = pushrods.travel.used.mm
        proposed = try_pushrod(reading, pushrods.window, travel, pushrods.lengths)
        if proposed.pushrod_mm is not None and proposed.expect_turns is not None:
            row += f"  try {length_text(proposed.pushrod_mm)}"
            row += f", expect {turns_text(proposed.expect_turns)}"
    say(row)
    if count.lash_left:
        say(
            "     0 turns: lash was left at the click, so it needs at least that much more. Try a "
            "longer one and count again before buying."
        )
    elif not count.counted:
        say(f"     {count.source}")
    for note in hot.notes if hot else ():
        say(f"     {note}")


def _worth(pushrods: PushrodSet, count: Counted, hot: HotPreload | None) -> str:
    """A count's turns, preload and verdict in words; a length at zero lash has none of them."""
    if not count.counted:
        return "at zero lash"
    turns, verdict = count.reading.turns, pushrods.verdict(count)
    cold = length_text(preload_mm(turns, pushrods.travel.used.mm, pushrods.seat_turns))
    preload = cold + (f", hot {length_text(max(hot.hot_mm, 0.0))}" if hot else "")
    near = " (near a limit)" if verdict.near else ""
    return f"{turns_text(turns)}  preload {preload}  {verdict.word.value.upper()}{near}"


def _print_expected(pushrods: PushrodSet, order: Order) -> None:
    expected = pushrods.expected(order)
    if expected:
        say("then expect, worked out from each reading (± standard uncertainty, chance inside):")
    for each in expected:
        turns = f"{each.turns:.2f} ± {each.uncertainty_turns:.2f} turns"
        say(f"  {each.valve!s:<4} {turns}, {each.chance:.0%} inside")
    if pushrods.lash_left:
        names = " ".join(map(str, pushrods.lash_left))
        say(f"before buying: {names} left lash at the click; count again with a longer pushrod")
    doubtful = [str(each.valve) for each in expected if each.chance < POOR_CHANCE]
    if doubtful:
        say(
            f"before buying: {' '.join(doubtful)} may well land outside. Count again, finer "
            "(marked socket, degree wheel), or try that length on the valve first; a second trial "
            "0.050 in or more apart settles the travel."
        )


def _print_unserved(pushrods: PushrodSet, order: Order) -> None:
    for reading in pushrods.latest:
        if reading.valve not in order.not_served:
            continue
        travel = pushrods.travel.used.mm
        alone = try_pushrod(reading, pushrods.window, travel, pushrods.lengths).pushrod_mm
        if alone is None:
            say(nothing_serves(reading, pushrods.window, travel, pushrods.lengths))
        elif pushrods.setup.stock():
            would = f"{length_text(alone)} would serve it alone"
            say(f"what is on hand can't be shared out to serve {reading.valve} too: {would}")
        else:
            would = f"{length_text(alone)} would"
            say(f"no one length for its kind suits {reading.valve} too; {would}")


def _print_pattern(pushrods: PushrodSet) -> None:
    engine, travel = pushrods.setup.make_engine(), pushrods.travel.used.mm
    for finding in find_pattern(engine, pushrods.latest, travel):
        say(f"pattern, to be looked into before buying: {finding.what}")
        say(f"  look first: {finding.first_look}")
