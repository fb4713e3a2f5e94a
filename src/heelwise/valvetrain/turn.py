"""The turn to a position: where it ends, what the lifters do on the way, and what proves it."""

import math
from collections.abc import Collection
from dataclasses import dataclass
from fractions import Fraction

from heelwise.valvetrain.cam import SLACK, Cam, margin, open_arc
from heelwise.valvetrain.engine import CYCLE, Engine, Valve, ValveKind, wrap
from heelwise.wording import listed

SHOWN_DEG = 0.05  # angles are shown to a tenth of a degree: nearer than this is the same place
PLAINLY_UP_DEG = 40.0  # so far from either lobe end a lifter is seen up: common practice, no source
PLAINLY_STILL_DEG = 5.0  # a lifter still for so many degrees is seen to be
NOTHING_TELLS = (
    "Nothing seen here tells the two revolutions apart: "
    "count the turns from cylinder 1 at TDC on compression"
)

RISES_AND_FALLS = "rises and falls"
FALLS = "falls"
STAYS_STILL = "stays still"

_REVOLUTION = 360.0


@dataclass(frozen=True)
class Seen:
    """What a lifter does during a turn, and how long it is still on its heel at the end of it."""

    valve: Valve
    what: str
    last_still_deg: float


@dataclass(frozen=True)
class Turn:
    """A turn of the crank in the direction of rotation, 0 to below 720 degrees.

    `tape_mm` is along the damper's rim, after whole turns. `proof`: what proves its end.
    """

    turn_deg: float
    revolutions_text: str
    tape_mm: float | None
    landmark: str
    proof: str


def turn_to(
    engine: Engine, cam: Cam | None, from_deg: float, to_deg: float, valves: Collection[Valve] = ()
) -> Turn:
    """The turn from one crank angle forward to another; `valves` are to be worked on there."""
    deg = wrap(to_deg - from_deg)
    if cam is None:
        proof = _proof_for_any_cam(engine, deg, to_deg)
    else:
        proof = _proof(engine, cam, from_deg, to_deg, valves)
    diameter = engine.damper_diameter_mm
    tape = None if diameter is None else tape_mm(diameter, deg % 360.0)
    return Turn(deg, turns_in_words(deg), tape, landmark(engine, to_deg), proof)


def turns_in_words(deg: float) -> str:
    """Degrees (0 to below 720) as turns of the crank: "5/6 turn", "1 turn and 90°"."""
    if deg >= 360.0 - SHOWN_DEG:
        past = deg - 360.0
        return "1 turn" if past < SHOWN_DEG else f"1 turn and {degrees(past)}"
    twelfths = round(deg / 30.0)
    if not twelfths:
        return "no turn" if deg < SHOWN_DEG else "under 1/12 turn"
    about = "" if abs(deg - 30.0 * twelfths) < SHOWN_DEG else "about "
    return f"{about}{Fraction(twelfths, 12)} turn"


def tape_mm(diameter_mm: float, deg: float) -> float:
    """Distance along a damper's rim, in mm: pi x D x degrees / 360."""
    return math.pi * diameter_mm * deg / 360.0


def true_tdc(first_deg: float, second_deg: float) -> float:
    """Reading of a degree wheel at true TDC, in [0, 360), from two touches of a piston stop.

    Midway between where the stop halts the piston turning one way and the other, the shorter way
    round; ValueError where they can't tell it.
    """
    gap = round(second_deg - first_deg, 9) % _REVOLUTION
    if gap in (0.0, _REVOLUTION):
        raise ValueError(
            "both readings are the same: turn the other way to the stop for the second"
        )
    if abs(gap - _REVOLUTION / 2.0) < 1.0:
        raise ValueError(
            "the readings are half a turn apart, so TDC can't be told from BDC: "
            "set the stop to halt the piston nearer to TDC"
        )
    shorter = gap - _REVOLUTION if gap > _REVOLUTION / 2.0 else gap
    return wrap(first_deg + shorter / 2.0) % _REVOLUTION


def landmark(engine: Engine, crank_deg: float) -> str:
    """Where a crank angle is by the cylinder whose TDC on compression is nearest.

    Of two equally near the one passed: "cylinder 6 at TDC on compression (1 at overlap)".
    """
    past = {number: _past_tdc(engine, number, crank_deg) for number in engine.firing_order}
    least = min(map(abs, past.values()))
    nearest = max(deg for deg in past.values() if abs(deg) - least < 1e-6)
    named = sorted(number for number, deg in past.items() if abs(deg - nearest) < 1e-6)
    words = f"{'cylinder' if len(named) == 1 else 'cylinders'} {listed(named)}"
    if abs(nearest) >= SHOWN_DEG:
        side = "after" if nearest > 0 else "before"
        return f"{degrees(abs(nearest))} {side} {words} TDC on compression"
    overlap = sorted(number for number, deg in past.items() if abs(abs(deg) - 360.0) < SHOWN_DEG)
    beside = f" ({listed(overlap)} at overlap)" if overlap else ""
    return f"{words} at TDC on compression{beside}"


