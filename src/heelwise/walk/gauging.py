"""One valve gauged with a feeler: its lash, or the gap with the plunger held at its end."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import Draft, Gauged
from heelwise.documents.procedure import Step
from heelwise.documents.quantities import typed_length
from heelwise.valvetrain.lash import LashWord, judge_lash
from heelwise.valvetrain.pushrods import try_pushrod
from heelwise.valvetrain.readings import Reading
from heelwise.valvetrain.window import Window
from heelwise.walk.counting import AtValve
from heelwise.walk.limits import gauge_limits, preload_limits
from heelwise.walk.prompts import Fact, Prompt, Refused, Reply
from heelwise.walk.scene import Scene
from heelwise.walk.steps import read_quantity, step_prompt
from heelwise.walk.valve_state import ValveState
from heelwise.wording import Length, Text, text

_MEANS = {
    "lash": {"tight": "TIGHT: too little lash", "inside": "INSIDE", "loose": "LOOSE: too much"},
    "gap": {
        "tight": "LONG: too much preload, the gap is small",
        "inside": "INSIDE",
        "loose": "SHORT: too little preload, the gap is wide",
    },
}


def gauge_prompt(at: AtValve, step: Step, *, locked: bool = False) -> Prompt:
    """The prompt that takes a gap by feeler gauge; `locked`: after the adjuster was locked."""
    scene, valve = at.scene, at.valve_state.valve
    limits = gauge_limits(scene, valve)

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        return _gauged(at, answer, locked=locked)

    return replace(
        step_prompt(scene, step, valve, at.position, at.rests),
        phase=at.phase,
        heading=text("{} to {} at the valve", Length(limits.least_mm), Length(limits.most_mm)),
        reading="the thickest gauge that passes with a light drag",
        facts=limits.facts,
        take=take,
    )


def _gauged(at: AtValve, answer: str, *, locked: bool) -> Reply:
    scene, valve = at.scene, at.valve_state.valve
    mm = read_quantity("lash", answer)
    if mm < 0:
        raise Refused(f"{answer} isn't a gap", "the thickest gauge that passes; 0 if none does")
    limits = gauge_limits(scene, valve)
    step_mm = quantities.length_mm(scene.build.procedure.defaults.feeler_step)
    verdict = judge_lash(mm, limits.least_mm, limits.most_mm, step_mm)
    body = Gauged(
        valve=str(valve),
        reading=answer,
        what="lash" if scene.build.method.reads == "lash" else "gap",
        phase=at.phase,
        locked=locked,
        pushrod=at.pushrod,
        at_deg=scene.at_deg,
        margin_deg=scene.margin(valve),
        least_mm=limits.least_mm,
        most_mm=limits.most_mm,
        limits_from=limits.source,
        step_mm=step_mm,
        verdict=verdict.word.value,
        near=verdict.near,
    )
    tone = "good" if verdict.word is LashWord.INSIDE else "bad"
    return Reply((Draft(body, at.rests),), gauged_text(scene, body), tone)


def gauged_text(scene: Scene, body: Gauged) -> Text:
    """A gauging's verdict in words, with the preload it shows where there is one."""
    verdict = text(
        "{} {}: {} ({} to {}){}.",
        body.valve,
        typed_length(body.reading),
        _MEANS[body.what][body.verdict],
        Length(body.least_mm),
        Length(body.most_mm),
        "; near a limit" if body.near else "",
    )
    if body.what == "lash":
        return verdict
    deep = Length(preload_of(scene, body))
    return verdict + text(" Preload {}, worked out from the plunger's travel.", deep)


def preload_of(scene: Scene, body: Gauged) -> float:
    """The preload a gap shows, in mm: plunger travel less gap / ratio."""
    gap = quantities.length_mm(body.reading)
    return scene.build.plunger_mm - gap / scene.build.rocker.ratio


def gap_proposal(scene: Scene, valve_state: ValveState, body: Gauged) -> tuple[float, float] | None:
    """The pushrod to try for a gap (mm) and the preload to expect (mm), or None."""
    limits = preload_limits(scene)
    # Length changes preload one for one: millimetres stand in for turns, one a turn.
    window = Window(limits.least_mm, limits.most_mm, limits.source)
    pushrod = quantities.length_mm(body.pushrod)
    at = Reading(valve_state.valve, pushrod, preload_of(scene, body))
    best = try_pushrod(at, window, 1.0, scene.build.setup.lengths())
    if best.pushrod_mm is None or best.expect_turns is None:
        return None
    return best.pushrod_mm, best.expect_turns


def gap_fact(scene: Scene, valve_state: ValveState, body: Gauged) -> Fact:
    """What to try for a gap that is outside, in words."""
    best = gap_proposal(scene, valve_state, body)
    if best is None:
        return Fact("no length sold or on hand lands inside", "worked out from this gap")
    length, deep = map(Length, best)
    sentence = text("try {}: expect about {} of preload", length, deep)
    return Fact(sentence, "worked out from this gap")
