"""One valve read, and its verdict in words: turns counted or given, a lash or gap gauged."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import AnyEntry, Draft, Gauged, NoClick, Read, Received
from heelwise.documents.procedure import Step
from heelwise.documents.quantities import show_turns, turns_resolution, typed_length
from heelwise.documents.steps import Phase
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.figures import repeats, turns_text
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.pushrods import try_pushrod
from heelwise.valvetrain.travel import Origin
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import LashWord, Window, Word, judge, judge_lash, preload_mm
from heelwise.walk.doubts import doubt
from heelwise.walk.limits import gauge_limits, growth_facts, hot_text, preload_limits
from heelwise.walk.prepare import torque_facts
from heelwise.walk.prompts import Fact, Option, Prompt, Refused, Reply
from heelwise.walk.scene import Scene, reading_of
from heelwise.walk.state import ValveState
from heelwise.walk.steps import read_quantity, step_prompt
from heelwise.wording import Length, Text, listed, text

NO_CLICK = "c"
CLICKED = "turns to the click (0 with lash left)"

FAR_GAP = 2.0
"""A gap over so many times the most allowed is asked once more."""

SAME_LENGTH_MM = 0.01
"""Pushrods nearer than this are as long as each other, by a caliper."""

_MEANS = {
    "short": "SHORT: too little preload",
    "inside": "INSIDE",
    "long": "LONG: too much preload",
}


_BY_TRAVEL = {
    Origin.MEASURED: "the travel per turn measured here",
    Origin.BEFORE: "the travel per turn measured before on its rockers",
    Origin.SHEET: "the sheet's travel per turn",
    Origin.WORKED_OUT: "a travel per turn that is only worked out",
}


@dataclass(frozen=True)
class AtValve:
    """One valve about to be read: where, in which phase, and what the reading rests on.

    `pushrod`: the length that is in, as typed.
    """

    scene: Scene
    valve: Valve
    phase: Phase
    position: Position | None
    rests: tuple[int, ...]
    pushrod: str
    recount: bool = False


def count_prompt(at: AtValve, step: Step) -> Prompt:
    """The prompt that takes a valve's turns: by the click, or given by an adjuster."""
    scene, window, used = at.scene, at.scene.window, at.scene.travel.used
    never = turns_text(scene.never_past)
    heading, reading = f"never past {never}", "turns given from zero lash"
    options: tuple[Option, ...] = ()
    facts = [pushrod_fact(scene, at.valve, at.pushrod, at.phase)]
    if scene.build.method.clicks:
        reading, options = CLICKED, (Option(NO_CLICK, f"got to {never}, no click"),)
        facts += torque_facts(scene.build)[1:]
    else:
        wanted, chosen = turns_text(scene.wanted_turns), scene.defaults.wanted_turns
        heading = f"give {wanted}, {heading}"
        source = "the middle of the window" if chosen is None else "the procedure"
        facts.append(Fact(f"give {wanted}", source))
    least, most = map(show_turns, (window.least_turns, window.most_turns))
    facts += [
        scene.never_past_fact,
        Fact(f"window {least} to {most} turns", window.source),
        Fact(text("{} of travel per turn", Length(used.mm)), used.source),
        *(Fact(note, "the setup and the trials compared") for note in window.notes),
        *growth_facts(scene, at.pushrod),
    ]
    plain = step_prompt(scene, step, at.valve, at.position, at.rests)

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        not_yet = plain.option(answer) is not None
        return plain.taken(answer, texts, now) if not_yet else _counted(at, answer)

    return replace(
        plain,
        phase=at.phase,
        heading=heading,
        options=(*options, *plain.options),
        reading=reading,
        facts=tuple(facts),
        take=take,
    )


def pushrod_fact(scene: Scene, valve: Valve, pushrod: str, phase: Phase) -> Fact:
    """The pushrod that is in, and how its length is known."""
    given, source = scene.state.valves[valve].given_pushrod, "measured when it went in"
    if phase != "trial" and given is None:
        source = "the setup's pushrods; not measured here"
    elif phase != "trial" and given and isinstance(given.body, Received):
        source = "measured when it came" if given.body.measured else "as ordered; not measured"
    return Fact(text("pushrod {}", typed_length(pushrod)), source)


def _counted(at: AtValve, answer: str) -> Reply:
    name, never = str(at.valve), at.scene.never_past
    typed, shown = "" if answer == NO_CLICK else answer, show_turns(never)
    turns = read_quantity("turns", typed) if typed else never
    if turns < 0:
        raise Refused(f"{answer} turns isn't a count", CLICKED)
    if typed and turns <= never + 1e-9:
        return _judged(at, answer, turns)
    sentence = f"{name}: no click by {shown} turns. Too long."
    if typed:
        past = f"{answer} is past the {shown} turns never to pass."
        if doubted := doubt(at.scene, at.valve, answer, Text(past)):
            return doubted
        sentence = f"{name}: {past} Kept as bottomed; if it was a slip of the finger, cross it out."
    body = NoClick(
        valve=name, phase=at.phase, pushrod=at.pushrod, never_past_turns=never, turns=typed
    )
    return Reply((Draft(body, at.rests),), sentence, "bad")


