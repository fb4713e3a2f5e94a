"""[engine], [cam], [rocker] and [wrench] of a setup: what may stand there, and what it comes to."""

from collections.abc import Iterator
from datetime import date
from functools import partial
from itertools import starmap
from typing import Annotated, Literal

from pydantic import Field

from heelwise.documents import fields as f
from heelwise.documents.faults import Fault
from heelwise.documents.quantities import DEGREES, length_mm
from heelwise.valvetrain import cam as cams
from heelwise.valvetrain.engine import Engine, engine_faults, make_engine
from heelwise.valvetrain.torque import adapter_setting
from heelwise.wording import listed

TIMING_KEYS = ("intake_duration", "exhaust_duration", "lobe_separation", "intake_centerline")
EVENT_KEYS = (
    *("intake_opens_btdc", "intake_closes_abdc"),
    *("exhaust_opens_bbdc", "exhaust_closes_atdc"),
)
NO_CARD = "none"
"""Stands in the form's engine.card where no card fits and the firing order is typed."""


class EngineTable(f.Table):
    """[engine]: a card, fields of our own, or a card with some fields of our own."""

    form_title = "Engine"
    together = ((("stroke", "rod_length"), "a piston's place takes both"),)

    card: f.ShortLine | None = f.asked(
        f"Engine card | Type a layout or firing order: i6, or 1-5-3-6. If no card fits: {NO_CARD}.",
        needed=f.ALWAYS,
        source=f.CARD,
    )
    cylinders: Annotated[int, Field(ge=1, le=24)] | None = None
    firing_order: list[int] = f.asked(
        "Firing order | Cylinder numbers in firing order, like 1-3-4-2; taken as evenly spaced.",
        fits=f.holds("engine.card", NO_CARD),
        needed=f.ALWAYS,
        example="firing_order = [1, 3, 4, 2]",
    )
    firing_gaps: list[float] | None = None
    banks: dict[f.ShortLine, list[int]] | None = None
    valve_rows: dict[f.ShortLine, list[f.ValveName]] | None = None
    rotation: Literal["clockwise", "counterclockwise"] | None = f.asked(
        "Turns, from the front | Which way the crank turns, seen from the front.",
        fits=f.holds("engine.card", NO_CARD),
        without="taken as clockwise",
    )
    damper_diameter: f.Length | None = f.asked(
        "Damper diameter | For distances along a tape around the damper: 180 mm, 7.0 in.",
        without="angles only, no tape distances",
        source=f.READ,
    )
    damper_marks: Annotated[float | None, Field(gt=0), DEGREES] = f.asked(
        "Damper marks every | Degrees between the marks on the damper, where it has several: 90.",
        without="the damper is drawn with the usual marks",
        source=f.READ,
    )
    stroke: f.Length | None = f.asked(
        "Stroke | With the rod, how far pistons are down where the crank is parked: 88 mm, 3.5 in.",
        needed=f.filled("engine.rod_length"),
        without="pistons told in crank degrees",
    )
    rod_length: f.Length | None = f.asked(
        "Connecting rod | Between the centers of its bores: 150 mm, 6.0 in.",
        needed=f.filled("engine.stroke"),
        without="pistons told in crank degrees",
    )

    def make(self) -> Engine:
        """Make the engine the arithmetic works on; even gaps, clockwise, one bank by default."""
        return make_engine(
            self.firing_order,
            self.firing_gaps,
            self.banks,
            self.valve_rows,
            clockwise=self.rotation != "counterclockwise",
            damper_diameter_mm=self.figure("damper_diameter"),
            damper_marks_deg=self.damper_marks,
            stroke_mm=self.figure("stroke"),
            rod_mm=self.figure("rod_length"),
        )

    def _own_faults(self) -> Iterator[Fault]:
        yield from super()._own_faults()
        stroke, rod = self.figure("stroke"), self.figure("rod_length")
        if stroke is not None and rod is not None and rod <= stroke / 2:
            yield Fault("rod_length", "isn't more than half the stroke", "center to center")
        if self.firing_order is None:
            return
        yield from starmap(
            Fault,
            engine_faults(
                self.firing_order,
                self.firing_gaps,
                self.banks,
                self.valve_rows,
                self.cylinders,
                self.damper_marks,
            ),
        )


_TIMING, _EVENTS = f.holds("cam._form", "timing"), f.holds("cam._form", "events")
_Duration = Annotated[float, Field(gt=0, lt=720), DEGREES]
_timing_card = partial(f.asked, fits=_TIMING, needed=f.ALWAYS)
_event = partial(f.asked, fits=_EVENTS, needed=f.ALWAYS)


