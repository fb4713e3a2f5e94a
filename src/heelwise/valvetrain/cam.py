"""Cams: valve events, the card's figures, each lobe's ends, and margins on the heel."""

from dataclasses import astuple, dataclass
from functools import cached_property

from heelwise.valvetrain.engine import CYCLE, Engine, Valve, ValveKind, wrap
from heelwise.wording import Length, Text, text

SLACK = 1e-9  # crank degrees below which two angles are the same
AS_IS_UP_TO_MM = 0.254  # events at this lift (0.010 in) or less are taken as the lobe's ends
RAMP_ALLOWANCE_DEG = 25.0
"""Added to each end of figures taken higher up. From memory: duration at 0.006 in less duration
at 0.050 in is about 45 to 60 degrees for hydraulic rollers, so 25 is about half of it."""


@dataclass(frozen=True)
class Events:
    """The four valve events, in crank degrees at the stated lift; negative on the other side."""

    ivo_btdc: float
    ivc_abdc: float
    evo_bbdc: float
    evc_atdc: float

    @property
    def intake_duration(self) -> float:
        """Crank degrees the intake is open."""
        return self.ivo_btdc + 180.0 + self.ivc_abdc

    @property
    def exhaust_duration(self) -> float:
        """Crank degrees the exhaust is open."""
        return self.evo_bbdc + 180.0 + self.evc_atdc


@dataclass(frozen=True)
class Timing:
    """What a timing card gives instead: crank degrees, lobe separation in cam degrees.

    The exhaust centerline, before TDC, is 2 x lobe separation - intake centerline.
    """

    intake_duration: float
    exhaust_duration: float
    lobe_separation: float
    intake_centerline: float


def events_from_timing(timing: Timing, advance: float = 0.0) -> Events:
    """Events from a timing card: symmetric, so each lies half the duration from the centerline.

    `advance`: crank degrees the cam is set ahead of its card; negative for retarded.
    """
    intake = timing.intake_centerline - advance
    exhaust = 2.0 * timing.lobe_separation - timing.intake_centerline + advance
    return Events(
        ivo_btdc=timing.intake_duration / 2.0 - intake,
        ivc_abdc=intake + timing.intake_duration / 2.0 - 180.0,
        evo_bbdc=exhaust + timing.exhaust_duration / 2.0 - 180.0,
        evc_atdc=timing.exhaust_duration / 2.0 - exhaust,
    )


def timing_from_events(events: Events) -> Timing:
    """A timing card's figures from valve events; the inverse of `events_from_timing`."""
    intake = events.intake_duration / 2.0 - events.ivo_btdc
    exhaust = events.exhaust_duration / 2.0 - events.evc_atdc
    return Timing(
        intake_duration=events.intake_duration,
        exhaust_duration=events.exhaust_duration,
        lobe_separation=(intake + exhaust) / 2.0,
        intake_centerline=intake,
    )


@dataclass(frozen=True)
class Cam:
    """A cam as it stands in the engine; `at_lift_mm` at the lifter, None if not known."""

    events: Events
    at_lift_mm: float | None
    ramp_allowance_deg: float = RAMP_ALLOWANCE_DEG

    @property
    def allowance_deg(self) -> float:
        """Crank degrees added to each end of each lobe: 0 or the ramp allowance."""
        if self.at_lift_mm is not None and self.at_lift_mm <= AS_IS_UP_TO_MM + 1e-9:
            return 0.0
        return self.ramp_allowance_deg

    @cached_property
    def lobe_ends(self) -> Events:
        """Where the lobes can begin and end to lift: the events, widened if need be."""
        return Events(*(each + self.allowance_deg for each in astuple(self.events)))

    @property
    def source(self) -> Text:
        """How the lobes' ends come from the figures, in words."""
        at = self.at_lift_mm
        lift = "a lift not stated" if at is None else text("{} of lift", Length(at))
        how = f"each end of each lobe widened by {self.allowance_deg:g}°"
        if self.allowance_deg == 0.0:
            how = "taken as the lobes' ends, nothing added"
        return text("events at {}: {}", lift, how)

    def notes(self) -> tuple[str, ...]:
        """Oddities of the cam, none of them a fault, a sentence each."""
        events, ends = self.events, self.lobe_ends
        sides = (
            (events.ivo_btdc, "the intake opens {:g}° after TDC"),
            (events.ivc_abdc, "the intake closes {:g}° before BDC"),
            (events.evo_bbdc, "the exhaust opens {:g}° after BDC"),
            (events.evc_atdc, "the exhaust closes {:g}° before TDC"),
        )
        notes = [words.format(-deg) for deg, words in sides if deg < 0]
        if events.ivo_btdc + events.evc_atdc <= 0:
            notes.append("the valves have no overlap")
        for name, duration, widened, shut_by in (
            ("intake", events.intake_duration, ends.intake_duration, ends.ivc_abdc),
            ("exhaust", events.exhaust_duration, ends.exhaust_duration, ends.evo_bbdc),
        ):
            if not 150 <= duration <= 360:
                length = "short" if duration < 150 else "long"
                notes.append(f"the {name} duration of {duration:g}° is unusually {length}")
            if widened >= 720:
                notes.append(f"the {name} lobe, widened, leaves no heel")
            elif shut_by > 180:
                notes.append(f"the {name} is on its lobe at its cylinder's TDC on compression")
        return tuple(notes)


