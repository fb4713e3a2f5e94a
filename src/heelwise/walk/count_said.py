"""A count in words: its verdict, the preload it means, and how it stands to other counts."""

from __future__ import annotations

from heelwise.documents import quantities
from heelwise.documents.entries import Ceiling, Read
from heelwise.valvetrain.figures import turns_text
from heelwise.valvetrain.repeats import repeats
from heelwise.valvetrain.travel import Travel, Trial
from heelwise.valvetrain.valves import Valve
from heelwise.valvetrain.verdict import preload_mm
from heelwise.walk.hot import hot_said
from heelwise.walk.scene import Scene
from heelwise.walk.standing import ValveStanding

SAME_LENGTH_MM = 0.01
"""Pushrods nearer than this are as long as each other, by a caliper."""


def told_of(scene: Scene, one: ValveStanding, body: Read) -> str:
    """What is said of a count just made.

    Args:
        scene: The moment before it.
        one: The valve's standing before it.
        body: The count.
    """
    said = verdict_said(scene, body, _travel_with(scene, body))
    if body.recount:
        return said + _against_first(scene, one, body)
    return said + _against_others(one, body)


def _travel_with(scene: Scene, body: Read) -> Travel:
    """The travel in use once a trial counts too: it may be the one that measures it."""
    if body.phase != "trial":
        return scene.travel.used
    length, turns = quantities.length_mm(body.pushrod), quantities.turns(body.turns)
    new = Trial(Valve.parse(body.valve), length, turns, body.resolution_turns)
    return scene.build.setup.travel_in_play((*scene.trials, new)).used


def verdict_said(scene: Scene, body: Read, travel: Travel | None = None) -> str:
    """A reading's verdict in words, with the preload it means and where that comes from.

    Args:
        scene: The moment of the build.
        body: The reading.
        travel: The travel per turn to tell its preload by; the scene's where it is left out.
    """
    turns = quantities.turns(body.turns)
    if turns <= 0:
        return f"{body.valve} clicked with lash left: SHORT, by how much can't be told."
    used = travel or scene.travel.used
    deep = preload_mm(turns, used.mm, scene.seat_turns)
    means = {
        "short": "SHORT: too little preload",
        "inside": "INSIDE",
        "long": "LONG: too much preload",
    }[body.verdict]
    near = "; near a limit: only a finer reading settles it" if body.near else ""
    least, most = map(quantities.show_turns, (body.least_turns, body.most_turns))
    return (
        f"{body.valve} {turns_text(turns)}: {means} ({least} to {most}){near}. "
        f"Preload {quantities.show_length(deep, 'in')}, travel {used.origin.value}."
        + hot_said(scene, body.pushrod, turns)
    )


def _against_others(one: ValveStanding, body: Read) -> str:
    """How a count compares with others of the valve with a pushrod as long; "" for the first."""
    mm = quantities.length_mm(body.pushrod)
    before = [e.body for e in (*one.trials, *one.reads) if isinstance(e.body, Read)]
    same = [b for b in before if abs(quantities.length_mm(b.pushrod) - mm) < SAME_LENGTH_MM]
    if not same:
        return ""
    counts = [*same, body]
    step = max(b.resolution_turns for b in counts)
    found = repeats([quantities.turns(b.turns) for b in counts], step)
    return f" With it, {found.said}"


def _against_first(scene: Scene, one: ValveStanding, body: Read) -> str:
    """How a re-count compares with the count it checks."""
    before = one.reading
    if before is None or not isinstance(before.body, Read):
        return ""
    first, turns = quantities.turns(before.body.turns), quantities.turns(body.turns)
    allowed = scene.build.procedure.defaults.recount_allowance_turns
    if abs(turns - first) <= allowed + 1e-9:
        return f" Agrees with the first count ({before.body.turns})."
    return (
        f" NOT the first count ({before.body.turns}): that one was taken on a lobe or not from "
        "zero lash. This one stands."
    )


def bound_said(body: object) -> str:
    """Which way a length worked out from a count can be off that was cut short."""
    if isinstance(body, Ceiling):
        return " or more: the click had not come yet"
    left = isinstance(body, Read) and quantities.turns(body.turns) <= 0
    return " or less: how much lash was left is not known" if left else ""
