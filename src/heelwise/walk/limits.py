"""The limits of a gap gauged at a valve: a solid lifter's lash, or the gap that shows preload."""

from __future__ import annotations

from dataclasses import dataclass

from heelwise.documents import quantities
from heelwise.valvetrain.figures import length_text
from heelwise.valvetrain.valves import Valve
from heelwise.valvetrain.verdict import preload_mm
from heelwise.walk.prompts import Fact
from heelwise.walk.scene import Scene


@dataclass(frozen=True)
class Limits:
    """Least, most and wanted gap at a valve in mm, where they come from, figures to show."""

    least_mm: float
    most_mm: float
    wanted_mm: float
    said: str
    facts: tuple[Fact, ...]


@dataclass(frozen=True)
class PreloadLimits:
    """Least and most preload in mm, and where they come from."""

    least_mm: float
    most_mm: float
    said: str

    @property
    def middle_mm(self) -> float:
        """Halfway between them, in mm."""
        return (self.least_mm + self.most_mm) / 2


def gauge_limits(scene: Scene, valve: Valve) -> Limits:
    """The limits a valve is gauged by.

    Raises:
        ValueError: If the setup's figures leave none.
    """
    return _lash(scene, valve) if scene.build.way.reads == "lash" else _gap(scene)


def _lash(scene: Scene, valve: Valve) -> Limits:
    setup = scene.build.setup.require("lash", "rocker")
    table, rocker = setup.lash, setup.rocker
    assert table is not None
    assert rocker is not None
    pushrod = quantities.length_mm(scene.pushrod_text(scene.standing.valve(valve)))
    cold = table.cold_mm(valve.kind, pushrod, rocker.ratio)
    hot = table.hot_mm(valve.kind, pushrod, rocker.ratio)
    typed = table.tolerance or scene.build.procedure.defaults.lash_tolerance
    tolerance = quantities.length_mm(typed)
    sheet = "the setup: the maker's sheet"
    whence = sheet if table.measured == "cold" else table.growth_said
    facts = [Fact(f"set {length_text(cold)} cold, within {typed}", whence)]
    if table.measured == "hot":
        facts.append(Fact(f"{length_text(table.sheet_mm(valve.kind))} hot", sheet))
    elif hot is not None:
        facts.append(Fact(f"about {length_text(hot)} hot", table.growth_said))
    by = sheet if table.tolerance else f"the procedure ({_source(scene)})"
    facts.append(Fact(f"tolerance {typed} either way", by))
    least = max(cold - tolerance, 0.0)
    return Limits(least, cold + tolerance, cold, f"{whence}; tolerance {by}", tuple(facts))


def _gap(scene: Scene) -> Limits:
    setup = scene.build.setup.require("rocker", "lifter", "lifter.plunger_travel")
    plunger, rocker = setup.plunger_travel_mm(), setup.rocker
    assert plunger is not None
    assert rocker is not None
    preload = preload_limits(scene)
    least, most = ((plunger - each) * rocker.ratio for each in (preload.most_mm, preload.least_mm))
    if least <= 0:
        raise ValueError(
            f"the most preload, {length_text(preload.most_mm)}, leaves no gap of the plunger's "
            f"travel, {length_text(plunger)}"
        )
    said = f"worked out: (plunger travel − preload) × ratio; preload from {preload.said}"
    facts = (
        Fact(f"gap {length_text(least)} to {length_text(most)}", said),
        Fact(
            f"preload {length_text(preload.least_mm)} to {length_text(preload.most_mm)}",
            preload.said,
        ),
        Fact(f"plunger travel {length_text(plunger)}", "the setup: the maker's sheet"),
    )
    return Limits(least, most, (least + most) / 2, said, facts)


def preload_limits(scene: Scene) -> PreloadLimits:
    """The preload allowed: the lifter sheet's own figures, or its turns made into travel.

    Raises:
        ValueError: If neither is given.
    """
    sheet = scene.build.setup.window_sheet()
    if sheet.least_preload_mm is not None and sheet.most_preload_mm is not None:
        return PreloadLimits(sheet.least_preload_mm, sheet.most_preload_mm, "the lifter's sheet")
    window, travel = scene.window, scene.travel.used
    least, most = (
        preload_mm(turns, travel.mm, scene.seat_turns)
        for turns in (window.least_turns, window.most_turns)
    )
    return PreloadLimits(least, most, f"{window.said}, by a travel a turn {travel.origin.value}")


def _source(scene: Scene) -> str:
    return scene.build.procedure.defaults.gauge_source