def degrees(deg: float) -> str:
    """Degrees to a tenth, without needless decimals: "63.5°", "90°"."""
    return f"{round(deg, 1) + 0.0:g}°"


def _past_tdc(engine: Engine, cylinder: int, crank_deg: float) -> float:
    """Degrees past a cylinder's TDC on compression the shorter way, above -360 to 360."""
    past = (crank_deg - engine.phase(cylinder)) % CYCLE
    return past - CYCLE if past > _REVOLUTION else past


def seen_on_turn(engine: Engine, cam: Cam, valve: Valve, from_deg: float, turn_deg: float) -> Seen:
    """What a valve's lifter does during a turn forward from a crank angle."""
    lobe = open_arc(engine, cam, valve)
    rise = (lobe.start - from_deg) % CYCLE
    fall = rise + lobe.length
    up = fall - CYCLE > SLACK
    fall -= CYCLE if up else 0.0
    falls, rises = fall <= turn_deg + SLACK, rise < turn_deg - SLACK
    if lobe.length >= CYCLE - SLACK or (up and not falls):
        return Seen(valve, "is up all the way", 0.0)
    if up:
        what = "falls and rises" if rises else FALLS
    elif not rises:
        return Seen(valve, STAYS_STILL, turn_deg)
    else:
        what = RISES_AND_FALLS if falls else "rises"
    still = turn_deg - fall if what in (FALLS, RISES_AND_FALLS) else 0.0
    return Seen(valve, what, max(still, 0.0))


def _proof(
    engine: Engine, cam: Cam, from_deg: float, to_deg: float, valves: Collection[Valve]
) -> str:
    deg = wrap(to_deg - from_deg)
    seen = [seen_on_turn(engine, cam, valve, from_deg, deg) for valve in engine.valves]
    plain = [each for each in seen if each.last_still_deg >= PLAINLY_STILL_DEG]
    plain.sort(key=lambda each: (round(each.last_still_deg, 6), each.valve))
    mine = [
        each
        for each in plain
        if (each.valve in valves or not valves)
        and margin(engine, cam, each.valve, to_deg) >= PLAINLY_STILL_DEG
    ]
    falls = [
        each
        for each in plain
        if each.what == RISES_AND_FALLS
        or (each.what == FALLS and margin(engine, cam, each.valve, from_deg) <= -PLAINLY_UP_DEG)
    ]
    heel = mine[0] if mine else None
    fall = heel if heel in falls else next((f for f in falls if f in mine), next(iter(falls), None))
    if fall is None:
        revolution = _up_or_down(engine, cam, to_deg)
    else:
        revolution = _still(f"{fall.valve} {fall.what}, then", fall.last_still_deg)
    if heel is None or heel is fall:
        return revolution
    return f"{_still(heel.valve, heel.last_still_deg)}; {revolution}"


def _proof_for_any_cam(engine: Engine, turn_deg: float, to_deg: float) -> str:
    """What proves the end of a turn, whatever the cam of a four-stroke engine.

    An exhaust is shut all through its cylinder's compression stroke, an intake all through the
    power stroke; one revolution off the first would be falling, the second rising.
    """

    all_past = {number: _past_tdc(engine, number, to_deg) for number in engine.firing_order}
    cylinder = min(all_past, key=lambda n: (round(abs(all_past[n]), 6), -all_past[n], n))
    past = all_past[cylinder]
    if abs(past) > 180.0 - PLAINLY_STILL_DEG:
        return NOTHING_TELLS
    if past <= SLACK:
        still, moving, shut = Valve(cylinder, ValveKind.EXHAUST), "falling", 180.0 + past
    else:
        still, moving, shut = Valve(cylinder, ValveKind.INTAKE), "rising", past
    shut = min(shut, turn_deg)
    if shut < PLAINLY_STILL_DEG:
        words = f"{still} is down and stays still when the crank is moved a little"
    else:
        words = _still(still, shut)
    return f"{words}; one revolution off it would be up or {moving} there"


def _still(beginning: object, deg: float) -> str:
    # Rounded down: still for at least so many.
    return f"{beginning} {STAYS_STILL} for the last {math.floor(deg + SLACK)}°"


def _up_or_down(engine: Engine, cam: Cam, crank_deg: float) -> str:
    def plainness(valve: Valve) -> tuple[float, bool]:
        here = margin(engine, cam, valve, crank_deg)
        off = margin(engine, cam, valve, crank_deg + _REVOLUTION)
        return max(min(here, -off), min(-here, off)), here > 0.0

    valve = max(engine.valves, key=plainness)
    plainly, down = plainness(valve)
    if plainly < PLAINLY_STILL_DEG:
        return NOTHING_TELLS
    if down:
        return f"{valve} is down on its heel; one revolution off it would be up on its lobe"
    return f"{valve} is up on its lobe; one revolution off it would be down on its heel"
