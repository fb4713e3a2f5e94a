"""The virtual engine: its true dimensions, drawn from its seed. The walk never sees them."""

from __future__ import annotations

import random
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import timedelta
from math import exp
from statistics import fmean

from heelwise.documents.methods import DEFAULT, METHODS
from heelwise.documents.quantities import length_mm
from heelwise.documents.setup import Setup
from heelwise.documents.setup_engine import CamTable
from heelwise.documents.setup_lifters import LifterTable
from heelwise.documents.typed_numbers import turns
from heelwise.rehearsal.faults import EngineFault, HandSlip, Planted
from heelwise.rehearsal.mechanics import Lobe, Rocker, dead_centers, lift_of, lobes
from heelwise.valvetrain.engine import Valve, ValveKind

FIRST_PRELOAD_MM = 0.30
"""Preload that trial pushrods leave which are too short."""

TOO_LONG_MM = 1.6
"""How far trial pushrods that are too long go over the middle of the window."""

LENGTH_OFF_MM = 1.5
CUP_MM = 50.0
CUPS_DIFFER_MM = 0.75
SCATTER_MM = 0.08
"""One standard deviation of a valve's height against its neighbors."""

SEAT_TURNS = (0.07, 0.17)
ZERO_LASH_MM = 0.02
"""One standard deviation of a zero lash found by feel, at the pushrod."""

CALIPER_MM = 0.01
LIFTERS = ("dry", "soaked", "pumped", "used")
_BLEEDS = {"dry": 0.5, "soaked": 5.0, "pumped": 15.0, "used": 15.0}
"""Seconds in which a plunger comes back all but a third of the way, once it is unloaded."""


@dataclass(frozen=True)
class Truth:
    """What is so in the virtual engine; everything in it follows from its seed.

    `seat_turns` seat a rocker and stretch its bolt without moving the plunger. `centers`: crank
    angle of each cylinder's TDC on compression. `window`: the sheet's, in mm of preload or in
    turns. `slips`: what the hands do wrong once. Cups: their heights, the plunger at its retainer.
    """

    seed: int
    rockers: Mapping[Valve, Rocker]
    pitch_mm: float
    seat_turns: float
    plunger_mm: float
    planted: Mapping[Valve, EngineFault]
    slips: Mapping[Valve, HandSlip]
    lifters: str
    lobes: Mapping[ValveKind, Lobe]
    centers: Mapping[int, float]
    window: tuple[float, float]
    window_in_turns: bool
    screws: bool = False
    cup_hydraulic_mm: float = CUP_MM
    cup_solid_mm: float = CUP_MM
    hand_mm: float = ZERO_LASH_MM

    @property
    def just_touching_mm(self) -> Mapping[Valve, float]:
        """Pushrod length per valve that leaves no lash and no preload at the click."""
        return {valve: rocker.touching for valve, rocker in self.rockers.items()}

    @property
    def travel_mm(self) -> float:
        """Plunger travel for the last turn before a rocker is drawn down, the mean of all."""
        rockers = self.rockers.values()
        return fmean(
            r.preload(r.touching) - r.preload(r.touching, rise=self.pitch_mm) for r in rockers
        )

    def lift_mm(self, valve: Valve, crank_deg: float) -> float:
        """How far its lobe lifts a valve's lifter at a crank angle; 0 on the heel."""
        return lift_of(self.lobes, self.centers, valve, crank_deg)

    def preload_mm(self, valve: Valve, pushrod_mm: float, lift_mm: float = 0.0) -> float:
        """True preload at the click; below 0 where lash is left."""
        return self.rockers[valve].preload(pushrod_mm, lift_mm)

    def turns(
        self, valve: Valve, pushrod_mm: float, lift_mm: float = 0.0, down_mm: float = 0.0
    ) -> float:
        """True turns from zero lash to the click; 0 where lash is left at the click.

        `down_mm`: how far the plunger is down where zero lash is taken.
        """
        rise = self.rockers[valve].rise_at(pushrod_mm, down_mm, lift_mm)
        return 0.0 if rise <= 0 else self.seat_turns + rise / self.pitch_mm

    def preload_after_mm(self, valve: Valve, pushrod_mm: float, turns_given: float) -> float:
        """True preload after turns of an adjuster from zero lash, on the heel."""
        rocker = self.rockers[valve]
        if self.screws:
            return rocker.preload(rocker.touching + turns_given * self.pitch_mm)
        rise = rocker.rise_at(pushrod_mm, 0.0)
        return rocker.preload(pushrod_mm, rise=rise - turns_given * self.pitch_mm)

    def lash_mm(self, valve: Valve, pushrod_mm: float) -> float:
        """True lash at the valve with the solid checking lifter in; 0 or less where it is tight."""
        return self.rockers[valve].gap(pushrod_mm, self.cup_solid_mm - self.cup_hydraulic_mm)

    def gap_mm(self, valve: Valve, pushrod_mm: float) -> float:
        """True gap at the valve with the plunger held at its end; 0 where it is there anyway."""
        return max(self.rockers[valve].gap(pushrod_mm, -self.plunger_mm), 0.0)

    def still_down_mm(self, preload_mm: float, unloaded: timedelta) -> float:
        """How far a plunger is still down some time after its load came off."""
        gone = max(unloaded.total_seconds(), 0.0) / _BLEEDS[self.lifters]
        return max(preload_mm, 0.0) * exp(-gone) if gone < 4.0 else 0.0

    def true_length_mm(self, valve: Valve, measured_mm: float) -> float:
        """What a pushrod that was measured with a caliper is really long."""
        chance = random.Random(f"caliper {self.seed} {valve} {measured_mm:.4f}")
        return measured_mm + chance.gauss(0.0, CALIPER_MM)

    def inside(self, valve: Valve, pushrod_mm: float) -> bool:
        """Whether what a valve gets from a pushrod of true length is inside the sheet's window."""
        of_turns = self.window_in_turns
        value = (self.turns if of_turns else self.preload_mm)(valve, pushrod_mm)
        return self.window[0] <= value <= self.window[1]