ANY_CAM = Cam(Events(180.0, 180.0, 180.0, 180.0), at_lift_mm=0.0)
"""Wider than any four-stroke cam: an intake is shut all through its power stroke, an exhaust
all through its compression stroke."""


def degrees_between(first_deg: float, second_deg: float) -> float:
    """Degrees between two crank angles the shorter way round, 0 to 360."""
    distance = (first_deg - second_deg) % CYCLE
    return min(distance, CYCLE - distance)


@dataclass(frozen=True)
class Arc:
    """A closed arc from `start`, in [0, 720), so many degrees on in the direction of rotation."""

    start: float
    length: float

    @property
    def end(self) -> float:
        """Where it ends, in [0, 720)."""
        return wrap(self.start + self.length)

    @property
    def last(self) -> float:
        """Where it ends, above 0 and up to 720: not at 0 of the next cycle."""
        return self.end or CYCLE

    @property
    def middle(self) -> float:
        """Halfway along it, in [0, 720)."""
        return wrap(self.start + self.length / 2)

    def contains(self, deg: float) -> bool:
        """Whether a crank angle lies on the arc or within 1e-9 degree of it."""
        return degrees_between(deg, self.start + self.length / 2) <= self.length / 2 + SLACK

    def shared(self, start_deg: float, length_deg: float) -> float:
        """Degrees that another arc has in common with this one."""
        offset = (start_deg - self.start) % CYCLE
        first = min(offset + length_deg, self.length) - offset
        again = min(offset + length_deg - CYCLE, self.length)
        return max(first, 0.0) + max(again, 0.0)


def lobe(cam: Cam, kind: ValveKind) -> tuple[float, float]:
    """Degrees at which a lobe begins after TDC on compression, and its length.

    The intake is open from 360 - IVO to 540 + IVC, the exhaust from 180 - EVO to 360 + EVC.
    """
    ends = cam.lobe_ends
    if kind is ValveKind.INTAKE:
        return 360.0 - ends.ivo_btdc, ends.intake_duration
    return 180.0 - ends.evo_bbdc, ends.exhaust_duration


def open_arc(engine: Engine, cam: Cam, valve: Valve) -> Arc:
    """Crank angles at which a lobe can lift its lifter, lobe end to lobe end."""
    start, length = lobe(cam, valve.kind)
    return Arc(wrap(engine.phase(valve.cylinder) + start), min(length, CYCLE))


def heel_arc(engine: Engine, cam: Cam, valve: Valve) -> Arc:
    """Crank angles at which a lifter is on its heel; of no length if the lobe leaves none."""
    start, length = lobe(cam, valve.kind)
    return Arc(wrap(engine.phase(valve.cylinder) + start + length), max(CYCLE - length, 0.0))


def margin(engine: Engine, cam: Cam, valve: Valve, crank_deg: float) -> float:
    """Crank degrees from a place on the heel to the nearer end of the lobe; negative on it."""
    return _margin(lobe(cam, valve.kind), engine.phase(valve.cylinder), crank_deg)


def _margin(of: tuple[float, float], phase: float, crank_deg: float) -> float:
    start, length = of
    return round(degrees_between(crank_deg, phase + start + length / 2.0) - length / 2.0, 9) + 0.0


def margins(engine: Engine, cam: Cam, crank_deg: float) -> list[float]:
    """Margins of all valves at a crank angle, in the engine's own order."""
    lobes = {kind: lobe(cam, kind) for kind in ValveKind}
    return [_margin(lobes[v.kind], engine.phase(v.cylinder), crank_deg) for v in engine.valves]


def tdc_distance(engine: Engine, cylinder: int, crank_deg: float) -> float:
    """Crank degrees of a piston from its nearest TDC, compression or overlap, 0 to 180."""
    past = round(crank_deg - engine.phase(cylinder), 9) % 360.0
    return round(min(past, 360.0 - past), 9) + 0.0
