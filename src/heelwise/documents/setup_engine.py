"""[engine] and [cam] of a setup: what may stand there, what the form asks, what it comes to."""

from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import Field

from heelwise.documents.faults import Fault
from heelwise.documents.fields import (
    AboveZero,
    Degrees,
    Length,
    LengthFromZero,
    ShortLine,
    Table,
    ValveName,
)
from heelwise.documents.form_rules import (
    CARD,
    READ,
    Typed,
    always,
    asked,
    both,
    either,
    holds,
)
from heelwise.documents.quantities import (
    DEGREES,
    QuantityFault,
    length_mm,
)
from heelwise.valvetrain import cam as cams
from heelwise.valvetrain.engine import Engine, check_engine, make_engine
from heelwise.wording import listed

TIMING_KEYS = ("intake_duration", "exhaust_duration", "lobe_separation", "intake_centerline")
EVENT_KEYS = (
    "intake_opens_btdc",
    "intake_closes_abdc",
    "exhaust_opens_bbdc",
    "exhaust_closes_atdc",
)

NO_CARD = "none"
"""Stands in the form's engine.card where no card fits and the firing order is typed."""


class EngineTable(Table):
    """[engine]: a card, fields of our own, or a card with some fields of our own."""

    form_title = "Engine"

    card: ShortLine | None = asked(
        "Engine card",
        f"Type cylinders or firing order: i6, or 1-5-3-6. Where no card fits: {NO_CARD}.",
        needed=always,
        source=CARD,
    )
    cylinders: Annotated[int, Field(ge=1, le=24)] | None = None
    firing_order: list[int] = asked(
        "Firing order",
        "Cylinder numbers in firing order, like 1-3-4-2; taken as evenly spaced.",
        holds("engine.card", NO_CARD),
        needed=always,
        example="firing_order = [1, 3, 4, 2]",
    )
    firing_gaps: list[float] | None = None
    banks: dict[ShortLine, list[int]] | None = None
    valve_rows: dict[ShortLine, list[ValveName]] | None = None
    rotation: Literal["clockwise", "counterclockwise"] | None = asked(
        "Turns, from the front",
        "Which way the crank turns, seen from the front.",
        holds("engine.card", NO_CARD),
        without="taken as clockwise",
    )
    damper_diameter: Length | None = asked(
        "Damper diameter",
        "For distances along a tape around the damper: 180 mm, 7.0 in.",
        without="angles only, no tape distances",
        source=READ,
    )
    damper_marks: Annotated[AboveZero | None, DEGREES] = asked(
        "Damper marks every",
        "Degrees between the marks on the damper, where it has several: 90.",
        without="the damper is drawn with the usual marks",
        source=READ,
    )

    def make(self) -> Engine:
        """Make the engine the arithmetic works on; even gaps, clockwise, one bank by default."""
        return make_engine(
            self.firing_order,
            self.firing_gaps,
            self.banks,
            self.valve_rows,
            self.rotation != "counterclockwise",
            self._diameter_mm,
            self.damper_marks,
        )

    @property
    def _diameter_mm(self) -> float | None:
        return None if self.damper_diameter is None else length_mm(self.damper_diameter)

    def own_faults(self) -> Iterator[Fault]:
        """What the arithmetic says of it."""
        if self.firing_order is None:
            return
        for problem in check_engine(
            self.firing_order,
            self.firing_gaps,
            self.banks,
            self.valve_rows,
            self.cylinders,
            self._diameter_mm,
            self.damper_marks,
        ):
            yield Fault.at(problem.field, problem)


_TIMING, _EVENTS = holds("cam._form", "timing"), holds("cam._form", "events")
_Duration = Annotated[float, Field(gt=0, lt=720), DEGREES]


def _high_up(typed: Typed) -> bool:
    """Whether a cam's figures were taken so far up that the lobe's ends lie further out."""
    try:
        return length_mm(typed.get("cam.at_lift", "")) > cams.AS_IS_UP_TO_MM
    except QuantityFault:
        return True


def _asked_timing(label: str, hint: str) -> Any:
    return asked(label, hint, _TIMING, always)


def _asked_event(label: str, hint: str) -> Any:
    return asked(label, hint, _EVENTS, always)


