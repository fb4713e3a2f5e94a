"""The virtual engine's true dimensions, drawn from its seed. The walk never sees them."""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass
from math import pi, sin

from heelwise.documents.methods import DEFAULT, METHODS
from heelwise.documents.quantities import length_mm
from heelwise.documents.setup import Setup
from heelwise.rehearsal.faults import EngineFault, Planted
from heelwise.valvetrain.cam import Cam, open_arc
from heelwise.valvetrain.engine import Engine, Valve
from heelwise.valvetrain.travel import worked_out
from heelwise.valvetrain.window import Window

INCH = 25.4
TOO_LONG_MM = 0.062 * INCH
LENGTH_OFF_MM = 0.060 * INCH
CUP_MM = 2.0 * INCH
CUPS_APART_MM = 0.030 * INCH
UP_THE_LOBE_MM = 0.022 * INCH
SCATTER_MM = 0.004 * INCH
SEAT_TURNS = 0.08
PEAK_MM = 8.0
LIFTERS = ("dry", "soaked", "pumped", "used")


@dataclass(frozen=True)
class Truth:
    """What is so in the virtual engine.

    Attributes:
        seed: Everything here follows from it.
        travel_mm: True plunger travel per turn: thread and lever, less a little give.
        just_touching_mm: Pushrod length per valve that leaves no lash and no preload at the click.
        plunger_mm: Whole travel of a plunger.
        planted: The faults, by valve.
        lifters: The lifters' condition.
        ratio: True rocker ratio.
        cup_hydraulic_mm: Height of a hydraulic lifter's cup, its plunger at the retainer.
        cup_solid_mm: Height of the solid checking lifter's.
    """

    seed: int
    travel_mm: float
    just_touching_mm: Mapping[Valve, float]
    plunger_mm: float
    planted: Mapping[Valve, EngineFault]
    lifters: str
    ratio: float = 1.0
    cup_hydraulic_mm: float = CUP_MM
    cup_solid_mm: float = CUP_MM

    def preload_mm(self, valve: Valve, pushrod_mm: float, lobe_mm: float = 0.0) -> float:
        """True preload at the click; below 0 when lash is left."""
        return pushrod_mm - self.just_touching_mm[valve] + lobe_mm

    def turns(self, valve: Valve, pushrod_mm: float, lobe_mm: float = 0.0) -> float:
        """True turns from zero lash to the click; 0 when lash is left at the click."""
        preload = self.preload_mm(valve, pushrod_mm, lobe_mm)
        return 0.0 if preload <= 0 else SEAT_TURNS + preload / self.travel_mm

    def lash_mm(self, valve: Valve, pushrod_mm: float) -> float:
        """True lash at the valve with the solid checking lifter in; 0 or less where it is tight."""
        above = self.cup_hydraulic_mm - self.cup_solid_mm
        return (self.just_touching_mm[valve] + above - pushrod_mm) * self.ratio

    def gap_mm(self, valve: Valve, pushrod_mm: float) -> float:
        """True gap at the valve with the plunger held at its end; 0 where it is there anyway."""
        left = self.plunger_mm - max(self.preload_mm(valve, pushrod_mm), 0.0)
        return max(left, 0.0) * self.ratio


def make_truth(
    setup: Setup, seed: int, planted: tuple[Planted, ...], method: str = DEFAULT
) -> Truth:
    """Draw an engine's true dimensions.

    Args:
        setup: Its setup; where pushrods are tried and bought, those in it come out too long by
            about 0.06 in, else about right.
        seed: The same seed draws the same engine.
        planted: The faults planted in it.
        method: The procedure's method.
    """
    chance = random.Random(f"dimensions {seed}")
    rocker, lifter = setup.rocker, setup.lifter
    assert rocker is not None
    assert lifter is not None
    lever = worked_out(rocker.pitch_mm or 1.25, rocker.ratio) * (1 - 0.015 * chance.random())
    faults = {p.valve: p.fault for p in planted}
    middle = _middle_mm(setup, lever)
    too_long = TOO_LONG_MM if METHODS[method].buys else 0.0
    lengths = {}
    for valve in setup.make_engine().valves:
        first = setup.pushrods.length(valve.kind) if setup.pushrods else 180.0
        right = first - too_long + chance.uniform(-SCATTER_MM, SCATTER_MM)
        if faults.get(valve) is EngineFault.LENGTH_OFF:
            right += LENGTH_OFF_MM
        lengths[valve] = right - middle
    plunger = length_mm(lifter.plunger_travel or "0.200 in")
    lifters = LIFTERS[seed % len(LIFTERS)] if method != "recheck" else "used"
    apart = random.Random(f"cups {seed}").uniform(-CUPS_APART_MM, CUPS_APART_MM)
    cups = (CUP_MM, CUP_MM + apart)
    return Truth(seed, lever, lengths, plunger, faults, lifters, rocker.ratio, *cups)


def _middle_mm(setup: Setup, travel_mm: float) -> float:
    """The preload in the middle of what the sheet allows; none for solid lifters."""
    sheet = setup.window_sheet()
    if sheet.least_turns is not None and sheet.most_turns is not None:
        middle = Window(sheet.least_turns, sheet.most_turns, "").middle
        return (middle - SEAT_TURNS) * travel_mm
    if sheet.least_preload_mm is not None and sheet.most_preload_mm is not None:
        return (sheet.least_preload_mm + sheet.most_preload_mm) / 2
    return 0.0


def lift_mm(engine: Engine, cam: Cam, valve: Valve, crank_deg: float) -> float:
    """How far a lobe lifts its lifter at a crank angle.

    Args:
        engine: The engine.
        cam: Its cam.
        valve: The valve.
        crank_deg: Degrees in the 720° cycle.

    Returns:
        Lift in mm, 0 on the heel. With x from 0 to 1 over the open arc and s = 2x up
        to the nose, the rise is cycloidal: s − sin(2πs)/2π, times the peak (the common
        cycloidal displacement of cam textbooks, from memory).
    """
    arc = open_arc(engine, cam, valve)
    into = (crank_deg - arc.start) % 720.0
    if into >= arc.length:
        return 0.0
    x = into / arc.length
    s = 2 * x if x <= 0.5 else 2 * (1 - x)
    return PEAK_MM * (s - sin(2 * pi * s) / (2 * pi))
