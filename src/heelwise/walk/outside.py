"""A reading outside its limits: again, another pushrod, later, or accepted as is."""

from __future__ import annotations

from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import Accepted, BackedOff, Draft, Fitted, Gauged, Phase, Read
from heelwise.valvetrain.valves import Valve
from heelwise.walk.count_said import verdict_said
from heelwise.walk.counting import proposal
from heelwise.walk.gauging import gap_fact, gauged_said
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Taken
from heelwise.walk.scene import Scene
from heelwise.walk.standing import ValveStanding
from heelwise.walk.steps import read_quantity
from heelwise.walk.wording import names

OUTSIDE = "walk/outside"


def outside_prompt(scene: Scene, valve: Valve, phase: Phase) -> Prompt:
    """What to do with a reading outside its limits: again, another pushrod, later, or as is.

    A count that was ended at the ceiling, or that reached it, can't be accepted; nor can
    a gap of nothing.
    """
    one = scene.standing.valve(valve)
    entry = one.last_count
    assert entry is not None

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        name = str(valve)
        if answer == "4":
            body = Accepted(valve=name, of=entry.number, person=texts[0], reason=texts[1])
            return Taken((Draft(body, (entry.number,)),), f"{name}: accepted as is by {texts[0]}.")
        off = _off(scene, valve, later=answer == "3")
        if answer == "2":
            return Taken((off, fitted_draft(one, texts[0], phase)))
        return Taken((off,))

    return Prompt(
        id=OUTSIDE,
        phase=phase,
        ask=Ask.CHOICE,
        heading=f"{valve} is outside its window",
        question=f"{_outside_said(scene, one)} What now?",
        why=_why(scene),
        options=_options(scene, one),
        facts=_try_facts(scene, one),
        valve=valve,
        guarded=True,
        take=take,
    )


def _options(scene: Scene, one: ValveStanding) -> tuple[Option, ...]:
    way, stand = scene.build.way, names(scene.build.stand_of(one.valve))
    again, off = "back off and count again from zero lash", "back off"
    if way.stands:
        again, off = f"slacken the stand of {stand}, draw it down anew", f"slacken {stand}"
    elif not way.clicks:
        again = "unlock it and set it anew"
    options = [Option("1", again)]
    if way.length_sets_preload:
        options.append(Option("2", f"{off}, another pushrod", ("its measured length",)))
    options.append(Option("3", "leave it backed off, come back to it"))
    if may_accept(scene, one):
        options.append(Option("4", "accept as is", ("who accepts it", "the reason")))
    return tuple(options)


def _why(scene: Scene) -> str:
    if scene.build.way.reads == "lash":
        return (
            "Gauge again first: a lifter not on its heel (base circle), or a gauge gone in at a "
            "slant, reads wrong. A valve without lash is held open hot: never accepted."
        )
    return (
        "Measure again first: a pushrod not in its cup, or a lash left in, reads wrong. "
        "A plunger at its end is never accepted."
    )


def _off(scene: Scene, valve: Valve, *, later: bool) -> Draft:
    stand = [str(v) for v in scene.build.stand_of(valve)]
    body = BackedOff(valves=stand, why="come back later" if later else "count again")
    return Draft(body, scene.crank_number)


def fitted_draft(one: ValveStanding, length: str, phase: Phase) -> Draft:
    """Another pushrod goes in.

    Raises:
        Refused: If its length can't be understood.
    """
    read_quantity("length", length)
    return Draft(Fitted(valve=str(one.valve), pushrod=length, phase=phase))


def may_accept(scene: Scene, one: ValveStanding) -> bool:
    """Whether a reading may be accepted as is: short of the ceiling, and some gap left."""
    body = one.last_count.body if one.last_count else None
    if isinstance(body, Gauged):
        return quantities.length_mm(body.reading) > 0
    return isinstance(body, Read) and quantities.turns(body.turns) < scene.never_past - 1e-9


def _outside_said(scene: Scene, one: ValveStanding) -> str:
    body = one.last_count.body if one.last_count else None
    if isinstance(body, Read):
        return verdict_said(scene, body)
    if isinstance(body, Gauged):
        return gauged_said(scene, body)
    ended = "the count reached its ceiling without a click: the plunger may be at its end."
    return f"{one.valve}: {ended}"


def _try_facts(scene: Scene, one: ValveStanding) -> tuple[Fact, ...]:
    body = one.last_count.body if one.last_count else None
    if not scene.build.way.length_sets_preload:
        return ()
    if isinstance(body, Gauged):
        return (gap_fact(scene, one, body),)
    found = proposal(scene, one, body)
    if found is None:
        return (Fact("no length sold or on hand lands inside", "worked out from this count"),)
    length, turns = quantities.show_length(found[0], "in"), quantities.show_turns(found[1])
    said = f"try {length}: expect about {turns} turns"
    return (Fact(said, f"worked out from this count, travel {scene.travel.used.origin.value}"),)
