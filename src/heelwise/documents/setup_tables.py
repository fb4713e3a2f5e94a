"""The tables of a setup, one model each: quantities as typed, and what they come to."""

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from heelwise.documents.quantities import length_mm, thread_pitch_mm, torque_nm, turns
from heelwise.documents.stock import OnHand, on_hand, stock_of
from heelwise.documents.typed_fields import (
    AboveZero,
    Length,
    LengthFromZero,
    ShortLine,
    Table,
    Thread,
    Torque,
    Turns,
    TurnsNumber,
    ValveName,
    Whole,
)
from heelwise.valvetrain import cam as cams
from heelwise.valvetrain.engine import Engine, make_engine
from heelwise.valvetrain.pushrods import sold_lengths
from heelwise.valvetrain.torque import ANY_TORQUE_NM, Wrench, adapter_setting
from heelwise.valvetrain.valves import Kind
from heelwise.valvetrain.verdict import WindowSheet

Mount = Literal["bolt-down", "stud", "shaft"]
LifterKind = Literal[
    "hydraulic roller", "hydraulic flat tappet", "solid roller", "solid flat tappet"
]

TIMING_KEYS = ("intake_duration", "exhaust_duration", "lobe_separation", "intake_centerline")
EVENT_KEYS = (
    "intake_opens_btdc",
    "intake_closes_abdc",
    "exhaust_opens_bbdc",
    "exhaust_closes_atdc",
)

_Duration = Annotated[float, Field(gt=0, lt=720)]
_Stand = Annotated[list[ValveName], Field(min_length=1, max_length=48)]
_Degrees = Annotated[float, Field(gt=-360, lt=360)]


class EngineTable(Table):
    """[engine]: a card, fields of our own, or a card with some fields of our own."""

    card: ShortLine | None = None
    cylinders: Annotated[int, Field(ge=1, le=24)] | None = None
    firing_order: Annotated[list[int], Field(examples=["firing_order = [1, 3, 4, 2]"])]
    firing_gaps: list[float] | None = None
    banks: dict[ShortLine, list[int]] | None = None
    valve_rows: dict[ShortLine, list[ValveName]] | None = None
    rotation: Literal["clockwise", "counterclockwise"] | None = None
    damper_diameter: Length | None = None
    damper_marks: AboveZero | None = None

    def make(self) -> Engine:
        """Make the engine the arithmetic works on; even gaps, clockwise, one bank by default."""
        diameter = None if self.damper_diameter is None else length_mm(self.damper_diameter)
        return make_engine(
            self.firing_order,
            self.firing_gaps,
            self.banks,
            self.valve_rows,
            self.rotation != "counterclockwise",
            diameter,
            self.damper_marks,
        )


class CamTable(Table):
    """[cam]: a timing card's figures, the four events, one duration for both, or not known."""

    known: bool | None = None
    duration: _Duration | None = None
    intake_duration: _Duration | None = None
    exhaust_duration: _Duration | None = None
    lobe_separation: Annotated[float, Field(gt=0, lt=360)] | None = None
    intake_centerline: _Degrees | None = None
    intake_opens_btdc: _Degrees | None = None
    intake_closes_abdc: _Degrees | None = None
    exhaust_opens_bbdc: _Degrees | None = None
    exhaust_closes_atdc: _Degrees | None = None
    advance: Annotated[float, Field(ge=-90, le=90)] | None = None
    at_lift: LengthFromZero | None = None
    ramp_allowance: Annotated[float, Field(ge=0, le=180)] | None = None

    def make(self) -> cams.Cam | None:
        """Make the cam the arithmetic works on, or None where it is not known."""
        timing = self._timing()
        if timing is None:
            return None
        events = cams.events_from_timing(timing, self.advance or 0.0)
        at_lift = None if self.at_lift is None else length_mm(self.at_lift)
        if self.ramp_allowance is None:
            return cams.Cam(events, at_lift)
        return cams.Cam(events, at_lift, self.ramp_allowance)

    def _timing(self) -> cams.Timing | None:
        if self.known is False:
            return None
        if self.intake_opens_btdc is not None:
            events = cams.Events(*(getattr(self, key) for key in EVENT_KEYS))
            return cams.timing_from_events(events)
        if self.duration is not None:
            rest = (getattr(self, key) for key in TIMING_KEYS[2:])
            return cams.Timing(self.duration, self.duration, *rest)
        return cams.Timing(*(getattr(self, key) for key in TIMING_KEYS))


