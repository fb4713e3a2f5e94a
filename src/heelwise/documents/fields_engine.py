"""The form's fields of [engine] and [cam], and the name of the file."""

from __future__ import annotations

from heelwise.documents.form_fields import (
    CARD,
    NO_CARD,
    READ,
    FormField,
    Typed,
    always,
    both,
    either,
    holds,
    same,
)
from heelwise.documents.quantities import QuantityFault, length_mm
from heelwise.documents.setup_tables import EVENT_KEYS, TIMING_KEYS
from heelwise.valvetrain.cam import AS_IS_UP_TO_MM, RAMP_ALLOWANCE_DEG

_TIMING, _EVENTS = holds("cam._form", "timing"), holds("cam._form", "events")
_OWN_ORDER = holds("engine.card", NO_CARD)


def _high_up(typed: Typed) -> bool:
    """Whether a cam's figures were taken so far up that the lobe's ends lie further out."""
    try:
        return length_mm(typed.get("cam.at_lift", "")) > AS_IS_UP_TO_MM
    except QuantityFault:
        return True


ENGINE_FIELDS = (
    FormField(
        "file.name",
        "Name of the setup",
        "name",
        "What its file is called: letters, digits and dashes, like block-12.",
        needed=always,
    ),
    FormField(
        "engine.card",
        "Engine card",
        "card",
        f"Type cylinders or firing order: v8, or 1-8-4-3. Where no card fits: {NO_CARD}.",
        needed=always,
        source=CARD,
    ),
    FormField(
        "engine.firing_order",
        "Firing order",
        "order",
        "Cylinder numbers in firing order, like 1-3-4-2; taken as evenly spaced.",
        fits=_OWN_ORDER,
        needed=always,
    ),
    FormField(
        "engine.rotation",
        "Turns, from the front",
        "choice",
        "Which way the crank turns, seen from the front.",
        same("clockwise", "counterclockwise"),
        fits=_OWN_ORDER,
        without="taken as clockwise",
    ),
    FormField(
        "engine.damper_diameter",
        "Damper diameter",
        "length",
        "For distances along a tape round the damper: 7.25 in, 180 mm.",
        without="angles are told, no tape distances",
        source=READ,
    ),
    FormField(
        "engine.damper_marks",
        "Damper marks every",
        "degrees",
        "Degrees between the marks on the damper, where it has several: 90.",
        without="the damper is drawn with the usual marks",
        source=READ,
    ),
)

_TIMING_LABELS = (
    ("Intake duration", "Crank degrees, like 262."),
    ("Exhaust duration", "Crank degrees, like 267."),
    ("Lobe separation", "Cam degrees between the lobes' centres, like 111.5."),
    ("Intake centerline", "Crank degrees after TDC, like 107.5."),
)
_EVENT_LABELS = (
    ("Intake opens BTDC", "Degrees before TDC; negative where it opens after."),
    ("Intake closes ABDC", "Degrees after BDC."),
    ("Exhaust opens BBDC", "Degrees before BDC."),
    ("Exhaust closes ATDC", "Degrees after TDC; negative where it closes before."),
)

CAM_FIELDS = (
    FormField(
        "cam._form",
        "What the cam card has",
        "choice",
        "Not known: one cylinder at a time, right for any four-stroke cam.",
        (
            ("timing", "durations, separation, centerline"),
            ("events", "four valve events"),
            ("not known", "not known"),
        ),
        needed=always,
    ),
    *(
        FormField(f"cam.{key}", label, "degrees", hint, fits=_TIMING, needed=always)
        for key, (label, hint) in zip(TIMING_KEYS, _TIMING_LABELS, strict=True)
    ),
    *(
        FormField(f"cam.{key}", label, "degrees", hint, fits=_EVENTS, needed=always)
        for key, (label, hint) in zip(EVENT_KEYS, _EVENT_LABELS, strict=True)
    ),
    FormField(
        "cam.at_lift",
        "Figures taken at lift",
        "length",
        "Lift at the lifter at which the card's figures hold: 0.006 in, 0.050 in, 1 mm.",
        fits=either(_TIMING, _EVENTS),
        without="taken as above 0.010 in: each lobe is widened at both ends",
    ),
    FormField(
        "cam.ramp_allowance",
        "Ramp allowance",
        "degrees",
        "Degrees added to each end of each lobe, as the figures start above 0.010 in of lift.",
        fits=both(either(_TIMING, _EVENTS), _high_up),
        without=f"{RAMP_ALLOWANCE_DEG:g}°: common practice, from memory",
    ),
    FormField(
        "cam.advance",
        "Advance",
        "degrees",
        "Crank degrees the cam is advanced beyond these figures; negative: retarded.",
        fits=_TIMING,
        without="0°",
    ),
)
