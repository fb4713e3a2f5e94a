"""One valve read, and its verdict in words: turns counted or given, a lash or gap gauged."""

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from heelwise.documents.entries import Gauged, NoClick, Read, Received
from heelwise.documents.procedure import Step
from heelwise.documents.quantities import length_mm, turns_resolution, typed_length
from heelwise.documents.quantities import turns as turns_of
from heelwise.documents.steps import Phase, Records
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.figures import turns_text
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.pushrods import try_pushrod
from heelwise.valvetrain.travel import Origin
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import LashWord, Window, Word, judge, judge_lash, preload_mm
from heelwise.walk.doubts import doubt
from heelwise.walk.limits import gauge_limits, growth_facts, hot_text, preload_limits, travel_facts
from heelwise.walk.prepare import torque_facts
from heelwise.walk.prompts import Fact, Option, Prompt, Reply, kept
from heelwise.walk.scene import Scene, reading_of
from heelwise.walk.state import Count, ValveState
from heelwise.walk.steps import read_quantity, step_prompt
from heelwise.wording import Length, Text, listed, show_turns, show_window, text

NO_CLICK = "c"
CLICKED = "turns to the click (0 with lash left)"

FAR_GAP = 2.0
"""A gap over so many times the most allowed is asked once more."""

SAME_LENGTH_MM = 0.05
"""Pushrods nearer to each other than this are one length."""

_MEANS = {
    "short": "SHORT: too little preload",
    "inside": "INSIDE",
    "long": "LONG: too much preload",
}
_GAP_MEANS = {
    "lash": {
        "tight": "TIGHT: too little lash",
        "inside": "INSIDE",
        "loose": "LOOSE: too much lash",
    },
    "gap": {
        "tight": "LONG: too much preload, the gap is small",
        "inside": "INSIDE",
        "loose": "SHORT: too little preload, the gap is wide",
    },
}
_BY_TRAVEL = {
    Origin.MEASURED: "the travel per turn measured here",
    Origin.BEFORE: "the travel per turn measured before on its rockers",
    Origin.SHEET: "the sheet's travel per turn",
    Origin.WORKED_OUT: "a travel per turn that is only worked out",
}


@dataclass(frozen=True)
class AtValve:
    """One valve about to be read, where and when; `recount`: to check an earlier count."""

    scene: Scene
    valve: Valve
    phase: Phase
    position: Position | None = None
    recount: bool = False

    @property
    def state(self) -> ValveState:
        """Where the valve stands."""
        return self.scene.state.valves[self.valve]

    def prompt(self, step: Step, rests: tuple[int, ...]) -> Prompt:
        """A step of the procedure, asked of the valve in this phase."""
        prompt = step_prompt(self.scene, step, self.valve, self.position, rests)
        return replace(prompt, phase=self.phase)

    def read_here(self, pushrod: str) -> dict[str, Any]:
        """What every reading keeps of where it was taken."""
        margin, at_deg = self.scene.margin(self.valve), self.scene.at_deg
        where = {"valve": str(self.valve), "at_deg": at_deg, "margin_deg": margin}
        return {**where, "phase": self.phase, "pushrod": pushrod}


def pushrod_fact(at: AtValve, pushrod: str) -> Fact:
    """The pushrod that is in, and how its length is known."""
    given, source = at.state.given_pushrod, "measured when it went in"
    if at.phase != "trial" and given is None:
        source = "the setup's pushrods; not measured here"
    elif at.phase != "trial" and given and isinstance(given.body, Received):
        source = "measured when it came" if given.body.measured else "as ordered; not measured"
    return Fact(text("pushrod {}", typed_length(pushrod)), source)


# ------------------------------------------------------------------ turns


