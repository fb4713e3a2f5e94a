"""The virtual engine: true dimensions drawn from its seed, its rockers solved numerically.

Nothing of `valvetrain` but the valves' names is used in this package: an engine that shared its
arithmetic with what it tests would agree with every mistake in it.
"""

import random
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import timedelta
from itertools import accumulate
from math import cos, exp, sin, sqrt
from statistics import fmean

from heelwise.documents.methods import DEFAULT, METHODS
from heelwise.documents.quantities import length_mm, turns
from heelwise.documents.setup import Setup
from heelwise.documents.setup_engine import EVENT_KEYS, TIMING_KEYS, CamTable, EngineTable
from heelwise.rehearsal.scenario import LIKE_BEFORE, TRIALS_SHORT, EngineFault, HandSlip, Planted
from heelwise.valvetrain.engine import Valve, ValveKind

CYCLE_DEG = 720.0
NOSE_MM = 8.0
"""Lift at the nose of every lobe."""

_WIDEST_RISE_MM = 15.0
_WIDEST_SWING = 0.6


def dead_centers(engine: EngineTable) -> dict[int, float]:
    """Crank angle of each cylinder's TDC on compression, cylinder 1 at 0."""
    order = engine.firing_order
    gaps = engine.firing_gaps or [CYCLE_DEG / len(order)] * len(order)
    place = dict(zip(order, accumulate(gaps, initial=0.0), strict=False))
    return {cylinder: (deg - place[1]) % CYCLE_DEG for cylinder, deg in place.items()}


@dataclass(frozen=True)
class Lobe:
    """A lobe: where its nose is in its cylinder's own cycle, and half its width, crank degrees."""

    nose_deg: float
    half_deg: float

    def lift_mm(self, own_deg: float) -> float:
        """Lift of the lifter, (1 − u²)³ of the nose's: smooth at both ends, no maker's profile."""
        off = abs((own_deg - self.nose_deg + CYCLE_DEG / 2) % CYCLE_DEG - CYCLE_DEG / 2)
        u = min(off / self.half_deg, 1.0)
        return NOSE_MM * float((1 - u * u) ** 3)


def lobes(cam: CamTable, at_lift_mm: float) -> Mapping[ValveKind, Lobe]:
    """The lobes that open and close at the card's figures, measured at its lift."""
    ivo, ivc, evo, evc = (getattr(cam, key) or 0.0 for key in EVENT_KEYS)
    ends = (360 - ivo, 540 + ivc), (180 - evo, 360 + evc)
    if cam.intake_opens_btdc is None:
        *durations, apart, center = (getattr(cam, key) or 0.0 for key in TIMING_KEYS)
        half_i, half_e = ((each or cam.duration or 0.0) / 2 for each in durations)
        nose_i, nose_e = 360 + center, 360 - (2 * apart - center)
        ends = (nose_i - half_i, nose_i + half_i), (nose_e - half_e, nose_e + half_e)
    early = cam.advance or 0.0
    # u at which (1 − u²)³ is the card's lift: the lobe goes on that much further either rounds.
    u = sqrt(1 - (at_lift_mm / NOSE_MM) ** (1 / 3))
    return {
        kind: Lobe((opens + closes) / 2 - early, (closes - opens) / 2 / u)
        for kind, (opens, closes) in zip(ValveKind, ends, strict=True)
    }


