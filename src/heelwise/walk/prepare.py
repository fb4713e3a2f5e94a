"""What Prepare comes to: true TDC of two contacts, how two cups stand, whether a wrench will do."""

from dataclasses import dataclass
from datetime import date

from heelwise.documents import quantities
from heelwise.documents.entries import Answered, Draft
from heelwise.documents.quantities import thread_mm
from heelwise.documents.setup import Setup
from heelwise.documents.steps import CUPS, TDC_READINGS, Records
from heelwise.valvetrain.pushrods import MOST_APART_MM
from heelwise.valvetrain.torque import calibration, check_range
from heelwise.valvetrain.turn import true_tdc
from heelwise.walk.build import ORDER_NAMES, Build, orders
from heelwise.walk.limits import SHEET
from heelwise.walk.prompts import Fact, Option, Prompt, Refused, Reply
from heelwise.walk.scene import ORDER_OF_WORK, ORDER_WISHED, UNKNOWN_CAM, Scene
from heelwise.wording import Length, Text, counted, text

ADAPTER = "worked out: T·L/(L+E), the adapter in line"
WRENCH_SOURCE = "the setup's wrench, against ISO 6789-1:2017 as quoted by wrench makers"

MOST_SEAT_TURNS = 0.35
"""About 0.07 to 0.17 turn, worked, seats a rocker and stretches its bolt."""

EQUALLY_HIGH_MM = 0.0005 * 25.4


def reading_comes_to(scene: Scene, records: Records | None, reading: str) -> Text:
    """What a reading comes to with those before it, in words; Refused if they can't both be."""
    if records in TDC_READINGS:
        return true_tdc_text(scene, records, reading)
    if records is Records.BOLT_REACH:
        return _bolt_text(scene, quantities.length_mm(reading))
    if records is Records.SEAT_TURNS and quantities.turns(reading) > MOST_SEAT_TURNS:
        problem = f"{reading} is more than seats a rocker: a third of a turn at most"
        raise Refused(problem, "count from where the pivot just touches its seat")
    return _cups_text(scene, records, reading) if records in CUPS else Text("")


def _bolt_text(scene: Scene, reach_mm: float) -> Text:
    """What is left under a bolt in its blind hole, and how deep it holds; Refused if it bottoms."""
    depth = _reading(scene, Records.HOLE_DEPTH)
    if not depth:
        return Text("")
    left = quantities.length_mm(depth) - reach_mm
    if left <= 0:
        problem = text("the bolt bottoms {} before its rocker is clamped", Length(-left))
        raise Refused(problem, "a shorter bolt, or a washer the maker allows; then measure again")
    words = text("{} to spare below the bolt.", Length(left))
    thread = scene.build.rocker.thread
    if thread is None:
        return words
    diameter, pitch = thread_mm(thread)
    return words + text(
        " It holds over {}, {:.1f} bolt diameters, about {:.0f} threads. Usual least: 1 diameter "
        "in iron, 1.5 to 2 in aluminum (common practice, no source).",
        Length(reach_mm),
        reach_mm / diameter,
        reach_mm / pitch,
    )


def true_tdc_text(scene: Scene, records: Records, reading: str) -> Text:
    """Where true TDC lies, by the last of two readings; Refused if they can't be bisected."""
    if records is Records.TAPE_BETWEEN:
        half = Length(quantities.length_mm(reading) / 2)
        return text("True TDC is {} from A toward B: half of {}.", half, reading)
    first = _reading(scene, Records.WHEEL_FIRST)
    if not first:
        raise Refused("the first reading is missing", "take both readings again")
    try:
        at = true_tdc(quantities.degrees(first), quantities.degrees(reading))
    except ValueError as error:
        raise Refused(str(error), "take both readings again") from None
    return Text(f"True TDC reads {at:.1f}° on the wheel: midway between {first} and {reading}.")


def known_true_tdc(scene: Scene) -> Text:
    """What was worked out of the readings taken so far, or an empty text."""
    taken = ((records, _reading(scene, records)) for records in TDC_READINGS)
    records, reading = next((each for each in taken if each[1]), (None, ""))
    try:
        return true_tdc_text(scene, records, reading) if records else Text("")
    except Refused:  # the reading it goes with was crossed out: it is asked again
        return Text("")


def _reading(scene: Scene, records: Records) -> str:
    entry = scene.recorded(records)
    return entry.body.reading if entry else ""


def _cups_text(scene: Scene, records: Records, reading: str) -> Text:
    mm = quantities.length_mm(reading)
    heights = {**_heights(scene), records: mm}
    if mm == 0:
        raise Refused(f"{reading} isn't a height", "the cup's height over the foot or roller")
    if len(heights) < len(CUPS):
        return Text("")
    hydraulic, solid = (heights[name] for name in CUPS)
    if abs(hydraulic - solid) > MOST_APART_MM:
        problem = text("{} makes the two heights {} apart", reading, Length(abs(hydraulic - solid)))
        instead = "measure both over the foot or roller with one gauge; cross out a wrong one"
        raise Refused(problem, instead)
    return text("By both heights, {}.", above_text(hydraulic - solid))


