"""How high the hydraulic lifter's cup stands above the solid checking lifter's."""

from __future__ import annotations

from heelwise.documents import quantities
from heelwise.documents.entries import AnyEntry, Measured
from heelwise.valvetrain.checking import MOST_APART_MM
from heelwise.walk.prompts import Refused
from heelwise.walk.scene import Scene

CUPS = ("cup_hydraulic", "cup_solid")
"""What the steps fill that ask the two heights: the hydraulic lifter's, the solid one's."""


def cups_said(scene: Scene, fills: str, reading: str) -> str:
    """What a cup height comes to with the other one, in words; empty before that is known.

    Args:
        scene: The moment, with any earlier height in it.
        fills: What the step at hand fills, one of `CUPS`.
        reading: Its height, as typed: a length.

    Raises:
        Refused: If it is 0, or too far from the other one.
    """
    heights = {name: _height(scene, name) for name in CUPS}
    heights[fills] = quantities.length_mm(reading)
    if heights[fills] == 0:
        raise Refused(f"{reading} is no height", "the cup's height over the foot or roller")
    hydraulic, solid = (heights[name] for name in CUPS)
    if hydraulic is None or solid is None:
        return ""
    if abs(hydraulic - solid) > MOST_APART_MM:
        apart = quantities.show_length(abs(hydraulic - solid), "in")
        raise Refused(
            f"{reading} makes the two heights {apart} apart",
            "both over the foot or roller with one gauge; cross the other out if that is wrong",
        )
    said = above_said(hydraulic - solid)
    return f"{said[0].upper()}{said[1:]}."


def cup_above_mm(scene: Scene) -> float | None:
    """The hydraulic cup's height less the solid one's in mm; None before both are known."""
    hydraulic, solid = (_height(scene, name) for name in CUPS)
    return None if hydraulic is None or solid is None else hydraulic - solid


def cup_numbers(scene: Scene) -> tuple[int, ...]:
    """The entries that give the two heights: lengths found by the solid lifter rest on both."""
    found = (_entry(scene, name) for name in CUPS)
    return tuple(entry.number for entry in found if entry is not None)


def above_said(mm: float) -> str:
    """Which cup stands higher, in words.

    Args:
        mm: The hydraulic one's height less the solid one's.
    """
    shown = quantities.show_length(abs(mm), "in")
    if abs(mm) < 0.0005 * 25.4:
        return "the two cups stand equally high"
    return f"the hydraulic cup stands {shown} {'higher' if mm > 0 else 'lower'} than the solid one"


def _height(scene: Scene, fills: str) -> float | None:
    entry = _entry(scene, fills)
    if entry is None or not isinstance(entry.body, Measured):
        return None
    return quantities.length_mm(entry.body.reading)


def _entry(scene: Scene, fills: str) -> AnyEntry | None:
    steps = scene.build.steps("prepare", "build")
    found = (scene.standing.step(step.id) for step in steps if step.fills == fills)
    return next((entry for entry in found if entry is not None), None)