@dataclass(frozen=True)
class Rocker:
    """A rigid rocker between a valve tip and a leaning pushrod; lengths in mm, angles in radians.

    A slant is how far its arm points up, drawn down and the valve shut. `lean`: how far the
    lifter's cup stands inboard of the rocker's. `touching`: pushrod length at zero lash.
    """

    valve_arm: float
    pushrod_arm: float
    valve_slant: float
    pushrod_slant: float
    lean: float
    touching: float

    def preload(self, length: float, lift: float = 0.0, rise: float = 0.0) -> float:
        """How far the plunger is down, the valve held shut; below 0: so much play.

        `lift`: of the lifter by its lobe. `rise`: of the fulcrum above where it is drawn down to.
        """
        return self._heel_top() + lift - self._lifter_top(length, rise, self.swing(rise))

    def swing(self, rise: float) -> float:
        """How far it swings with its fulcrum up and the valve shut, pushrod end down."""
        return _solve(lambda s: self._tip(s) + rise - self._tip(0.0), _WIDEST_SWING)

    def rise_at(self, length: float, down: float, lift: float = 0.0) -> float:
        """How far the fulcrum is up where the plunger is `down`; 0 at 0: zero lash."""
        return _solve(lambda rise: down - self.preload(length, lift, rise), _WIDEST_RISE_MM)

    def gap(self, length: float, lifter_up: float) -> float:
        """The gap at the valve, drawn down, the lifter's cup so far up; below 0: tight."""
        top = self._heel_top() + lifter_up
        swing = _solve(lambda s: top - self._lifter_top(length, 0.0, s), _WIDEST_SWING)
        return self._tip(swing) - self._tip(0.0)

    def _tip(self, swing: float) -> float:
        return self.valve_arm * sin(self.valve_slant + swing)

    def _lifter_top(self, length: float, rise: float, swing: float) -> float:
        angle = self.pushrod_slant - swing
        across = self.pushrod_arm * (cos(angle) - cos(self.pushrod_slant)) + self.lean
        return rise + self.pushrod_arm * sin(angle) - sqrt(length * length - across * across)

    def _heel_top(self) -> float:
        return self._lifter_top(self.touching, 0.0, 0.0)


def _solve(rises: Callable[[float], float], most: float) -> float:
    """Where a rising function passes 0, between -most and most."""
    low, high = -most, most
    for _ in range(50):
        middle = (low + high) / 2
        if rises(middle) < 0:
            low = middle
        else:
            high = middle
    return (low + high) / 2


FIRST_PRELOAD_MM = 0.30  # what trial pushrods leave which are too short
TOO_LONG_MM = 1.6  # how far trial pushrods that are too long go over the middle of the window
LENGTH_OFF_MM = 1.5
CUP_MM = 50.0
CUPS_DIFFER_MM = 0.75
SEAT_TURNS = (0.07, 0.17)
LIFTERS = ("dry", "soaked", "pumped", "used")
_BLEEDS = {"dry": 0.5, "soaked": 5.0, "pumped": 15.0, "used": 15.0}
"""Seconds in which a plunger comes back all but a third of the way, once it is unloaded."""

# One standard deviation of each:
LIKE_MM = 0.15  # an engine's height against one like it
SCATTER_MM = 0.08  # a valve's height against its neighbors
ZERO_LASH_MM = 0.02  # a zero lash found by feel, at the pushrod
CALIPER_MM = 0.01