class CamTable(f.Table):
    """[cam]: a timing card's figures, the four events, one duration for both, or not known."""

    form_title = "Cam"

    known: bool | None = None
    duration: _Duration | None = None
    intake_duration: _Duration | None = _timing_card("Intake duration | Crank degrees, like 256.")
    exhaust_duration: _Duration | None = _timing_card("Exhaust duration | Crank degrees, like 262.")
    lobe_separation: Annotated[float, Field(gt=0, lt=360), DEGREES] | None = _timing_card(
        "Lobe separation | Cam degrees between the lobe centers, like 110.5."
    )
    intake_centerline: f.Degrees | None = _timing_card(
        "Intake centerline | Crank degrees after TDC, like 106."
    )
    intake_opens_btdc: f.Degrees | None = _event(
        "Intake opens BTDC | Degrees before TDC; negative where it opens after."
    )
    intake_closes_abdc: f.Degrees | None = _event("Intake closes ABDC | Degrees after BDC.")
    exhaust_opens_bbdc: f.Degrees | None = _event("Exhaust opens BBDC | Degrees before BDC.")
    exhaust_closes_atdc: f.Degrees | None = _event(
        "Exhaust closes ATDC | Degrees after TDC; negative where it closes before."
    )
    at_lift: f.LengthFromZero | None = f.asked(
        "Figures taken at lift | Lift at the lifter where they hold: 0.15 mm, 0.006 in, 0.050 in.",
        fits=_TIMING | _EVENTS,
        without="taken as above 0.010 in: each lobe is widened at both ends",
    )
    ramp_allowance: Annotated[float, Field(ge=0, le=180), DEGREES] | None = f.asked(
        "Ramp allowance | Degrees added to each lobe end, for figures above 0.010 in of lift.",
        fits=_TIMING | _EVENTS,
        without=f"{cams.RAMP_ALLOWANCE_DEG:g}°: common practice, from memory",
    )
    advance: Annotated[float, Field(ge=-90, le=90), DEGREES] | None = f.asked(
        "Advance | Crank degrees the cam is advanced beyond these figures; negative: retarded.",
        fits=_TIMING,
        without="0°",
    )

    def make(self) -> cams.Cam | None:
        """Make the cam the arithmetic works on, or None where it is not known."""
        if (timing := self.timing()) is None:
            return None
        events = cams.events_from_timing(timing, self.advance or 0.0)
        ramp = cams.RAMP_ALLOWANCE_DEG if self.ramp_allowance is None else self.ramp_allowance
        return cams.Cam(events, self.figure("at_lift"), ramp)

    def timing(self) -> cams.Timing | None:
        """A timing card's figures, worked out where the events are given; None if not known."""
        if self.known is False:
            return None
        if self.intake_opens_btdc is not None:
            events = cams.Events(*(getattr(self, key) for key in EVENT_KEYS))
            return cams.timing_from_events(events)
        keys = (*(["duration"] * 2 if self.duration else TIMING_KEYS[:2]), *TIMING_KEYS[2:])
        return cams.Timing(*(getattr(self, key) for key in keys))

    def _own_faults(self) -> Iterator[Fault]:
        timing = [key for key in (*TIMING_KEYS, "duration") if self.has(key)]
        events = [key for key in EVENT_KEYS if self.has(key)]
        either = f"{listed(TIMING_KEYS)}, or {listed(EVENT_KEYS)}"
        if self.known is False:
            if given := timing + events:
                instead = "leave one of the two out"
                yield Fault("known", f"is false, and stands beside {listed(given)}", instead)
        elif timing and events:
            problem = f"{', '.join(timing)} and {', '.join(events)} are two forms of one thing"
            yield Fault("", problem, f"give either {either}")
        elif events:
            yield from self.missing(EVENT_KEYS, "the four events go together")
            yield from self._durations()
        elif self.has("duration"):
            if both := [key for key in TIMING_KEYS[:2] if self.has(key)]:
                instead = "duration alone serves for both; leave one out"
                yield Fault("duration", f"stands beside {listed(both)}", instead)
            yield from self.missing(TIMING_KEYS[2:], "both go with duration")
        elif timing:
            yield from self.missing(TIMING_KEYS, "a timing card's figures go together")
        else:
            yield Fault("", "has no figures", f"give {either}, or known = false")

    def _durations(self) -> Iterator[Fault]:
        for opens, closes in (EVENT_KEYS[:2], EVENT_KEYS[2:]):
            first, last = getattr(self, opens), getattr(self, closes)
            if first is None or last is None or 0 < first + 180 + last < 720:
                continue
            problem = f"with {opens} = {first:g} it makes a duration of {first + 180 + last:g}°"
            yield Fault(closes, problem, "the duration must be above 0 and below 720")


