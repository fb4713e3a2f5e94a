"""A reading outside its limits: again, another pushrod, later, or accepted as is."""

from __future__ import annotations

from heelwise.documents import quantities
from heelwise.documents.entries import Accepted, Draft, Fitted, Gauged, Read
from heelwise.documents.steps import Phase
from heelwise.valvetrain.engine import Valve
from heelwise.walk.counting import (
    count_ended_text,
    gauged_text,
    preload_of,
    try_facts,
    verdict_text,
)
from heelwise.walk.doubts import doubt_length
from heelwise.walk.prompts import Option, Prompt, Reply, kept
from heelwise.walk.scene import Scene
from heelwise.walk.state import Count
from heelwise.walk.steps import back_off
from heelwise.wording import listed, text

OUTSIDE = "walk/outside"


def outside_prompt(scene: Scene, valve: Valve, count: Count, phase: Phase) -> Prompt:
    """What to do with a reading outside its limits: again, another pushrod, later, or as is.

    A count that was ended at the turns never to pass, or that reached them, can't be
    accepted; nor can a gap of nothing.
    """
    method, stand = scene.build.method, scene.build.stand_of(valve)
    again, off = "back off and count again from zero lash", "back off"
    if method.stands:
        stand_text = listed(stand)
        again = f"slacken the stand of {stand_text} evenly, draw it down again"
        off = f"slacken {stand_text} evenly"
    elif not method.clicks:
        again = "unlock it and set it again"
    slack = back_off(scene, stand, "count again")

    def another(length: str) -> Reply:
        return fitted(scene, valve, length, phase, slack)

    def accept(person: str, reason: str) -> Reply:
        body = Accepted(valve=str(valve), of=count.number, person=person, reason=reason)
        return kept(body, f"{valve}: accepted as is by {person}.", rests=(count.number,))

    later = Reply((back_off(scene, stand, "come back later"),))
    options = [
        Option("1", again, does=Reply((slack,))),
        Option("3", "leave it backed off, come back to it", does=later),
    ]
    if method.length_sets_preload:
        options.insert(1, Option("2", f"{off}, another pushrod", ("its measured length",), another))
    if _may_accept(scene, count):
        options.append(Option("4", "accept as is", ("who accepts it", "the reason"), accept))
    return Prompt(
        id=OUTSIDE,
        phase=phase,
        heading=f"{valve} can't stay as it is",
        question=text("{} What now?", _reading_text(scene, valve, count)),
        why="Gauge again first: off its heel (base circle), or with the gauge in at a slant, it "
        "reads wrong. A valve without lash is held open hot and can't be accepted."
        if method.reads == "lash"
        else "Count again first: a pushrod out of its cup, or lash left in, reads wrong. "
        "A bottomed plunger can't be accepted as is, nor a valve with lash left.",
        options=tuple(options),
        facts=try_facts(scene, count) if method.length_sets_preload else (),
        valve=valve,
    )


def fitted(scene: Scene, valve: Valve, length: str, phase: Phase, *before: Draft) -> Reply:
    """Another pushrod goes in; a length far from the others is asked once more.

    Raises Refused if its length can't be understood, or isn't one for this engine.
    """
    fits = Draft(Fitted(valve=str(valve), pushrod=length, phase=phase))
    return doubt_length(scene, valve, length) or Reply((*before, fits))


def _may_accept(scene: Scene, count: Count) -> bool:
    """Never a count that reached the turns never to pass, a gap of nothing, or lash left."""
    gauged, read = count.when(Gauged), count.when(Read)
    if gauged is not None:
        some_gap = quantities.length_mm(gauged.body.reading) > 0
        return some_gap and (gauged.body.what == "lash" or preload_of(scene, gauged.body) > 0)
    if read is None:
        return False
    return scene.seat_turns < quantities.turns(read.body.turns) < scene.never_past - 1e-9


def _reading_text(scene: Scene, valve: Valve, count: Count) -> str:
    read, gauged = count.when(Read), count.when(Gauged)
    if read is not None:
        return verdict_text(scene, read.body)
    return gauged_text(scene, gauged.body) if gauged else count_ended_text(valve)
