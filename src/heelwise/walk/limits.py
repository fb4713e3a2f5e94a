"""What judges a valve besides the window in turns: lash, gap and preload, cold and hot."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

from heelwise.documents import quantities
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.quantities import typed_length
from heelwise.documents.setup import Setup
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.growth import HotPreload, hot_preload
from heelwise.valvetrain.window import Window, out_of_reach, preload_mm
from heelwise.walk.build import Build
from heelwise.walk.prompts import Fact
from heelwise.walk.scene import Scene
from heelwise.walk.state import fold
from heelwise.wording import Length, Text, text

SHEET = "the setup: the maker's sheet"


@dataclass(frozen=True)
class Limits:
    """Least, most and wanted gap at a valve in mm, where they come from, figures to show."""

    least_mm: float
    most_mm: float
    wanted_mm: float
    source: str
    facts: tuple[Fact, ...]


@dataclass(frozen=True)
class PreloadLimits:
    """Least and most preload in mm, and where they come from."""

    least_mm: float
    most_mm: float
    source: str

    @property
    def middle_mm(self) -> float:
        """Halfway between them, in mm."""
        return (self.least_mm + self.most_mm) / 2


def gauge_limits(scene: Scene, valve: Valve) -> Limits:
    """The limits a valve is gauged by; ValueError if the setup's figures leave none."""
    return _lash(scene, valve) if scene.build.method.reads == "lash" else _gap(scene)


def _lash(scene: Scene, valve: Valve) -> Limits:
    table = scene.build.lash
    ratio, defaults = scene.build.rocker.ratio, scene.defaults
    pushrod = quantities.length_mm(scene.pushrod_text(scene.state.valves[valve]))
    cold = table.cold_mm(valve.kind, pushrod, ratio)
    hot = table.hot_mm(valve.kind, pushrod, ratio)
    typed = table.tolerance or defaults.lash_tolerance
    tolerance = quantities.length_mm(typed)
    source = SHEET if table.measured == "cold" else table.growth_source
    within = typed_length(typed)
    facts = [Fact(text("set {} cold, within {}", Length(cold), within), source)]
    if table.measured == "hot":
        facts.append(Fact(text("{} hot", Length(table.sheet_mm(valve.kind))), SHEET))
    elif hot is not None:
        facts.append(Fact(text("about {} hot", Length(hot)), table.growth_source))
    by = SHEET if table.tolerance else f"the procedure ({defaults.gauge_source})"
    facts.append(Fact(text("tolerance {} either way", within), by))
    least = max(cold - tolerance, 0.0)
    return Limits(least, cold + tolerance, cold, text("{}; tolerance {}", source, by), tuple(facts))


def _gap(scene: Scene) -> Limits:
    plunger, ratio = scene.build.plunger_mm, scene.build.rocker.ratio
    preload = preload_limits(scene)
    least, most = ((plunger - each) * ratio for each in (preload.most_mm, preload.least_mm))
    if least <= 0:
        raise ValueError(
            text(
                "the most preload, {}, leaves no gap of the plunger's travel, {}",
                Length(preload.most_mm),
                Length(plunger),
            )
        )
    how = "worked out: (plunger travel − preload) × ratio; preload from {}"
    source = text(how, preload.source)
    allowed = text("preload {} to {}", Length(preload.least_mm), Length(preload.most_mm))
    facts = (
        Fact(text("gap {} to {}", Length(least), Length(most)), source),
        Fact(allowed, preload.source),
        Fact(text("plunger travel {}", Length(plunger)), SHEET),
    )
    return Limits(least, most, (least + most) / 2, source, facts)