def lobe_ends_text(cam: cams.Cam) -> str:
    """Where the lobes end: "IVO 23° BTDC, IVC ..."."""
    e = cam.lobe_ends
    opens = f"IVO {e.ivo_btdc:g}° BTDC, IVC {e.ivc_abdc:g}° ABDC"
    return f"{opens}, EVO {e.evo_bbdc:g}° BBDC, EVC {e.evc_atdc:g}° ATDC"


Mount = Literal["bolt-down", "stud", "shaft"]
_Stand = Annotated[list[f.ValveName], Field(min_length=1, max_length=48)]


class RockerTable(f.Table):
    """[rocker]: how it is held, its ratio, the thread that draws it down and the torque.

    `stands`: valves whose rockers share a stand or shaft; a cylinder's two where it is left out.
    """

    form_title = "Rocker"

    mount: Mount = f.asked(
        "Mount | Bolt-down: torqued at a fixed height. Stud: a nut sets it. Shaft: shared stands.",
        needed=f.ALWAYS,
        example='mount = "bolt-down"',
    )
    ratio: Annotated[float, Field(gt=0, lt=10)] = f.asked(
        "Ratio | Valve lift over lobe lift, like 1.55.", needed=f.ALWAYS, example="ratio = 1.55"
    )
    thread: f.Thread | None = f.asked(
        "Thread | Of the bolt, stud or screw that is turned, with its pitch: M10x1.5, 3/8-24.",
        fits=f.MOUNTED,
        needed=f.HYDRAULIC & ~f.filled("lifter.travel_per_turn"),
        without="the travel per turn is not worked out",
    )
    torque: f.Torque | None = f.asked(
        "Torque | The rocker bolts' torque: 40 N·m, 30 lbf ft.",
        fits=f.TORQUED,
        needed=~f.SOLID,
        without='called "the sheet\'s torque"',
    )
    stands: Annotated[list[_Stand], Field(min_length=1, max_length=48)] | None = None


_in_line = partial(f.asked, without="no adapter in line: the torque is what is set", source=f.READ)


class WrenchTable(f.Table):
    """[wrench]: the torque wrench, its range and when it was last calibrated.

    `length` and `adapter`: grip to square drive, and square drive to bolt with an adapter in line.
    """

    form_title = "Torque wrench"
    on_form = f.TORQUED
    together = ((("length", "adapter"), "length and adapter go together"),)
    ascending = (("least", "most"),)

    name: f.ShortLine = f.asked(
        "Name | What the torque wrench is called in the record: bench click wrench.",
        needed=f.filled("wrench.least") | f.filled("wrench.most") | f.filled("wrench.calibrated"),
        without="the sheet names no wrench",
        example='name = "bench click wrench"',
    )
    least: f.Torque | None = f.asked(
        "Least setting | The lowest it can be set to: 20 N·m, 15 lbf ft.",
        without="its range isn't checked",
    )
    most: f.Torque | None = f.asked(
        "Most setting | The highest it can be set to: 110 N·m, 80 lbf ft.",
        without="its range isn't checked",
    )
    calibrated: date | None = f.asked(
        "Last calibrated | Year, month, day: 2026-03-02.",
        without="the sheet says so: calibration not stated",
    )
    cycles: Annotated[int, Field(ge=0)] | None = None
    length: f.Length | None = _in_line(
        "Grip to drive | With an adapter in line: 450 mm, 18 in.", needed=f.filled("wrench.adapter")
    )
    adapter: f.Length | None = _in_line(
        "Drive to bolt | The adapter's own length: 50 mm, 2 in.", needed=f.filled("wrench.length")
    )

    def setting_nm(self, wanted_nm: float) -> float:
        """What to set for a torque at the bolt, in N·m: less where an adapter lengthens it."""
        if self.length is None or self.adapter is None:
            return wanted_nm
        return adapter_setting(wanted_nm, length_mm(self.length), length_mm(self.adapter))

    def _own_faults(self) -> Iterator[Fault]:
        yield from super()._own_faults()
        if self.least is not None and self.figure("least") == self.figure("most"):
            yield Fault("most", "isn't more than least", "give the range as marked")