class RockerTable(Table):
    """[rocker]: how it is held, its ratio, the thread that draws it down and the torque.

    `stands`: valves whose rockers share a stand or shaft; a cylinder's two where it is left out.
    """

    mount: Annotated[Mount, Field(examples=['mount = "bolt-down"'])]
    ratio: Annotated[float, Field(gt=0, lt=10, examples=["ratio = 1.6"])]
    thread: Thread | None = None
    torque: Torque | None = None
    stands: Annotated[list[_Stand], Field(min_length=1, max_length=48)] | None = None

    @property
    def pitch_mm(self) -> float | None:
        """The thread's pitch in mm, or None where no thread is given."""
        return None if self.thread is None else thread_pitch_mm(self.thread)

    @property
    def torque_nm(self) -> float | None:
        """The torque in N·m, or None where none is given."""
        return None if self.torque is None else torque_nm(self.torque)


class LifterTable(Table):
    """[lifter]: its kind and what its sheet says."""

    kind: Annotated[LifterKind, Field(examples=['kind = "hydraulic roller"'])]
    least_turns: Turns | None = None
    most_turns: Turns | None = None
    least_preload: LengthFromZero | None = None
    most_preload: LengthFromZero | None = None
    travel_per_turn: Length | None = None
    plunger_travel: Length | None = None
    seat_turns: TurnsNumber | None = None
    cup_height: Length | None = None
    checking_cup_height: Length | None = None

    @property
    def cup_above_mm(self) -> float:
        """Its cup's height less the solid checking lifter's, in mm; 0 where none are given."""
        if self.cup_height is None or self.checking_cup_height is None:
            return 0.0
        return length_mm(self.cup_height) - length_mm(self.checking_cup_height)

    @property
    def hydraulic(self) -> bool:
        """Whether it has a plunger."""
        return self.kind.startswith("hydraulic")

    def window_sheet(self) -> WindowSheet:
        """The limits of the sheet, in turns and mm; None for each it doesn't give."""
        return WindowSheet(
            least_turns=None if self.least_turns is None else turns(self.least_turns),
            most_turns=None if self.most_turns is None else turns(self.most_turns),
            least_preload_mm=None if self.least_preload is None else length_mm(self.least_preload),
            most_preload_mm=None if self.most_preload is None else length_mm(self.most_preload),
        )


class PushrodsTable(Table):
    """[pushrods]: the lengths to begin with, and those sold or on hand."""

    intake: Annotated[Length, Field(examples=['intake = "6.850 in"'])]
    exhaust: Annotated[Length, Field(examples=['exhaust = "6.850 in"'])]
    sold_from: Length | None = None
    sold_to: Length | None = None
    sold_step: Length | None = None
    on_hand: Annotated[list[OnHand], Field(min_length=1, max_length=1000)] | None = None

    def length(self, kind: Kind) -> float:
        """The length to begin with on valves of a kind.

        Args:
            kind: Intake or exhaust.

        Returns:
            The length in mm.
        """
        return length_mm(self.intake if kind is Kind.INTAKE else self.exhaust)

    def lengths(self) -> tuple[float, ...]:
        """The lengths sold or on hand in mm, shortest first; none where neither is given."""
        if self.on_hand is not None:
            return tuple(sorted({on_hand(text)[0] for text in self.on_hand}))
        if self.sold_from is None or self.sold_to is None or self.sold_step is None:
            return ()
        return sold_lengths(*map(length_mm, (self.sold_from, self.sold_to, self.sold_step)))

    def stock(self) -> dict[float, int]:
        """How many there are of each length on hand in mm; a length not in it has no limit."""
        return stock_of(self.on_hand or ())


class WrenchTable(Table):
    """[wrench]: the torque wrench, its range and when it was last calibrated.

    `length` and `adapter`: grip to square drive, and square drive to bolt with an adapter in line.
    """

    name: Annotated[ShortLine, Field(examples=['name = "bench click wrench"'])]
    least: Torque | None = None
    most: Torque | None = None
    calibrated: date | None = None
    cycles: Whole | None = None
    length: Length | None = None
    adapter: Length | None = None

    def make(self) -> Wrench:
        """Make the wrench the arithmetic works on; without a range, any torque is in it."""
        least = 0.0 if self.least is None else torque_nm(self.least)
        most = ANY_TORQUE_NM if self.most is None else torque_nm(self.most)
        return Wrench(least, most, self.calibrated, self.cycles)

    def setting_nm(self, wanted_nm: float) -> float:
        """What to set for a torque at the bolt, in N·m: less where an adapter lengthens it."""
        if self.length is None or self.adapter is None:
            return wanted_nm
        return adapter_setting(wanted_nm, length_mm(self.length), length_mm(self.adapter))
