"""The form's fields of [pushrods] and [wrench]."""

from __future__ import annotations

from heelwise.documents.form_fields import (
    HYDRAULIC,
    MOUNTED,
    READ,
    STUD,
    TORQUED,
    FormField,
    always,
    both,
    either,
    filled,
    holds,
    same,
    unless,
)

_SOLD, _ON_HAND = holds("pushrods._to_be_had", "sold"), holds("pushrods._to_be_had", "on hand")
_WRENCH = tuple(filled(f"wrench.{key}") for key in ("least", "most", "calibrated", "length"))
_LENGTH_SETS_PRELOAD = both(HYDRAULIC, MOUNTED, unless(STUD))
PUSHRODS_FIELDS = (
    *(
        FormField(
            f"pushrods.{kind}",
            f"{kind.capitalize()} pushrod",
            "length",
            "The length in the engine or to begin with: 7.400 in, 187.96 mm.",
            needed=always,
            source=READ,
        )
        for kind in ("intake", "exhaust")
    ),
    FormField(
        "pushrods._to_be_had",
        "Lengths to be had",
        "choice",
        "Here the length sets the preload: the walk picks from the lengths sold or on hand.",
        same("sold", "on hand"),
        fits=_LENGTH_SETS_PRELOAD,
        without="the walk can judge, but can't name the pushrods to buy",
    ),
    *(
        FormField(
            f"pushrods.sold_{key}",
            label,
            "length",
            hint,
            fits=both(_LENGTH_SETS_PRELOAD, _SOLD),
            needed=always,
        )
        for key, label, hint in (
            ("from", "Sold from", "The shortest length sold: 7.100 in."),
            ("to", "Sold to", "The longest length sold: 7.600 in."),
            ("step", "In steps of", "From one length to the next: 0.025 in, 0.050 in."),
        )
    ),
    FormField(
        "pushrods.on_hand",
        "On hand",
        "lengths",
        "Each with its unit, a comma and a space between: 7.300 in, 8 of 7.325 in.",
        fits=both(_LENGTH_SETS_PRELOAD, _ON_HAND),
        needed=always,
        source=READ,
    ),
)

WRENCH_FIELDS = (
    FormField(
        "wrench.name",
        "Name",
        "words",
        "What the torque wrench is called in the record: bench click wrench.",
        fits=TORQUED,
        needed=either(*_WRENCH),
        without="the sheet names no wrench",
    ),
    *(
        FormField(
            f"wrench.{key}",
            f"{key.capitalize()} setting",
            "torque",
            f"The {key} it can be set to: {example}.",
            fits=TORQUED,
            without="its range is not told",
        )
        for key, example in (("least", "10 lbf ft"), ("most", "75 lbf ft"))
    ),
    FormField(
        "wrench.calibrated",
        "Last calibrated",
        "date",
        "Year, month, day: 2026-03-02.",
        fits=TORQUED,
        without="the sheet says so: calibration not stated",
    ),
    *(
        FormField(
            f"wrench.{key}",
            label,
            "length",
            hint,
            fits=TORQUED,
            needed=filled(f"wrench.{other}"),
            without="no adapter in line: the torque is what is set",
            source=READ,
        )
        for key, other, label, hint in (
            ("length", "adapter", "Grip to drive", "With an adapter in line: 18 in, 450 mm."),
            ("adapter", "length", "Drive to bolt", "The adapter's own length in line: 2 in."),
        )
    ),
)