class CamTable(Table):
    """[cam]: a timing card's figures, the four events, one duration for both, or not known."""

    form_title = "Cam"

    known: bool | None = None
    duration: _Duration | None = None
    intake_duration: _Duration | None = _asked_timing("Intake duration", "Crank degrees, like 256.")
    exhaust_duration: _Duration | None = _asked_timing(
        "Exhaust duration", "Crank degrees, like 262."
    )
    lobe_separation: Annotated[float, Field(gt=0, lt=360), DEGREES] | None = _asked_timing(
        "Lobe separation", "Cam degrees between the lobe centers, like 110.5."
    )
    intake_centerline: Degrees | None = _asked_timing(
        "Intake centerline", "Crank degrees after TDC, like 106."
    )
    intake_opens_btdc: Degrees | None = _asked_event(
        "Intake opens BTDC", "Degrees before TDC; negative where it opens after."
    )
    intake_closes_abdc: Degrees | None = _asked_event("Intake closes ABDC", "Degrees after BDC.")
    exhaust_opens_bbdc: Degrees | None = _asked_event("Exhaust opens BBDC", "Degrees before BDC.")
    exhaust_closes_atdc: Degrees | None = _asked_event(
        "Exhaust closes ATDC", "Degrees after TDC; negative where it closes before."
    )
    at_lift: LengthFromZero | None = asked(
        "Figures taken at lift",
        "Lift at the lifter where the card's figures hold: 0.15 mm, 0.006 in, 0.050 in.",
        either(_TIMING, _EVENTS),
        without="taken as above 0.010 in: each lobe is widened at both ends",
    )
    ramp_allowance: Annotated[float, Field(ge=0, le=180), DEGREES] | None = asked(
        "Ramp allowance",
        "Degrees added to each end of each lobe, as the figures start above 0.010 in of lift.",
        both(either(_TIMING, _EVENTS), _high_up),
        without=f"{cams.RAMP_ALLOWANCE_DEG:g}°: common practice, from memory",
    )
    advance: Annotated[float, Field(ge=-90, le=90), DEGREES] | None = asked(
        "Advance",
        "Crank degrees the cam is advanced beyond these figures; negative: retarded.",
        _TIMING,
        without="0°",
    )

    def make(self) -> cams.Cam | None:
        """Make the cam the arithmetic works on, or None where it is not known."""
        timing = self.timing()
        if timing is None:
            return None
        events = cams.events_from_timing(timing, self.advance or 0.0)
        at_lift = None if self.at_lift is None else length_mm(self.at_lift)
        if self.ramp_allowance is None:
            return cams.Cam(events, at_lift)
        return cams.Cam(events, at_lift, self.ramp_allowance)

    def timing(self) -> cams.Timing | None:
        """A timing card's figures, worked out where the events are given; None if not known."""
        if self.known is False:
            return None
        if self.intake_opens_btdc is not None:
            events = cams.Events(*(getattr(self, key) for key in EVENT_KEYS))
            return cams.timing_from_events(events)
        if self.duration is not None:
            rest = (getattr(self, key) for key in TIMING_KEYS[2:])
            return cams.Timing(self.duration, self.duration, *rest)
        return cams.Timing(*(getattr(self, key) for key in TIMING_KEYS))

    def own_faults(self) -> Iterator[Fault]:
        """Two forms side by side, or one of them not whole."""
        timing = [key for key in (*TIMING_KEYS, "duration") if self.has(key)]
        events = [key for key in EVENT_KEYS if self.has(key)]
        if self.known is False:
            if timing or events:
                problem = f"known = false stands beside {', '.join(timing + events)}"
                yield Fault("known", problem, "leave one of the two out")
        elif timing and events:
            problem = f"{', '.join(timing)} and {', '.join(events)} are two forms of one thing"
            either_form = f"give either {listed(TIMING_KEYS)}, or {listed(EVENT_KEYS)}"
            yield Fault("", problem, either_form)
        elif not timing and not events:
            instead = f"give {listed(TIMING_KEYS)}, or {listed(EVENT_KEYS)}, or known = false"
            yield Fault("", "has no figures", instead)
        elif events:
            yield from self.missing(EVENT_KEYS, "the four events go together")
            yield from self._durations()
        else:
            yield from self._timing_card()

    def _timing_card(self) -> Iterator[Fault]:
        if not self.has("duration"):
            yield from self.missing(TIMING_KEYS, "a timing card's figures go together")
            return
        if both_given := [key for key in TIMING_KEYS[:2] if self.has(key)]:
            problem = f"stands beside {listed(both_given)}"
            yield Fault("duration", problem, "duration alone serves for both; leave one out")
        yield from self.missing(TIMING_KEYS[2:], "they go together with duration")

    def _durations(self) -> Iterator[Fault]:
        for opens, closes in (EVENT_KEYS[:2], EVENT_KEYS[2:]):
            first, last = getattr(self, opens), getattr(self, closes)
            if first is None or last is None or 0 < first + 180 + last < 720:
                continue
            problem = f"with {opens} = {first:g} it makes a duration of {first + 180 + last:g}°"
            yield Fault(closes, problem, "let the duration be above 0 and below 720")