def preload_limits(scene: Scene) -> PreloadLimits:
    """The preload allowed: the lifter sheet's own figures, or its turns made into travel.

    Raises ValueError if neither is given.
    """
    sheet = scene.build.setup.window_sheet()
    if sheet.preload_mm is not None:
        return PreloadLimits(*sheet.preload_mm, "the lifter's sheet")
    window, travel = scene.window, scene.travel.used
    least, most = (
        preload_mm(turns, travel.mm, scene.seat_turns)
        for turns in (window.least_turns, window.most_turns)
    )
    origin = travel.origin.value
    source = text("{}, at a travel per turn that is {}", window.source, origin)
    return PreloadLimits(least, most, source)


def hot_of(
    setup: Setup,
    window: Window,
    travel_mm: float,
    seat_turns: float,
    pushrod_mm: float,
    turns: float,
) -> HotPreload | None:
    """The preload hot that a count comes to, in mm, by [growth]; None where the setup has none."""
    growth = setup.growth_mm(pushrod_mm)
    if growth is None:
        return None
    cold, least, most = (
        preload_mm(each, travel_mm, seat_turns)
        for each in (turns, window.least_turns, window.most_turns)
    )
    return hot_preload(cold, growth, setup.plunger_travel_mm(), least, most)


def hot_text(scene: Scene, pushrod: str, turns: float) -> Text:
    """A count's preload hot, with what is to be said about it; "" without [growth]."""
    hot = hot_of(
        scene.build.setup,
        scene.window,
        scene.travel.used.mm,
        scene.seat_turns,
        quantities.length_mm(pushrod),
        turns,
    )
    if hot is None:
        return Text("")
    notes = Text(*(part for note in hot.notes for part in (" ", note)))
    return text(" Hot, about {}.{}", Length(max(hot.hot_mm, 0.0)), notes)


def growth_facts(scene: Scene, pushrod: str) -> tuple[Fact, ...]:
    """What changes from cold to hot with a pushrod, and whence; none without [growth]."""
    setup = scene.build.setup
    lost = setup.growth_mm(quantities.length_mm(pushrod))
    if lost is None or setup.growth is None:
        return ()
    return (Fact(growth_text(lost), setup.growth.growth_source),)


def growth_text(lost_mm: float) -> Text:
    """Preload lost or gained from cold to hot, in words."""
    return text("hot, preload {} {}", "loses" if lost_mm >= 0 else "gains", Length(abs(lost_mm)))


def unwalkable(build: Build) -> tuple[Fault, ...]:
    """Find what would stop the walk later; none where it can begin.

    The setup's procedure must serve its mount and lifter.
    """
    try:
        build.setup.require(*build.procedure.method.needs_of_setup)
    except Faulty as faulty:
        return tuple(faulty.faults)
    scene = Scene(build, fold(build.engine.valves, ()))
    return tuple(dict.fromkeys(_faults(scene)))


def _faults(scene: Scene) -> Iterator[Fault]:
    reads = scene.build.method.reads
    by_kind = {valve.kind: valve for valve in reversed(scene.build.engine.valves)}
    yield from _fault("cam", lambda: scene.plan, "a shorter cam, or known = false")
    if reads == "turns":
        travel = "give it, or rocker.thread"
        yield from _fault("lifter.travel_per_turn", lambda: scene.travel, travel)
        window = "least_turns and most_turns, or the preload"
        faults = list(_fault("lifter", lambda: (scene.window, scene.ceiling), window))
        yield from faults or _out_of_reach(scene)
        return
    table = "lash" if reads == "lash" else "lifter"
    for valve in by_kind.values():
        yield from _fault(table, partial(gauge_limits, scene, valve), "check its figures")


def _fault(where: str, work_out: Callable[[], object], instead: str) -> Iterator[Fault]:
    try:
        work_out()
    except ValueError as error:
        yield Fault(where, str(error), instead)


def _out_of_reach(scene: Scene) -> Iterator[Fault]:
    if problem := out_of_reach(scene.window, scene.ceiling):
        instead = "the plunger's whole travel from the sheet; check the window and the thread"
        yield Fault("lifter.plunger_travel", problem, instead)
