"""The turn to a position: how far, where it ends, and what is seen on the way."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from heelwise.valvetrain.arcs import wrap
from heelwise.valvetrain.cam import ANY_CAM, Cam
from heelwise.valvetrain.damper import tape_mm
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.landmarks import SHOWN_DEG, degrees, landmark
from heelwise.valvetrain.motion import RISES_AND_FALLS, STAYS_STILL, Seen, see
from heelwise.valvetrain.sightings import proof, proof_for_any_cam
from heelwise.valvetrain.valves import Valve

__all__ = ["Seen", "Turn", "landmark", "turn_to", "turns_in_words"]

_QUARTERS = ("no turn", "a quarter turn", "half a turn", "three quarters of a turn")


@dataclass(frozen=True)
class Turn:
    """A turn of the crank in the direction of rotation.

    Attributes:
        turn_deg: degrees, 0 to below 720.
        revolutions_text: the same in turns, in words.
        tape_mm: distance along the damper's rim for what is left of it after whole turns, in
            mm; None if the damper's diameter is not known.
        landmark: where it ends, in words.
        seen: what the lifters do on the way, by valve; with the cam not known only those that
            do so with any cam.
        proof: the fewest sightings that prove the revolution and the heel, in words.
    """

    turn_deg: float
    revolutions_text: str
    tape_mm: float | None
    landmark: str
    seen: tuple[Seen, ...]
    proof: str


def turn_to(
    engine: Engine,
    cam: Cam | None,
    from_deg: float,
    to_deg: float,
    valves: Collection[Valve] = (),
) -> Turn:
    """Describe the turn from one crank angle to another.

    Args:
        engine: the engine.
        cam: the cam; None if not known.
        from_deg: crank angle now, in degrees.
        to_deg: crank angle to go to, in degrees.
        valves: valves to be worked on there: the proof speaks of them if it can.

    Returns:
        The turn, forward only; no turn if the crank is already there.
    """
    deg = wrap(to_deg - from_deg)
    seen = tuple(see(engine, cam or ANY_CAM, valve, from_deg, deg) for valve in engine.valves)
    if cam is None:
        # With the widest of lobes only these are certain to happen with a narrower one.
        seen = tuple(each for each in seen if each.what in (RISES_AND_FALLS, STAYS_STILL))
        proved_by = proof_for_any_cam(engine, deg, to_deg)
    else:
        proved_by = proof(engine, cam, seen, from_deg, to_deg, valves)
    diameter = engine.damper_diameter_mm
    return Turn(
        turn_deg=deg,
        revolutions_text=turns_in_words(deg),
        tape_mm=None if diameter is None else tape_mm(diameter, deg % 360.0),
        landmark=landmark(engine, to_deg),
        seen=seen,
        proof=proved_by,
    )


def turns_in_words(deg: float) -> str:
    """Degrees of turning as turns of the crank.

    Args:
        deg: degrees, 0 to below 720.

    Returns:
        Such as "a quarter turn", "0.18 of a turn", "1 turn" or "1 turn and 90°".
    """
    if deg >= 360.0 - SHOWN_DEG:
        past = deg - 360.0
        return "1 turn" if past < SHOWN_DEG else f"1 turn and {degrees(past)}"
    quarters = round(deg / 90.0)
    if abs(deg - 90.0 * quarters) < SHOWN_DEG:
        return _QUARTERS[quarters]
    return f"{deg / 360.0:.2f} of a turn"
