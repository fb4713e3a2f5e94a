"""The fields of a setup as a form asks for them: data, a row a field, in the order of the form.

To add one: a row here, in its table's place. The form's screen, the writer and the checks follow.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from heelwise.documents.quantities import QuantityFault, length_mm
from heelwise.documents.setup_tables import EVENT_KEYS, TIMING_KEYS
from heelwise.valvetrain.cam import AS_IS_UP_TO_MM, RAMP_ALLOWANCE_DEG
from heelwise.valvetrain.growth import MATERIALS
from heelwise.valvetrain.solid import CHART_MM, CHART_SOURCE

Typed = Mapping[str, str]
"""What stands in the fields, by `table.key`; a choice by its value."""

NO_CARD = "none"
"""Stands in engine.card where no card fits and the firing order is typed."""

SHEET, READ, CARD = "the maker's sheet", "a reading", "the engine card"

TABLES: Mapping[str, str] = {
    "file": "File",
    "engine": "Engine",
    "cam": "Cam",
    "rocker": "Rocker",
    "lifter": "Lifter",
    "lash": "Lash",
    "pushrods": "Pushrods",
    "wrench": "Torque wrench",
}
"""The groups of fields in their order; all but the first are tables of the setup."""


def _always(typed: Typed) -> bool:
    return True


def _never(typed: Typed) -> bool:
    return False


def _is(where: str, *values: str) -> Callable[[Typed], bool]:
    return lambda typed: typed.get(where, "") in values


def _has(where: str) -> Callable[[Typed], bool]:
    return lambda typed: bool(typed.get(where, "").strip())


def _all(*rules: Callable[[Typed], bool]) -> Callable[[Typed], bool]:
    return lambda typed: all(rule(typed) for rule in rules)


def _any(*rules: Callable[[Typed], bool]) -> Callable[[Typed], bool]:
    return lambda typed: any(rule(typed) for rule in rules)


def _not(rule: Callable[[Typed], bool]) -> Callable[[Typed], bool]:
    return lambda typed: not rule(typed)


@dataclass(frozen=True)
class FormField:
    """One field.

    Attributes:
        where: `table.key`. A key beginning with _ steers the form and is not written.
        label: What it is called on the form.
        reads: How its text is read: "name", "words", "card", "order", "choice", "number",
            "degrees", "length", "lengths", "torque", "turns", "thread" or "date".
        hint: What is wanted, with an example.
        choices: Of a choice, the values and what each is called.
        fits: Whether it is offered beside what stands in the other fields.
        needed: Whether the setup can't be used without it.
        without: What leaving it out means, where it may be.
        source: Where a figure typed here is taken to come from.
    """

    where: str
    label: str
    reads: str
    hint: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    fits: Callable[[Typed], bool] = _always
    needed: Callable[[Typed], bool] = _never
    without: str = ""
    source: str = SHEET

    @property
    def table(self) -> str:
        """The table it is written in."""
        return self.where.partition(".")[0]

    @property
    def key(self) -> str:
        """Its key there."""
        return self.where.partition(".")[2]

    @property
    def written(self) -> bool:
        """Whether it is written as it stands."""
        return self.table != "file" and not self.key.startswith("_")


def _same(*values: str) -> tuple[tuple[str, str], ...]:
    return tuple((value, value) for value in values)


_HYDRAULIC = _is("lifter.kind", "hydraulic roller", "hydraulic flat tappet")
_SOLID = _is("lifter.kind", "solid roller", "solid flat tappet")
_MOUNTED = _has("rocker.mount")
_STUD = _is("rocker.mount", "stud")
_TORQUED = _is("rocker.mount", "bolt-down", "shaft")
_TIMING, _EVENTS = _is("cam._form", "timing"), _is("cam._form", "events")
_OWN_ORDER = _is("engine.card", NO_CARD)
_SOLD, _ON_HAND = _is("pushrods._to_be_had", "sold"), _is("pushrods._to_be_had", "on hand")
_PRELOAD = _any(_has("lifter.least_preload"), _has("lifter.most_preload"))
_HOT = _all(_SOLID, _is("lash.measured", "hot"))
_CHART, _GROWN = _is("lash._growth", "chart"), _is("lash._growth", "materials")
_WRENCH = tuple(_has(f"wrench.{key}") for key in ("least", "most", "calibrated"))


def _high_up(typed: Typed) -> bool:
    """Whether a cam's figures were taken so far up that the lobe's ends lie further out."""
    try:
        return length_mm(typed.get("cam.at_lift", "")) > AS_IS_UP_TO_MM
    except QuantityFault:
        return True


_ENGINE = (
    FormField(
        "file.name",
        "Name of the setup",
        "name",
        "What its file is called: letters, digits and dashes, like block-12.",
        needed=_always,
    ),
    FormField(
        "engine.card",
        "Engine card",
        "card",
        f"Type cylinders or firing order: v8, or 1-8-4-3. Where no card fits: {NO_CARD}.",
        needed=_always,
        source=CARD,
    ),
    FormField(
        "engine.firing_order",
        "Firing order",
        "order",
        "Cylinder numbers in firing order, like 1-3-4-2; taken as evenly spaced.",
        fits=_OWN_ORDER,
        needed=_always,
    ),
    FormField(
        "engine.rotation",
        "Turns, from the front",
        "choice",
        "Which way the crank turns, seen from the front.",
        _same("clockwise", "counterclockwise"),
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

_CAM = (
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
        needed=_always,
    ),
    *(
        FormField(f"cam.{key}", label, "degrees", hint, fits=_TIMING, needed=_always)
        for key, (label, hint) in zip(TIMING_KEYS, _TIMING_LABELS, strict=True)
    ),
    *(
        FormField(f"cam.{key}", label, "degrees", hint, fits=_EVENTS, needed=_always)
        for key, (label, hint) in zip(EVENT_KEYS, _EVENT_LABELS, strict=True)
    ),
    FormField(
        "cam.advance",
        "Advance",
        "degrees",
        "Crank degrees the cam is advanced beyond these figures; negative: retarded.",
        fits=_TIMING,
        without="0°",
    ),
    FormField(
        "cam.at_lift",
        "Figures taken at lift",
        "length",
        "Lift at the lifter at which the card's figures hold: 0.006 in, 0.050 in, 1 mm.",
        fits=_any(_TIMING, _EVENTS),
        without="taken as above 0.010 in: each lobe is widened at both ends",
    ),
    FormField(
        "cam.ramp_allowance",
        "Ramp allowance",
        "degrees",
        "Degrees added to each end of each lobe, as the figures start above 0.010 in of lift.",
        fits=_all(_any(_TIMING, _EVENTS), _high_up),
        without=f"{RAMP_ALLOWANCE_DEG:g}°: common practice, from memory",
    ),
)

_ROCKER = (
    FormField(
        "rocker.mount",
        "Mount",
        "choice",
        "Bolt-down: torqued at a fixed height. Stud: a nut sets it. Shaft: shared stands.",
        _same("bolt-down", "stud", "shaft"),
        needed=_always,
    ),
    FormField(
        "rocker.ratio", "Ratio", "number", "Valve lift over lobe lift, like 1.6.", needed=_always
    ),
    FormField(
        "rocker.thread",
        "Thread",
        "thread",
        "Of the bolt, stud or screw that is turned, with its pitch: 5/16-18, 3/8-24, M8x1.25.",
        fits=_MOUNTED,
        needed=_all(_HYDRAULIC, _not(_has("lifter.travel_per_turn"))),
        without="the travel per turn is not worked out",
    ),
    FormField(
        "rocker.torque",
        "Torque",
        "torque",
        "The rocker bolts' torque: 21 lbf ft, 28 N·m.",
        fits=_TORQUED,
        needed=_not(_SOLID),
        without='called "the sheet\'s torque"',
    ),
)

_LIFTER = (
    FormField(
        "lifter.kind",
        "Kind",
        "choice",
        "As its sheet calls it.",
        _same("hydraulic roller", "hydraulic flat tappet", "solid roller", "solid flat tappet"),
        needed=_always,
    ),
    FormField(
        "lifter.least_turns",
        "Least turns",
        "turns",
        "From zero lash: 3/4, 0.75 or 270°. Or leave both and give the preload below.",
        fits=_HYDRAULIC,
        needed=_any(_has("lifter.most_turns"), _not(_PRELOAD)),
        without="the preload below is the window",
    ),
    FormField(
        "lifter.most_turns",
        "Most turns",
        "turns",
        "From zero lash: 1 1/4, 1.25 or 450°.",
        fits=_HYDRAULIC,
        needed=_any(_has("lifter.least_turns"), _not(_PRELOAD)),
        without="the preload below is the window",
    ),
    FormField(
        "lifter.least_preload",
        "Least preload",
        "length",
        "Plunger travel from the retainer: 0.020 in, 0.5 mm.",
        fits=_HYDRAULIC,
        needed=_has("lifter.most_preload"),
        without="the turns above are the window",
    ),
    FormField(
        "lifter.most_preload",
        "Most preload",
        "length",
        "Plunger travel from the retainer: 0.060 in, 1.5 mm.",
        fits=_HYDRAULIC,
        needed=_has("lifter.least_preload"),
        without="the turns above are the window",
    ),
    FormField(
        "lifter.travel_per_turn",
        "Travel per turn",
        "length",
        "Plunger travel for one turn, where the sheet gives it: 0.052 in.",
        fits=_HYDRAULIC,
        without="worked out from thread and ratio; trials measure it",
    ),
    FormField(
        "lifter.plunger_travel",
        "Plunger travel",
        "length",
        "The plunger's whole travel: 0.185 in, 4.7 mm.",
        fits=_HYDRAULIC,
        needed=_is("rocker.mount", "shaft"),
        without="never past: the window's most and half a turn",
    ),
    FormField(
        "lifter.seat_turns",
        "Seating turns",
        "turns",
        "Turns that seat the rocker and stretch the bolt before the plunger moves: 1/8.",
        fits=_HYDRAULIC,
        without="0 turns",
    ),
)

_METAL = _same(*MATERIALS)
_STACKED = _all(_HOT, _GROWN)
_LASH = (
    *(
        FormField(
            f"lash.{kind}",
            f"{kind.capitalize()} lash",
            "length",
            "At the valve: 0.020 in, 0.5 mm.",
            fits=_SOLID,
            needed=_always,
        )
        for kind in ("intake", "exhaust")
    ),
    FormField(
        "lash.measured",
        "Specified",
        "choice",
        "Whether the sheet's lash is for a hot or a cold engine.",
        _same("hot", "cold"),
        fits=_SOLID,
        needed=_always,
    ),
    FormField(
        "lash._growth",
        "Hot to cold by",
        "choice",
        f"The chart is {CHART_SOURCE}. Materials: worked out from what grows.",
        _same("chart", "materials"),
        fits=_HOT,
        needed=_always,
    ),
    FormField(
        "lash.chart",
        "Line of the chart",
        "choice",
        f"From {CHART_SOURCE}.",
        _same(*CHART_MM),
        fits=_all(_HOT, _CHART),
        needed=_always,
    ),
    *(
        field
        for part, label in (("block", "Block"), ("heads", "Heads"))
        for field in (
            FormField(f"lash.{part}", label, "choice", "Its material.", _METAL, _STACKED, _always),
            FormField(
                f"lash.{part}_length",
                f"{label}, height",
                "length",
                "The height of it that carries the rocker up: 9 in, 230 mm.",
                fits=_STACKED,
                needed=_always,
                source=READ,
            ),
        )
    ),
    FormField("lash.pushrod", "Pushrods", "choice", "Their material.", _METAL, _STACKED, _always),
    FormField(
        "lash.tolerance",
        "Tolerance",
        "length",
        "How far a lash may be off either way: 0.001 in.",
        fits=_SOLID,
        without="the procedure's",
    ),
)

_LENGTH_SETS_PRELOAD = _all(_HYDRAULIC, _MOUNTED, _not(_STUD))
_PUSHRODS = (
    *(
        FormField(
            f"pushrods.{kind}",
            f"{kind.capitalize()} pushrod",
            "length",
            "The length in the engine or to begin with: 7.400 in, 187.96 mm.",
            needed=_always,
            source=READ,
        )
        for kind in ("intake", "exhaust")
    ),
    FormField(
        "pushrods._to_be_had",
        "Lengths to be had",
        "choice",
        "Here the length sets the preload: the walk picks from the lengths sold or on hand.",
        _same("sold", "on hand"),
        fits=_LENGTH_SETS_PRELOAD,
        without="the walk can judge, but can't name the pushrods to buy",
    ),
    *(
        FormField(
            f"pushrods.sold_{key}",
            label,
            "length",
            hint,
            fits=_all(_LENGTH_SETS_PRELOAD, _SOLD),
            needed=_always,
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
        "Each with its unit, a comma and a space between: 7.300 in, 7.325 in.",
        fits=_all(_LENGTH_SETS_PRELOAD, _ON_HAND),
        needed=_always,
        source=READ,
    ),
)

_WRENCH_TABLE = (
    FormField(
        "wrench.name",
        "Name",
        "words",
        "What the torque wrench is called in the record: bench click wrench.",
        fits=_TORQUED,
        needed=_any(*_WRENCH),
        without="the sheet names no wrench",
    ),
    *(
        FormField(
            f"wrench.{key}",
            f"{key.capitalize()} setting",
            "torque",
            f"The {key} it can be set to: {example}.",
            fits=_TORQUED,
            without="its range is not told",
        )
        for key, example in (("least", "10 lbf ft"), ("most", "75 lbf ft"))
    ),
    FormField(
        "wrench.calibrated",
        "Last calibrated",
        "date",
        "Year, month, day: 2026-03-02.",
        fits=_TORQUED,
        without="the sheet says so: calibration not stated",
    ),
)

FIELDS: tuple[FormField, ...] = (
    *_ENGINE,
    *_CAM,
    *_ROCKER,
    *_LIFTER,
    *_LASH,
    *_PUSHRODS,
    *_WRENCH_TABLE,
)
"""Every field, in the order of the form."""

FIELD: Mapping[str, FormField] = {field.where: field for field in FIELDS}
"""Every field by `table.key`."""


def fitting(typed: Typed) -> list[FormField]:
    """The fields to offer beside what stands in them.

    Args:
        typed: What stands in the fields.

    Returns:
        They in the order of the form.
    """
    return [field for field in FIELDS if field.fits(typed)]


def missing(typed: Typed) -> list[FormField]:
    """The fields that are needed and empty.

    Args:
        typed: What stands in the fields.

    Returns:
        They in the order of the form.
    """
    return [
        field
        for field in fitting(typed)
        if field.needed(typed) and not typed.get(field.where, "").strip()
    ]