def make_truth(
    setup: Setup,
    seed: int,
    planted: Collection[Planted],
    method: str = DEFAULT,
    scatter_mm: float = SCATTER_MM,
    trials_short: bool = True,
) -> Truth:
    """Draw an engine's true dimensions.

    Where no pushrods are tried and bought, those in the setup are about right; else they are
    too short, or too long.
    """
    chance = random.Random(f"dimensions {seed}")
    rocker, lifter = setup.rocker, setup.lifter
    assert rocker is not None
    assert lifter is not None
    pitch = rocker.pitch_mm or 1.25
    arm = chance.uniform(34.0, 42.0)
    ratio = rocker.ratio * (1 + chance.uniform(-0.015, 0.015))
    slants = chance.uniform(-0.10, 0.14), chance.uniform(-0.14, 0.10)
    lean = chance.uniform(2.0, 16.0)
    seat = chance.uniform(*SEAT_TURNS)
    window, of_turns = _window(lifter)
    middle = (window[0] + window[1]) / 2
    wanted = (middle - seat) * pitch * (1 + 1 / ratio) if of_turns else middle
    if METHODS[method].buys and METHODS[method].clicks:
        wanted = FIRST_PRELOAD_MM if trials_short else wanted + TOO_LONG_MM
    faults = {p.valve: p.fault for p in planted if isinstance(p.fault, EngineFault)}
    slips = {p.valve: p.fault for p in planted if isinstance(p.fault, HandSlip)}
    rockers = {}
    centers = dead_centers(setup.engine)
    for valve in sorted(Valve(cylinder, kind) for cylinder in centers for kind in ValveKind):
        first = setup.pushrods.length(valve.kind) if setup.pushrods else 180.0
        right = first + chance.gauss(0.0, scatter_mm)
        right += LENGTH_OFF_MM if faults.get(valve) is EngineFault.LENGTH_OFF else 0.0
        own = ratio * (1 + chance.gauss(0.0, 0.003))
        rockers[valve] = Rocker(arm, arm / own, *slants, lean, right - wanted)
    lifters = LIFTERS[seed % len(LIFTERS)] if method != "recheck" else "used"
    apart = random.Random(f"cups {seed}").uniform(-CUPS_DIFFER_MM, CUPS_DIFFER_MM)
    return Truth(
        seed=seed,
        rockers=rockers,
        pitch_mm=pitch,
        seat_turns=seat if METHODS[method].reads != "turns" or METHODS[method].clicks else 0.0,
        plunger_mm=length_mm(lifter.plunger_travel) if lifter.plunger_travel else 5.0,
        planted=faults,
        slips=slips,
        lifters=lifters,
        lobes=_lobes(setup.cam, chance),
        centers=centers,
        window=window,
        window_in_turns=of_turns,
        screws=rocker.mount == "shaft",
        cup_solid_mm=CUP_MM + apart,
    )


def _window(lifter: LifterTable) -> tuple[tuple[float, float], bool]:
    """The sheet's least and most, and whether they are turns; those go before preload."""
    if lifter.least_turns is not None and lifter.most_turns is not None:
        return (turns(lifter.least_turns), turns(lifter.most_turns)), True
    if lifter.least_preload is not None and lifter.most_preload is not None:
        return (length_mm(lifter.least_preload), length_mm(lifter.most_preload)), False
    return (0.0, 0.0), False


def _lobes(cam: CamTable | None, chance: random.Random) -> Mapping[ValveKind, Lobe]:
    """The card's lobes; those of some usual cam where the card is not known."""
    if cam is not None and cam.known is not False:
        return lobes(cam, length_mm(cam.at_lift) if cam.at_lift else 0.15)
    some = CamTable(
        intake_duration=chance.uniform(245, 285),
        exhaust_duration=chance.uniform(250, 290),
        lobe_separation=chance.uniform(106, 115),
        intake_centerline=chance.uniform(102, 111),
    )
    return lobes(some, 0.15)