@dataclass(frozen=True)
class Truth:
    """What is so in the virtual engine; everything in it follows from its seed.

    `seat_turns` move no plunger. `centers`: crank angle of each cylinder's TDC on compression.
    `window`: the sheet's, in mm of preload or in turns. The hydraulic cup stands `CUP_MM` high.
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
    screws: bool
    cup_solid_mm: float

    @property
    def travel_mm(self) -> float:
        """Plunger travel for the last turn before a rocker is drawn down, the mean of all."""
        rockers = self.rockers.values()
        return fmean(
            r.preload(r.touching) - r.preload(r.touching, rise=self.pitch_mm) for r in rockers
        )

    def lift_mm(self, valve: Valve, crank_deg: float) -> float:
        """How far its lobe lifts a valve's lifter at a crank angle; 0 on the heel."""
        return self.lobes[valve.kind].lift_mm(crank_deg - self.centers[valve.cylinder])

    def preload_mm(self, valve: Valve, pushrod_mm: float, lift_mm: float = 0.0) -> float:
        """True preload at the click; below 0 where lash is left."""
        return self.rockers[valve].preload(pushrod_mm, lift_mm)

    def turns(
        self, valve: Valve, pushrod_mm: float, lift_mm: float = 0.0, down_mm: float = 0.0
    ) -> float:
        """True turns from zero lash, the plunger `down_mm` down, to the click; 0 with lash left."""
        rise = self.rockers[valve].rise_at(pushrod_mm, down_mm, lift_mm)
        return 0.0 if rise <= 0 else self.seat_turns + rise / self.pitch_mm

    def preload_after_mm(self, valve: Valve, pushrod_mm: float, turns_given: float) -> float:
        """True preload after turns of an adjuster from zero lash, on the heel."""
        rocker = self.rockers[valve]
        if self.screws:
            return rocker.preload(rocker.touching + turns_given * self.pitch_mm)
        rise = rocker.rise_at(pushrod_mm, 0.0)
        return rocker.preload(pushrod_mm, rise=rise - turns_given * self.pitch_mm)

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
    trials: str = TRIALS_SHORT,
) -> Truth:
    """Draw an engine's true dimensions.

    The setup's pushrods are about right; where some are tried and bought, as `trials` says, or too
    long. For a re-check each valve is about as it was left.
    """
    chance = random.Random(f"dimensions {seed}")
    rocker, lifter, rounds = setup.rocker, setup.lifter, METHODS[method]
    assert rocker is not None
    assert lifter is not None
    pitch = rocker.figure("thread") or 1.25
    arm = chance.uniform(34.0, 42.0)
    ratio = rocker.ratio * (1 + chance.uniform(-0.015, 0.015))
    slants = chance.uniform(-0.10, 0.14), chance.uniform(-0.14, 0.10)
    lean = chance.uniform(2.0, 16.0)
    seat = chance.uniform(*SEAT_TURNS)
    sheet = setup.window_sheet()
    of_turns, window = sheet.turns is not None, sheet.turns or sheet.preload_mm or (0.0, 0.0)
    wanted = sum(window) / 2
    if of_turns:
        wanted = (wanted - seat) * pitch * (1 + 1 / ratio)
    stands = chance.gauss(0.0, LIKE_MM) if trials == LIKE_BEFORE else 0.0
    if rounds.buys and rounds.clicks and trials != LIKE_BEFORE:
        wanted = FIRST_PRELOAD_MM if trials == TRIALS_SHORT else wanted + TOO_LONG_MM
    left = {each.valve: each for each in setup.reading} if method == "recheck" else {}
    faults = {p.valve: p.fault for p in planted if isinstance(p.fault, EngineFault)}
    rockers, centers = {}, dead_centers(setup.engine)
    for valve in sorted(Valve(cylinder, kind) for cylinder in centers for kind in ValveKind):
        first = setup.pushrods.length(valve.kind) if setup.pushrods else 180.0
        right = first + stands + chance.gauss(0.0, scatter_mm)
        right += LENGTH_OFF_MM if faults.get(valve) is EngineFault.LENGTH_OFF else 0.0
        own = ratio * (1 + chance.gauss(0.0, 0.003))
        touching = right - wanted
        if (then := left.get(str(valve))) and then.pushrod and then.turns is not None:
            given = max(turns(then.turns) + chance.uniform(0.0, 0.1) - seat, 0.0)
            touching = length_mm(then.pushrod) - given * pitch * (1 + 1 / ratio)
        rockers[valve] = Rocker(arm, arm / own, *slants, lean, touching)
    cam, at_lift_mm = setup.cam, 0.15
    if cam is None or cam.known is False:  # some usual one
        cam = CamTable(
            intake_duration=chance.uniform(245, 285),
            exhaust_duration=chance.uniform(250, 290),
            lobe_separation=chance.uniform(106, 115),
            intake_centerline=chance.uniform(102, 111),
        )
    elif cam.at_lift:
        at_lift_mm = length_mm(cam.at_lift)
    cups = random.Random(f"cups {seed}")
    return Truth(
        seed=seed,
        rockers=rockers,
        pitch_mm=pitch,
        seat_turns=seat if rounds.reads != "turns" or rounds.clicks else 0.0,
        plunger_mm=length_mm(lifter.plunger_travel) if lifter.plunger_travel else 5.0,
        planted=faults,
        slips={p.valve: p.fault for p in planted if isinstance(p.fault, HandSlip)},
        lifters=LIFTERS[seed % len(LIFTERS)] if method != "recheck" else "used",
        lobes=lobes(cam, at_lift_mm),
        centers=centers,
        window=window,
        window_in_turns=of_turns,
        screws=rocker.mount == "shaft",
        cup_solid_mm=CUP_MM + cups.uniform(-CUPS_DIFFER_MM, CUPS_DIFFER_MM),
    )