def _judged(at: AtValve, answer: str, turns: float) -> Reply:
    defaults, scene = at.scene.defaults, at.scene
    resolution = turns_resolution(answer, defaults.resolution_turns)
    # A trial counts for the travel that it is judged by: it may be the one that measures it.
    if at.phase == "trial" or defaults.travel_by == "every count":
        trial = Reading(at.valve, quantities.length_mm(at.pushrod), turns, resolution)
        scene = replace(scene, trial_to_come=trial)
    verdict = judge(turns, scene.window, resolution, defaults.rule)
    body = Read(
        valve=str(at.valve),
        turns=answer,
        phase=at.phase,
        recount=at.recount,
        pushrod=at.pushrod,
        at_deg=scene.at_deg,
        margin_deg=scene.margin(at.valve),
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
    tone = "good" if verdict.word is Word.INSIDE else "bad"
    valve_state = scene.state.valves[at.valve]
    compare = _against_first if at.recount else _against_others
    sentence = verdict_text(scene, body) + compare(scene, valve_state, body)
    sentence += _changed_text(at.scene, scene)
    return Reply((Draft(body, at.rests),), sentence, "warn" if verdict.near else tone)


def proposal(scene: Scene, entry: AnyEntry | None) -> tuple[float, float] | None:
    """The pushrod to try for a count (mm) and the turns to expect, or None if nothing serves."""
    read, ended = (entry.when(Read), entry.when(NoClick)) if entry else (None, None)
    if read is not None:
        return _best(scene, reading_of(read.body))
    if ended is None:
        return None
    mm, turns = quantities.length_mm(ended.body.pushrod), ended.body.never_past_turns
    return _best(scene, Reading(Valve.parse(ended.body.valve), mm, turns))


def _best(scene: Scene, at: Reading) -> tuple[float, float] | None:
    return try_pushrod(at, scene.window, scene.travel.used.mm, scene.build.setup.lengths())


def _changed_text(before: Scene, after: Scene) -> str:
    """What a trial that measures the travel changes: the window, and verdicts on other trials."""
    if before.travel.used == after.travel.used:
        return ""
    latest = [s.trials[-1].body for s in before.state.valves.values() if s.trials]
    changed = [read for read in latest if before.judged(read).word is not after.judged(read).word]
    now = [f"{read.valve} is {after.judged(read).word.value.upper()}" for read in changed]
    limits = [(s.window.least_turns, s.window.most_turns) for s in (before, after)]
    if limits[0] != limits[1]:
        now.insert(0, "the window is {} to {} turns".format(*map(show_turns, limits[1])))
    return f" By the travel now {after.travel.used.origin.value}, {listed(now)}." if now else ""


def verdict_text(scene: Scene, body: Read) -> Text:
    """A reading's verdict in words by the travel in force, with the preload it means."""
    turns = quantities.turns(body.turns)
    if turns <= 0:
        left = "clicked with lash still in it" if scene.build.method.clicks else "has lash left"
        return Text(f"{body.valve} {left}: SHORT, no telling by how much.")
    used, judged = scene.travel.used, scene.judged(body)
    near = "; near a limit: only a finer reading settles it" if judged.near else ""
    limits = (scene.window.least_turns, scene.window.most_turns)
    least, most = map(quantities.show_turns, limits)
    return text(
        "{} {}: {} ({} to {}){}. About {} of preload, going by {}.{}",
        body.valve,
        turns_text(turns),
        _MEANS[judged.word],
        least,
        most,
        near,
        Length(preload_mm(turns, used.mm, scene.seat_turns)),
        _BY_TRAVEL[used.origin],
        hot_text(scene, reading_of(body)),
    )


def _against_others(scene: Scene, valve_state: ValveState, body: Read) -> str:
    mm = quantities.length_mm(body.pushrod)
    before = [entry.body for entry in (*valve_state.trials, *valve_state.reads)]
    same = [b for b in before if abs(quantities.length_mm(b.pushrod) - mm) < SAME_LENGTH_MM]
    if not same:
        return ""
    counts = [*same, body]
    step = max(b.resolution_turns for b in counts)
    return f" With it, {repeats([quantities.turns(b.turns) for b in counts], step).text}"


def _against_first(scene: Scene, valve_state: ValveState, body: Read) -> str:
    before = valve_state.reading
    if before is None:
        return ""
    again = reading_of(body)
    off = abs(again.turns - quantities.turns(before.body.turns))
    if off <= scene.defaults.recount_allowance_turns + 1e-9:
        return f" Agrees with the first count ({before.body.turns})."
    false = (
        f" NOT the first count ({before.body.turns}): that one was taken on a lobe or not from "
        "zero lash. This one stands."
    )
    best = _best(scene, again)
    if best is None or abs(best[0] - again.pushrod_mm) < SAME_LENGTH_MM:
        return false
    better = "{} Its pushrod was chosen by the false count: {} would read about {}."
    return text(better, false, Length(best[0]), turns_text(best[1]))


def count_ended_text(valve: Valve) -> str:
    """A count that came to its end without a click, in words."""
    reached = "the count reached the turns never to pass without a click"
    return f"{valve}: {reached}: the plunger may be at its end."


# ---------------------------------------- lash, or the gap with the plunger held at its end

_GAP_MEANS = {
    "lash": {"tight": "TIGHT: too little lash", "inside": "INSIDE", "loose": "LOOSE: too much"},
    "gap": {
        "tight": "LONG: too much preload, the gap is small",
        "inside": "INSIDE",
        "loose": "SHORT: too little preload, the gap is wide",
    },
}


def gauge_prompt(at: AtValve, step: Step, *, locked: bool = False) -> Prompt:
    """The prompt that takes a gap by feeler gauge; `locked`: after the adjuster was locked."""
    limits = gauge_limits(at.scene, at.valve)
    return replace(
        step_prompt(at.scene, step, at.valve, at.position, at.rests),
        phase=at.phase,
        heading=text("{} to {} at the valve", Length(limits.least_mm), Length(limits.most_mm)),
        reading="the thickest gauge that passes with a light drag",
        facts=limits.facts,
        take=lambda answer, *_: _gauged(at, answer, locked=locked),
    )


def _gauged(at: AtValve, answer: str, *, locked: bool) -> Reply:
    scene, limits = at.scene, gauge_limits(at.scene, at.valve)
    mm = read_quantity("lash", answer)
    if mm < 0:
        raise Refused(f"{answer} isn't a gap", "the thickest gauge that passes; 0 if none does")
    if mm > limits.most_mm * FAR_GAP:
        why = text("{} is over twice the most, {}.", typed_length(answer), Length(limits.most_mm))
        if doubted := doubt(scene, at.valve, answer, why):
            return doubted
    step_mm = quantities.length_mm(scene.defaults.feeler_step)
    word, near = judge_lash(mm, limits.least_mm, limits.most_mm, step_mm)
    body = Gauged(
        valve=str(at.valve),
        reading=answer,
        what="lash" if scene.build.method.reads == "lash" else "gap",
        phase=at.phase,
        locked=locked,
        pushrod=at.pushrod,
        at_deg=scene.at_deg,
        margin_deg=scene.margin(at.valve),
        least_mm=limits.least_mm,
        most_mm=limits.most_mm,
        limits_from=limits.source,
        step_mm=step_mm,
        verdict=word.value,
        near=near,
    )
    tone = "good" if word is LashWord.INSIDE else "bad"
    return Reply((Draft(body, at.rests),), gauged_text(scene, body), tone)


def gauged_text(scene: Scene, body: Gauged) -> Text:
    """A gauging's verdict in words, with the preload it shows where there is one."""
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
    gap = quantities.length_mm(body.reading)
    return scene.build.plunger_mm - gap / scene.build.rocker.ratio


def gap_proposal(scene: Scene, body: Gauged) -> tuple[float, float] | None:
    """The pushrod to try for a gap (mm) and the preload to expect (mm), or None."""
    limits = preload_limits(scene)
    # Length changes preload one for one: millimeters stand in for turns, one a turn.
    window = Window(limits.least_mm, limits.most_mm, limits.source)
    pushrod = quantities.length_mm(body.pushrod)
    at = Reading(Valve.parse(body.valve), pushrod, preload_of(scene, body))
    return try_pushrod(at, window, 1.0, scene.build.setup.lengths())


def try_facts(scene: Scene, entry: AnyEntry) -> tuple[Fact, ...]:
    """What to try next for a reading that is outside, and what to expect of it, in words."""
    gauged, read = entry.when(Gauged), entry.when(Read)
    best = gap_proposal(scene, gauged.body) if gauged else proposal(scene, entry)
    source = f"worked out from this {'gap' if gauged else 'count'}"
    if best is None:
        return (Fact("no length sold or on hand lands inside", source),)
    if gauged:
        return (Fact(text("try {}: expect about {} of preload", *map(Length, best)), source),)
    off = "" if read else " or more: the click had not come yet"
    if read and quantities.turns(read.body.turns) <= 0:
        off = " or less: how much lash was left is not known"
    sentence = text("try {}: expect about {}{}", Length(best[0]), turns_text(best[1]), off)
    return (Fact(sentence, f"{source}, by {_BY_TRAVEL[scene.travel.used.origin]}"),)
