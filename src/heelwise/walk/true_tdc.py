"""True TDC out of two piston-stop readings, on a degree wheel or with a tape on the damper."""

from __future__ import annotations

from heelwise.documents import quantities
from heelwise.documents.entries import Measured
from heelwise.valvetrain.truetdc import true_tdc
from heelwise.walk.prompts import Refused
from heelwise.walk.scene import Scene

LAST_READINGS = ("wheel_second", "tape_between")
"""What the steps fill whose reading lets true TDC be worked out."""


def true_tdc_said(scene: Scene, fills: str, reading: str) -> str:
    """Where true TDC lies, in words.

    Args:
        scene: The moment, with any earlier reading in it.
        fills: What the step at hand fills, one of `LAST_READINGS`.
        reading: Its reading, as typed.

    Raises:
        Refused: If the readings can't be bisected.
    """
    if fills == "tape_between":
        half = quantities.length_mm(reading) / 2
        inches, mm = quantities.show_length(half, "in"), quantities.show_length(half, "mm")
        return f"True TDC is {inches} ({mm}) from A towards B: half of {reading}."
    first = _reading(scene, "wheel_first")
    if first is None:
        raise Refused("the first reading is missing", "take both readings again")
    try:
        at = true_tdc(quantities.degrees(first), quantities.degrees(reading))
    except ValueError as error:
        raise Refused(str(error), "take both readings again") from None
    return f"True TDC reads {at:.1f}° on the wheel: midway between {first} and {reading}."


def known_true_tdc(scene: Scene) -> str:
    """What was worked out of the readings taken so far, or an empty text."""
    for fills in LAST_READINGS:
        reading = _reading(scene, fills)
        if reading is not None:
            try:
                return true_tdc_said(scene, fills, reading)
            except Refused:
                return ""  # the reading it goes with was crossed out: it is asked again
    return ""


def _reading(scene: Scene, fills: str) -> str | None:
    """The reading a step that fills this was answered with."""
    for step in scene.build.procedure.steps:
        entry = scene.standing.step(step.id) if step.fills == fills else None
        if entry is not None and isinstance(entry.body, Measured):
            return entry.body.reading
    return None