def _heights(scene: Scene) -> dict[Records, float]:
    """The cups' heights known so far, in mm."""
    return {each: quantities.length_mm(got) for each in CUPS if (got := _reading(scene, each))}


def cup_above_mm(scene: Scene) -> float | None:
    """The hydraulic cup's height less the solid one's in mm; None before both are known."""
    heights = _heights(scene)
    return heights[CUPS[0]] - heights[CUPS[1]] if len(heights) == len(CUPS) else None


def cup_numbers(scene: Scene) -> tuple[int, ...]:
    """The entries that give the two heights: lengths found by the solid lifter rest on both."""
    return tuple(entry.number for name in CUPS if (entry := scene.recorded(name)))


def above_text(mm: float) -> Text:
    """Which cup stands higher, in words, by the hydraulic one's height less the solid one's."""
    if abs(mm) < EQUALLY_HIGH_MM:
        return Text("the two cups stand equally high")
    which = "higher" if mm > 0 else "lower"
    return text("the hydraulic cup stands {} {} than the solid one", Length(abs(mm)), which)


@dataclass(frozen=True)
class WrenchCheck:
    """A setup's wrench against its torque, None for what can't be judged; `against`: why not it."""

    usable: bool | None = None
    calibration_due: bool | None = None
    notes: tuple[str, ...] = ()
    against: str = ""


def judge_wrench(setup: Setup, today: date) -> WrenchCheck:
    """Judge the setup's wrench on the day it is used."""
    table, setting = setup.wrench, setup.setting_nm()
    if table is None:
        return WrenchCheck()
    least, most = table.figure("least"), table.figure("most")
    usable, reach = None, ""
    if setting is not None and (least is not None or most is not None):
        usable, reach = check_range(setting, least, most)
    due, age = calibration(table.calibrated, table.cycles, today)
    ahead = table.calibrated is not None and table.calibrated > today
    against = reach if usable is False else age if due or ahead else ""
    return WrenchCheck(usable, due, tuple(filter(None, (reach, age))), against)


def wrench_facts(scene: Scene) -> tuple[Fact, ...]:
    """The wrench in words, for the step that asks after it."""
    table = scene.build.setup.wrench
    notes = judge_wrench(scene.build.setup, _today(scene)).notes
    named = (Fact(f"wrench: {table.name}", "the setup"),) if table else ()
    return (*named, *(Fact(note, WRENCH_SOURCE) for note in notes))


def _today(scene: Scene) -> date:
    """The day of the latest entry: work taken up on another day is entered before all else."""
    return scene.state.last.at.date() if scene.state.last else date.min


def refuse_wrench(scene: Scene) -> None:
    """Refuse a wrench that can't be set to the torque, or whose calibration is due."""
    against = judge_wrench(scene.build.setup, _today(scene)).against
    if against:
        instead = "another wrench: s skips this, with a reason that names the one used"
        raise Refused(against.rstrip("."), instead)


def torque_facts(build: Build) -> tuple[Fact, ...]:
    """The torque at the bolt, and what to set on the wrench where an adapter makes it another."""
    facts = [Fact(f"torque {build.torque}", SHEET)]
    if build.setting != build.torque:
        facts.append(Fact(f"set {build.setting} on the wrench", ADAPTER))
    return tuple(facts)


def order_prompt(scene: Scene) -> Prompt | None:
    """Which order of work to follow: asked where the cam isn't known, or on a wish; else None."""
    state, build = scene.state, scene.build
    step = UNKNOWN_CAM if build.cam is None else ORDER_OF_WORK
    chosen, wished = state.step(step), state.step(ORDER_WISHED)
    due = chosen is None if build.cam is None else wished is not None
    if not due or (chosen is not None and wished and chosen.number > wished.number):
        return None
    options, facts = [], []
    found = orders(build.engine, build.cam, build.margin_deg, scene.down_deg)
    for number, (order, plan) in enumerate(found.items(), start=1):
        body = Answered(step=step, answer=order, said=ORDER_NAMES[order])
        options.append(Option(str(number), ORDER_NAMES[order], does=Reply((Draft(body),))))
        turns, margin = plan.positions[-1].crank_deg / 360.0, plan.least_margin_deg
        least = "margins not known" if margin is None else f"least margin {margin:.0f}°"
        positions = counted(len(plan.positions), "position")
        facts.append(Fact(f"{positions}, {turns:.1f} turns a round, {least}", order))
    return Prompt(
        id=step,
        question="How will you put the valves on their heel (base circle)?",
        why="Each order is right; they differ in how often the crank is turned and how far each "
        "lifter is from its lobe. Without a cam card no margin can be worked out.",
        options=tuple(options),
        facts=(
            *facts,
            Fact("at compression TDC both valves are shut", "how a four-stroke works"),
            Fact("by eye, how far open differs between authors: a range", "a magazine, April 2014"),
        ),
    )
