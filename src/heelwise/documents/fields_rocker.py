"""The form's fields of [rocker], [lifter] and [lash]."""

from __future__ import annotations

from heelwise.documents.form_fields import (
    HYDRAULIC,
    MOUNTED,
    READ,
    SOLID,
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
from heelwise.valvetrain.growth import MATERIALS
from heelwise.valvetrain.solid import CHART_MM, CHART_SOURCE

_PRELOAD = either(filled("lifter.least_preload"), filled("lifter.most_preload"))
_HOT = both(SOLID, holds("lash.measured", "hot"))
_CHART, _GROWN = holds("lash._growth", "chart"), holds("lash._growth", "materials")

ROCKER_FIELDS = (
    FormField(
        "rocker.mount",
        "Mount",
        "choice",
        "Bolt-down: torqued at a fixed height. Stud: a nut sets it. Shaft: shared stands.",
        same("bolt-down", "stud", "shaft"),
        needed=always,
    ),
    FormField(
        "rocker.ratio", "Ratio", "number", "Valve lift over lobe lift, like 1.6.", needed=always
    ),
    FormField(
        "rocker.thread",
        "Thread",
        "thread",
        "Of the bolt, stud or screw that is turned, with its pitch: 5/16-18, 3/8-24, M8x1.25.",
        fits=MOUNTED,
        needed=both(HYDRAULIC, unless(filled("lifter.travel_per_turn"))),
        without="the travel per turn is not worked out",
    ),
    FormField(
        "rocker.torque",
        "Torque",
        "torque",
        "The rocker bolts' torque: 21 lbf ft, 28 N·m.",
        fits=TORQUED,
        needed=unless(SOLID),
        without='called "the sheet\'s torque"',
    ),
)

LIFTER_FIELDS = (
    FormField(
        "lifter.kind",
        "Kind",
        "choice",
        "As its sheet calls it.",
        same("hydraulic roller", "hydraulic flat tappet", "solid roller", "solid flat tappet"),
        needed=always,
    ),
    FormField(
        "lifter.least_turns",
        "Least turns",
        "turns",
        "From zero lash: 3/4, 0.75 or 270°. Or leave both and give the preload below.",
        fits=HYDRAULIC,
        needed=either(filled("lifter.most_turns"), unless(_PRELOAD)),
        without="the preload below is the window",
    ),
    FormField(
        "lifter.most_turns",
        "Most turns",
        "turns",
        "From zero lash: 1 1/4, 1.25 or 450°.",
        fits=HYDRAULIC,
        needed=either(filled("lifter.least_turns"), unless(_PRELOAD)),
        without="the preload below is the window",
    ),
    FormField(
        "lifter.least_preload",
        "Least preload",
        "length",
        "Plunger travel from the retainer: 0.020 in, 0.5 mm.",
        fits=HYDRAULIC,
        needed=filled("lifter.most_preload"),
        without="the turns above are the window",
    ),
    FormField(
        "lifter.most_preload",
        "Most preload",
        "length",
        "Plunger travel from the retainer: 0.060 in, 1.5 mm.",
        fits=HYDRAULIC,
        needed=filled("lifter.least_preload"),
        without="the turns above are the window",
    ),
    FormField(
        "lifter.travel_per_turn",
        "Travel per turn",
        "length",
        "Plunger travel for one turn, where the sheet gives it: 0.052 in.",
        fits=HYDRAULIC,
        without="worked out from thread and ratio; trials measure it",
    ),
    FormField(
        "lifter.plunger_travel",
        "Plunger travel",
        "length",
        "The plunger's whole travel: 0.185 in, 4.7 mm.",
        fits=HYDRAULIC,
        needed=holds("rocker.mount", "shaft"),
        without="never past: the window's most and half a turn",
    ),
    FormField(
        "lifter.seat_turns",
        "Seating turns",
        "turns",
        "Turns that seat the rocker and stretch the bolt before the plunger moves: 1/8.",
        fits=HYDRAULIC,
        without="0 turns",
    ),
)

_METAL = same(*MATERIALS)
_STACKED = both(_HOT, _GROWN)
_GROWING = both(HYDRAULIC, filled("growth.block"))
GROWTH_FIELDS = (
    FormField(
        "growth.block",
        "Block",
        "choice",
        "Its material: what preload loses or gains hot is worked out from what grows.",
        _METAL,
        HYDRAULIC,
        without="nothing is said of preload hot",
    ),
    FormField("growth.heads", "Heads", "choice", "Their material.", _METAL, _GROWING, always),
    FormField("growth.pushrod", "Pushrods", "choice", "Their material.", _METAL, _GROWING, always),
    *(
        FormField(
            f"growth.{part}_length",
            f"{label} height",
            "length",
            "The height of it that carries the rocker up: 3.5 in, 90 mm.",
            fits=_GROWING,
            needed=always,
            source=READ,
        )
        for part, label in (("block", "Block"), ("heads", "Heads"))
    ),
)

LASH_FIELDS = (
    *(
        FormField(
            f"lash.{kind}",
            f"{kind.capitalize()} lash",
            "length",
            "At the valve: 0.020 in, 0.5 mm.",
            fits=SOLID,
            needed=always,
        )
        for kind in ("intake", "exhaust")
    ),
    FormField(
        "lash.measured",
        "Specified",
        "choice",
        "Whether the sheet's lash is for a hot or a cold engine.",
        same("hot", "cold"),
        fits=SOLID,
        needed=always,
    ),
    FormField(
        "lash._growth",
        "Hot to cold by",
        "choice",
        f"Chart: {CHART_SOURCE}. Materials: worked out from what grows.",
        same("chart", "materials"),
        fits=_HOT,
        needed=always,
    ),
    FormField(
        "lash.chart",
        "Line of the chart",
        "choice",
        f"From {CHART_SOURCE}.",
        same(*CHART_MM),
        fits=both(_HOT, _CHART),
        needed=always,
    ),
    *(
        field
        for part, label in (("block", "Block"), ("heads", "Heads"))
        for field in (
            FormField(f"lash.{part}", label, "choice", "Its material.", _METAL, _STACKED, always),
            FormField(
                f"lash.{part}_length",
                f"{label} height",
                "length",
                "The height of it that carries the rocker up: 9 in, 230 mm.",
                fits=_STACKED,
                needed=always,
                source=READ,
            ),
        )
    ),
    FormField("lash.pushrod", "Pushrods", "choice", "Their material.", _METAL, _STACKED, always),
    FormField(
        "lash.tolerance",
        "Tolerance",
        "length",
        "How far a lash may be off either way: 0.001 in.",
        fits=SOLID,
        without="the procedure's",
    ),
)