def count_prompt(at: AtValve, step: Step, rests: tuple[int, ...], pushrod: str) -> Prompt:
    """The prompt that takes a valve's turns: by the click, or given by an adjuster."""
    scene, window, plain = at.scene, at.scene.window, at.prompt(step, rests)
    limit, never = show_turns(scene.never_past), turns_text(scene.never_past)

    def no_click(sentence: str, typed: str = "") -> Reply:
        body = NoClick(
            valve=str(at.valve),
            phase=at.phase,
            pushrod=pushrod,
            never_past_turns=scene.never_past,
            turns=typed,
        )
        return kept(body, f"{at.valve}: {sentence}", "bad", rests)

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        if plain.option(answer):
            return plain.taken(answer, texts, now)
        turns = read_quantity("turns", answer)
        if turns <= scene.never_past + 1e-9:
            return _judged(at, answer, pushrod, rests)
        past = f"{answer} is past the {limit} turns never to pass."
        slip = f"{past} Kept as bottomed; if it was a slip of the finger, cross it out."
        return doubt(scene, at.valve, answer, Text(past)) or no_click(slip, answer)

    heading, reading, options = f"never past {never}", "turns given from zero lash", plain.options
    facts = [pushrod_fact(at, pushrod)]
    if scene.build.method.clicks:
        ended = no_click(f"no click by {limit} turns. Too long.")
        reading, options = (
            CLICKED,
            (Option(NO_CLICK, f"got to {never}, no click", does=ended), *options),
        )
        facts += torque_facts(scene.build)[1:]
    else:
        wanted = f"give {turns_text(scene.wanted_turns)}"
        heading = f"{wanted}, {heading}"
        middle = scene.defaults.wanted_turns is None
        facts.append(Fact(wanted, "the middle of the window" if middle else "the procedure"))
    facts += [
        scene.never_past_fact,
        Fact(f"window {show_window(window.least_turns, window.most_turns)} turns", window.source),
        travel_facts(scene)[0],
        *(Fact(note, "the setup and the trials compared") for note in window.notes),
        *growth_facts(scene.build.setup, length_mm(pushrod)),
    ]
    return replace(
        plain, heading=heading, options=options, reading=reading, facts=tuple(facts), take=take
    )


def _judged(at: AtValve, answer: str, pushrod: str, rests: tuple[int, ...]) -> Reply:
    defaults, scene = at.scene.defaults, at.scene
    resolution = turns_resolution(answer, defaults.resolution_turns)
    trial = Reading(at.valve, length_mm(pushrod), turns_of(answer), resolution)
    # A trial counts for the travel that it is judged by: it may be the one that measures it.
    if at.phase == "trial" or defaults.travel_by == "every count":
        scene = replace(scene, more_trials=(trial,))
    verdict = judge(trial.turns, scene.window, resolution, defaults.rule)
    body = Read(
        **at.read_here(pushrod),
        turns=answer,
        recount=at.recount,
        resolution_turns=resolution,
        verdict=verdict.word.value,
        near=verdict.near,
        rule=verdict.rule,
        least_turns=scene.window.least_turns,
        most_turns=scene.window.most_turns,
        never_past_turns=scene.never_past,
        travel_mm=scene.travel.used.mm,
        travel_from=scene.travel.used.origin.value,
    )
    before = (*at.state.trials, *at.state.reads)[-1:]
    against = (_against(scene, first.body, body) for first in before)
    sentence = Text(verdict_text(scene, body), *against, _changed_text(at.scene, scene))
    tone = "good" if verdict.word is Word.INSIDE else "bad"
    return kept(body, sentence, "warn" if verdict.near else tone, rests)


def _changed_text(before: Scene, after: Scene) -> str:
    if before.travel.used == after.travel.used:
        return ""
    latest = [s.trials[-1].body for s in before.state.valves.values() if s.trials]
    changed = [read for read in latest if before.judged(read).word is not after.judged(read).word]
    now = [f"{read.valve} is {after.judged(read).word.value.upper()}" for read in changed]
    return f" By the travel now {after.travel.used.origin.value}, {listed(now)}." if now else ""


def verdict_text(scene: Scene, body: Read) -> Text:
    """A reading's verdict in words by the travel in force, with the preload it means."""
    turns = turns_of(body.turns)
    if turns <= 0:
        left = "clicked with lash still in it" if scene.build.method.clicks else "has lash left"
        return Text(f"{body.valve} {left}: SHORT, no telling by how much.")
    used, judged = scene.travel.used, scene.judged(body)
    return text(
        "{} {}: {} ({}){}. About {} of preload, going by {}.{}",
        body.valve,
        turns_text(turns),
        _MEANS[judged.word],
        show_window(scene.window.least_turns, scene.window.most_turns),
        "; near a limit: only a finer reading settles it" if judged.near else "",
        Length(preload_mm(turns, used.mm, scene.seat_turns)),
        _BY_TRAVEL[used.origin],
        hot_text(scene, reading_of(body)),
    )


def _against(scene: Scene, first: Read, body: Read) -> str:
    if not body.recount:
        same = abs(length_mm(first.pushrod) - length_mm(body.pushrod)) < SAME_LENGTH_MM
        return f" The count before with this pushrod: {first.turns}." if same else ""
    off = abs(turns_of(body.turns) - turns_of(first.turns))
    if off <= scene.defaults.recount_allowance_turns + 1e-9:
        return f" Agrees with the first count ({first.turns})."
    false = (
        f" NOT the first count ({first.turns}): that one was taken on a lobe or not from "
        "zero lash. This one stands."
    )
    best = proposal(scene, body)
    if best is None or abs(best[0] - length_mm(body.pushrod)) < SAME_LENGTH_MM:
        return false
    better = "{} Its pushrod was chosen by the false count: {} would read about {}."
    return text(better, false, Length(best[0]), turns_text(best[1]))


