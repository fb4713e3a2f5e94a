"""What two readings of Prepare come to: true TDC from two contacts, how the two cups stand."""

from __future__ import annotations

from heelwise.documents import quantities
from heelwise.documents.steps import CUPS, TDC_READINGS, Records
from heelwise.valvetrain.lash import MOST_APART_MM
from heelwise.valvetrain.true_tdc import true_tdc
from heelwise.walk.prompts import Refused
from heelwise.walk.scene import Scene
from heelwise.wording import Length, Text, text

EQUALLY_HIGH_MM = 0.0005 * 25.4


def reading_comes_to(scene: Scene, records: Records | None, reading: str) -> Text:
    """What a reading of a step comes to with those before it, in words; "" for any other step.

    Raises:
        Refused: If it can't be right with the one it goes with.
    """
    if records in TDC_READINGS:
        return true_tdc_text(scene, records, reading)
    return _cups_text(scene, records, reading) if records in CUPS else Text("")


def true_tdc_text(scene: Scene, records: Records, reading: str) -> Text:
    """Where true TDC lies, by the last of two readings.

    Raises:
        Refused: If the readings can't be bisected.
    """
    if records is Records.TAPE_BETWEEN:
        half = Length(quantities.length_mm(reading) / 2)
        return text("True TDC is {} from A toward B: half of {}.", half, reading)
    first = _reading(scene, Records.WHEEL_FIRST)
    if not first:
        raise Refused("the first reading is missing", "take both readings again")
    try:
        at = true_tdc(quantities.degrees(first), quantities.degrees(reading))
    except ValueError as error:
        raise Refused(str(error), "take both readings again") from None
    return Text(f"True TDC reads {at:.1f}° on the wheel: midway between {first} and {reading}.")


def known_true_tdc(scene: Scene) -> Text:
    """What was worked out of the readings taken so far, or an empty text."""
    for records in TDC_READINGS:
        reading = _reading(scene, records)
        if reading:
            try:
                return true_tdc_text(scene, records, reading)
            except Refused:
                return Text("")  # the reading it goes with was crossed out: it is asked again
    return Text("")


def _reading(scene: Scene, records: Records) -> str:
    entry = scene.recorded(records)
    return entry.body.reading if entry else ""


def _cups_text(scene: Scene, records: Records, reading: str) -> Text:
    heights = {name: _height(scene, name) for name in CUPS}
    heights[records] = quantities.length_mm(reading)
    if heights[records] == 0:
        raise Refused(f"{reading} isn't a height", "the cup's height over the foot or roller")
    hydraulic, solid = (heights[name] for name in CUPS)
    if hydraulic is None or solid is None:
        return Text("")
    if abs(hydraulic - solid) > MOST_APART_MM:
        raise Refused(
            text("{} makes the two heights {} apart", reading, Length(abs(hydraulic - solid))),
            "measure both over the foot or roller with one gauge; if the other is wrong, cross "
            "it out",
        )
    return text("By both heights, {}.", above_text(hydraulic - solid))


def cup_above_mm(scene: Scene) -> float | None:
    """The hydraulic cup's height less the solid one's in mm; None before both are known."""
    hydraulic, solid = (_height(scene, name) for name in CUPS)
    return None if hydraulic is None or solid is None else hydraulic - solid


def cup_numbers(scene: Scene) -> tuple[int, ...]:
    """The entries that give the two heights: lengths found by the solid lifter rest on both."""
    entries = (scene.recorded(name) for name in CUPS)
    return tuple(entry.number for entry in entries if entry is not None)


def above_text(mm: float) -> Text:
    """Which cup stands higher, in words, by the hydraulic one's height less the solid one's."""
    if abs(mm) < EQUALLY_HIGH_MM:
        return Text("the two cups stand equally high")
    which = "higher" if mm > 0 else "lower"
    return text("the hydraulic cup stands {} {} than the solid one", Length(abs(mm)), which)


def _height(scene: Scene, records: Records) -> float | None:
    entry = scene.recorded(records)
    return None if entry is None else quantities.length_mm(entry.body.reading)
