"""What judges a valve besides the window in turns: lash, gap and preload, cold and hot."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.quantities import length_mm, typed_length
from heelwise.documents.setup import Setup
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.growth import HotPreload, hot_preload
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import out_of_reach, preload_mm
from heelwise.walk.build import Build
from heelwise.walk.prompts import Fact
from heelwise.walk.scene import Scene
from heelwise.walk.state import fold
from heelwise.wording import Length, Text, text

SHEET = "the setup: the maker's sheet"


@dataclass(frozen=True)
class Limits:
    """Least, most and wanted gap or preload in mm, where they come from, figures to show."""

    least_mm: float
    most_mm: float
    wanted_mm: float
    source: str
    facts: tuple[Fact, ...] = ()


def gauge_limits(scene: Scene, valve: Valve) -> Limits:
    """The limits a valve is gauged by; ValueError if the setup's figures leave none."""
    return _lash(scene, valve) if scene.build.method.reads == "lash" else _gap(scene)


def _lash(scene: Scene, valve: Valve) -> Limits:
    table, ratio = scene.build.lash, scene.build.rocker.ratio
    pushrod = length_mm(scene.pushrod_text(scene.state.valves[valve]))
    cold = table.cold_mm(valve.kind, pushrod, ratio)
    hot = table.hot_mm(valve.kind, pushrod, ratio)
    typed = table.tolerance or scene.defaults.lash_tolerance
    tolerance, within = length_mm(typed), typed_length(typed)
    of_cold, of_hot = SHEET, table.growth_source
    about = "about {} hot"
    if table.measured == "hot":
        of_cold, of_hot, about = of_hot, of_cold, "{} hot"
    by = SHEET if table.tolerance else f"the procedure ({scene.defaults.gauge_source})"
    source = text("{}; tolerance {}", of_cold, by)
    facts = [Fact(text("set {} cold, within {}", Length(cold), within), source)]
    if hot is not None:
        facts.append(Fact(text(about, Length(hot)), of_hot))
    return Limits(max(cold - tolerance, 0.0), cold + tolerance, cold, source, tuple(facts))


def _gap(scene: Scene) -> Limits:
    plunger, preload = scene.build.plunger_mm, preload_limits(scene)
    ratio, deepest, whole = scene.build.rocker.ratio, Length(preload.most_mm), Length(plunger)
    least, most = ((plunger - each) * ratio for each in (preload.most_mm, preload.least_mm))
    if least <= 0:
        problem = "the most preload, {}, leaves no gap of the plunger's travel, {}"
        raise ValueError(text(problem, deepest, whole))
    how = "worked out: (plunger travel − preload) × ratio; preload from {}"
    source = text(how, preload.source)
    facts = (
        Fact(text("gap {} to {}", Length(least), Length(most)), source),
        Fact(text("preload {} to {}", Length(preload.least_mm), deepest), preload.source),
        Fact(text("plunger travel {}", whole), SHEET),
    )
    return Limits(least, most, (least + most) / 2, source, facts)


def preload_limits(scene: Scene) -> Limits:
    """The preload allowed: the lifter sheet's own figures, or its turns made into travel.

    Raises ValueError if neither is given.
    """
    own, source = scene.build.setup.window_sheet().preload_mm, Text("the lifter's sheet")
    if own is None:
        window, used, seat = scene.window, scene.travel.used, scene.seat_turns
        least = preload_mm(window.least_turns, used.mm, seat)
        own = least, preload_mm(window.most_turns, used.mm, seat)
        source = text("{}, at a travel per turn that is {}", window.source, used.origin.value)
    middle = sum(own) / 2
    wanted = text("preload wanted {}: the middle of what is allowed", Length(middle))
    return Limits(*own, middle, source, (Fact(wanted, source),))


def hot_of(scene: Scene, read: Reading) -> HotPreload | None:
    """The preload hot that a count comes to, in mm, by [growth]; None where the setup has none."""
    setup, limits = scene.build.setup, preload_limits(scene)
    growth, plunger = setup.growth_mm(read.pushrod_mm), setup.figure("lifter.plunger_travel")
    if growth is None:
        return None
    cold = preload_mm(read.turns, scene.travel.used.mm, scene.seat_turns)
    return hot_preload(cold, growth, plunger, limits.least_mm, limits.most_mm)


def hot_text(scene: Scene, read: Reading) -> Text:
    """A count's preload hot, with what is to be said about it; "" without [growth]."""
    hot = hot_of(scene, read)
    if hot is None:
        return Text("")
    notes = Text(*(part for note in hot.notes for part in (" ", note)))
    return text(" Hot, about {}.{}", Length(max(hot.hot_mm, 0.0)), notes)


def growth_facts(setup: Setup, pushrod_mm: float) -> tuple[Fact, ...]:
    """What changes from cold to hot with a pushrod, and whence; none without [growth]."""
    lost = setup.growth_mm(pushrod_mm)
    if lost is None or setup.growth is None:
        return ()
    change = text("hot, preload {} {}", "loses" if lost >= 0 else "gains", Length(abs(lost)))
    return (Fact(change, setup.growth.growth_source),)


def travel_facts(scene: Scene) -> tuple[Fact, ...]:
    """The travel per turn in use, and what the trials say against it."""
    used, notes = scene.travel.used, scene.travel.notes
    fact = Fact(text("{} of travel per turn", Length(used.mm)), used.source)
    return (fact, *(Fact(note, "the sheet, the lever and the trials compared") for note in notes))


def unwalkable(build: Build) -> tuple[Fault, ...]:
    """Find the first that would stop the walk by a procedure that serves mount and lifter."""
    try:
        build.setup.require(*build.procedure.method.needs_of_setup)
    except Faulty as faulty:
        return tuple(faulty.faults)
    scene = Scene(build, fold(build.engine.valves, ()))
    checks: list[tuple[str, Callable[[], object], str]] = [
        ("cam", lambda: scene.plan, "a shorter cam, or known = false")
    ]
    if build.method.reads == "turns":
        window = "least_turns and most_turns, or the preload"
        plunger = "the plunger's whole travel from the sheet; check the window and the thread"
        checks += [
            ("lifter.travel_per_turn", lambda: scene.travel, "give it, or rocker.thread"),
            ("lifter", lambda: (scene.window, scene.ceiling), window),
            ("lifter.plunger_travel", lambda: _reach(scene), plunger),
        ]
    else:
        table = "lash" if build.method.reads == "lash" else "lifter"
        gauged = (partial(gauge_limits, scene, Valve(1, kind)) for kind in ValveKind)
        checks += [(table, limits, "check its figures") for limits in gauged]
    for where, work_out, instead in checks:
        try:
            work_out()
        except ValueError as error:
            return (Fault(where, str(error), instead),)
    return ()


def _reach(scene: Scene) -> None:
    if problem := out_of_reach(scene.window, scene.ceiling):
        raise ValueError(problem)