# ---------------------------------------- lash, or the gap with the plunger held at its end


def gauge_prompt(at: AtValve, step: Step, rests: tuple[int, ...], pushrod: str) -> Prompt:
    """The prompt that takes a gap by feeler gauge, before or after the adjuster is locked."""
    scene, limits = at.scene, gauge_limits(at.scene, at.valve)

    def take(answer: str, *_: object) -> Reply:
        mm = read_quantity("lash", answer)
        far = text("{} is over twice the most, {}.", typed_length(answer), Length(limits.most_mm))
        doubted = doubt(scene, at.valve, answer, far) if mm > limits.most_mm * FAR_GAP else None
        step_mm = length_mm(scene.defaults.feeler_step)
        word, near = judge_lash(mm, limits.least_mm, limits.most_mm, step_mm)
        body = Gauged(
            **at.read_here(pushrod),
            reading=answer,
            what="lash" if scene.build.method.reads == "lash" else "gap",
            locked=step.records is Records.RECHECK,
            least_mm=limits.least_mm,
            most_mm=limits.most_mm,
            limits_from=limits.source,
            step_mm=step_mm,
            verdict=word.value,
            near=near,
        )
        tone = "good" if word is LashWord.INSIDE else "bad"
        return doubted or kept(body, _gauged_text(scene, body), tone, rests)

    return replace(
        at.prompt(step, rests),
        heading=text("{} to {} at the valve", Length(limits.least_mm), Length(limits.most_mm)),
        reading="the thickest gauge that passes with a light drag",
        facts=limits.facts,
        take=take,
    )


def _gauged_text(scene: Scene, body: Gauged) -> Text:
    verdict = text(
        "{} {}: {} ({} to {}){}.",
        body.valve,
        typed_length(body.reading),
        _GAP_MEANS[body.what][body.verdict],
        Length(body.least_mm),
        Length(body.most_mm),
        "; near a limit" if body.near else "",
    )
    if body.what == "lash":
        return verdict
    deep = preload_of(scene, body)
    if deep <= 0:
        return verdict + " No preload: there is lash with the plunger up."
    return verdict + text(" About {} of preload, going by the plunger's travel.", Length(deep))


def preload_of(scene: Scene, body: Gauged) -> float:
    """The preload a gap shows, in mm: plunger travel less gap / ratio."""
    return scene.build.plunger_mm - length_mm(body.reading) / scene.build.rocker.ratio


# ------------------------------------------------------- what a reading leads to


def count_text(scene: Scene, count: Count) -> Text:
    """A valve's reading in words: its verdict, or that it was ended without a click."""
    body = count.body
    if isinstance(body, Read):
        return verdict_text(scene, body)
    if isinstance(body, Gauged):
        return _gauged_text(scene, body)
    clickless = " without a click" * scene.build.method.clicks
    reached = f"{body.valve}: the count reached the turns never to pass{clickless}"
    return Text(f"{reached}: the plunger may be at its end.")


def proposal(scene: Scene, body: Read | NoClick | Gauged) -> tuple[float, float] | None:
    """The pushrod to try for a reading (mm), and the turns to expect; of a gap preload (mm)."""
    window, travel = scene.window, scene.travel.used.mm
    if isinstance(body, Gauged):
        # Length changes preload one for one: millimeters stand in for turns, one a turn.
        limits = preload_limits(scene)
        window, travel = Window(limits.least_mm, limits.most_mm, limits.source), 1.0
        turns = preload_of(scene, body)
    else:
        turns = turns_of(body.turns) if isinstance(body, Read) else body.never_past_turns
    at = Reading(Valve.parse(body.valve), length_mm(body.pushrod), turns)
    return try_pushrod(at, window, travel, scene.build.setup.lengths())


def try_facts(scene: Scene, count: Count) -> tuple[Fact, ...]:
    """What to try next for a reading that is outside, and what to expect of it, in words."""
    body, best = count.body, proposal(scene, count.body)
    gap = isinstance(body, Gauged)
    source = f"worked out from this {'gap' if gap else 'count'}"
    if best is None:
        return (Fact("no length sold or on hand lands inside", source),)
    if gap:
        return (Fact(text("try {}: expect about {} of preload", *map(Length, best)), source),)
    off = " or more: the click had not come yet" if isinstance(body, NoClick) else ""
    if isinstance(body, Read) and turns_of(body.turns) <= 0:
        off = " or less: how much lash was left is not known"
    turns = turns_text(round(8 * best[1]) / 8)
    sentence = text("try {}: expect about {}{}", Length(best[0]), turns, off)
    return (Fact(sentence, f"{source}, by {_BY_TRAVEL[scene.travel.used.origin]}"),)
