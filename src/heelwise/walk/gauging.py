"""One valve gauged with a feeler: its lash, or the gap with the plunger held at its end."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from heelwise.documents import quantities
from heelwise.documents.entries import Draft, Gauged
from heelwise.documents.procedure import Step
from heelwise.valvetrain.pushrods import Reading, try_pushrod
from heelwise.valvetrain.solid import LashWord, judge_lash
from heelwise.valvetrain.verdict import Window
from heelwise.walk.counting import AtValve
from heelwise.walk.limits import gauge_limits, preload_limits
from heelwise.walk.prompts import Ask, Fact, Prompt, Refused, Taken
from heelwise.walk.scene import Scene
from heelwise.walk.standing import ValveStanding
from heelwise.walk.steps import example_of, hazard_of, read_quantity
from heelwise.walk.wording import words


def gauge_prompt(at: AtValve, step: Step, *, locked: bool = False) -> Prompt:
    """The prompt that takes a gap by feeler gauge.

    Args:
        at: The valve, and what the reading rests on.
        step: The step that asks for it.
        locked: Whether it is the reading after the adjuster was locked.
    """
    scene, one = at.scene, at.one
    limits = gauge_limits(scene, one.valve)
    shown = " to ".join(
        quantities.show_length(mm, "in") for mm in (limits.least_mm, limits.most_mm)
    )

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        return _gauged(at, answer, locked=locked)

    return Prompt(
        id=step.id,
        phase=at.phase,
        ask=Ask.READING,
        heading=f"{shown} at the valve",
        question=words(scene, step.say, one.valve, at.position),
        why=words(scene, step.why, one.valve, at.position),
        caution=hazard_of(step),
        reading="the thickest gauge that passes with a light drag",
        example=example_of("lash"),
        facts=limits.facts,
        valve=one.valve,
        guarded=True,
        fills=step.fills or "",
        take=take,
        rests_on=at.rests,
    )


def _gauged(at: AtValve, answer: str, *, locked: bool) -> Taken:
    scene, one = at.scene, at.one
    mm = read_quantity("lash", answer)
    if mm < 0:
        raise Refused(f"{answer} is no gap", "the thickest gauge that passes; 0 if none does")
    limits, place = gauge_limits(scene, one.valve), scene.crank_deg
    assert place is not None
    step_mm = quantities.length_mm(scene.build.procedure.defaults.feeler_step)
    found = judge_lash(mm, limits.least_mm, limits.most_mm, step_mm)
    what: Literal["lash", "gap"] = "lash" if scene.build.way.reads == "lash" else "gap"
    body = Gauged(
        valve=str(one.valve),
        reading=answer,
        what=what,
        phase=at.phase,
        locked=locked,
        pushrod=scene.pushrod_text(one),
        at_deg=place,
        margin_deg=scene.margin(one.valve),
        least_mm=limits.least_mm,
        most_mm=limits.most_mm,
        limits_from=limits.said,
        step_mm=step_mm,
        verdict=found.word.value,
        near=found.near,
    )
    tone = "good" if found.word is LashWord.INSIDE else "bad"
    return Taken((Draft(body, at.rests),), gauged_said(scene, body), tone)


_MEANS = {
    "lash": {"tight": "TIGHT: too little lash", "inside": "INSIDE", "loose": "LOOSE: too much"},
    "gap": {
        "tight": "LONG: too much preload, the gap is small",
        "inside": "INSIDE",
        "loose": "SHORT: too little preload, the gap is wide",
    },
}


def gauged_said(scene: Scene, body: Gauged) -> str:
    """A gauging's verdict in words, with the preload it shows where there is one."""
    least, most = (quantities.show_length(mm, "in") for mm in (body.least_mm, body.most_mm))
    near = "; near a limit" if body.near else ""
    said = (
        f"{body.valve} {body.reading}: {_MEANS[body.what][body.verdict]} ({least} to {most}){near}."
    )
    if body.what == "lash":
        return said
    deep = quantities.show_length(preload_of(scene, body), "in")
    return f"{said} Preload {deep}, worked out from the plunger's travel."


def preload_of(scene: Scene, body: Gauged) -> float:
    """The preload a gap shows, in mm: plunger travel less gap / ratio."""
    plunger, rocker = scene.build.setup.plunger_travel_mm(), scene.build.setup.rocker
    assert plunger is not None
    assert rocker is not None
    return plunger - quantities.length_mm(body.reading) / rocker.ratio


def gap_proposal(scene: Scene, one: ValveStanding, body: Gauged) -> tuple[float, float] | None:
    """The pushrod to try for a gap (mm) and the preload to expect (mm), or None."""
    limits = preload_limits(scene)
    # Length changes preload one for one: millimetres stand in for turns, one a turn.
    window = Window(limits.least_mm, limits.most_mm, limits.said)
    at = Reading(one.valve, quantities.length_mm(body.pushrod), preload_of(scene, body))
    found = try_pushrod(at, window, 1.0, scene.build.setup.lengths())
    if found.pushrod_mm is None or found.expect_turns is None:
        return None
    return found.pushrod_mm, found.expect_turns


def gap_fact(scene: Scene, one: ValveStanding, body: Gauged) -> Fact:
    """What to try for a gap that is outside, in words."""
    found = gap_proposal(scene, one, body)
    if found is None:
        return Fact("no length sold or on hand lands inside", "worked out from this gap")
    length, deep = (quantities.show_length(mm, "in") for mm in found)
    return Fact(f"try {length}: expect about {deep} of preload", "worked out from this gap")
