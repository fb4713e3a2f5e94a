"""[rocker] and [wrench] of a setup: how the rockers are held, and what tightens them."""

from collections.abc import Iterator
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import Field

from heelwise.documents.faults import Fault
from heelwise.documents.fields import (
    Length,
    ShortLine,
    Table,
    Thread,
    Torque,
    ValveName,
    Whole,
    upside_down,
)
from heelwise.documents.form_rules import (
    HYDRAULIC,
    MOUNTED,
    READ,
    SOLID,
    TORQUED,
    always,
    asked,
    both,
    either,
    filled,
    unless,
)
from heelwise.documents.quantities import (
    length_mm,
    thread_pitch_mm,
    torque_nm,
)
from heelwise.valvetrain.torque import ANY_TORQUE_NM, Wrench, adapter_setting

Mount = Literal["bolt-down", "stud", "shaft"]


_Stand = Annotated[list[ValveName], Field(min_length=1, max_length=48)]


class RockerTable(Table):
    """[rocker]: how it is held, its ratio, the thread that draws it down and the torque.

    `stands`: valves whose rockers share a stand or shaft; a cylinder's two where it is left out.
    """

    form_title = "Rocker"

    mount: Mount = asked(
        "Mount",
        "Bolt-down: torqued at a fixed height. Stud: a nut sets it. Shaft: shared stands.",
        needed=always,
        example='mount = "bolt-down"',
    )
    ratio: Annotated[float, Field(gt=0, lt=10)] = asked(
        "Ratio", "Valve lift over lobe lift, like 1.55.", needed=always, example="ratio = 1.55"
    )
    thread: Thread | None = asked(
        "Thread",
        "Of the bolt, stud or screw that is turned, with its pitch: M10x1.5, 3/8-24.",
        MOUNTED,
        both(HYDRAULIC, unless(filled("lifter.travel_per_turn"))),
        "the travel per turn is not worked out",
    )
    torque: Torque | None = asked(
        "Torque",
        "The rocker bolts' torque: 40 N·m, 30 lbf ft.",
        TORQUED,
        unless(SOLID),
        'called "the sheet\'s torque"',
    )
    stands: Annotated[list[_Stand], Field(min_length=1, max_length=48)] | None = None

    @property
    def pitch_mm(self) -> float | None:
        """The thread's pitch in mm, or None where no thread is given."""
        return None if self.thread is None else thread_pitch_mm(self.thread)

    @property
    def torque_nm(self) -> float | None:
        """The torque in N·m, or None where none is given."""
        return None if self.torque is None else torque_nm(self.torque)


def _in_line(label: str, hint: str, other: str) -> Any:
    without = "no adapter in line: the torque is what is set"
    needed = filled(f"wrench.{other}")
    return asked(label, hint, needed=needed, without=without, source=READ)


class WrenchTable(Table):
    """[wrench]: the torque wrench, its range and when it was last calibrated.

    `length` and `adapter`: grip to square drive, and square drive to bolt with an adapter in line.
    """

    form_title = "Torque wrench"
    on_form = (TORQUED,)

    name: ShortLine = asked(
        "Name",
        "What the torque wrench is called in the record: bench click wrench.",
        needed=either(
            *map(filled, ("wrench.least", "wrench.most", "wrench.calibrated", "wrench.length"))
        ),
        without="the sheet names no wrench",
        example='name = "bench click wrench"',
    )
    least: Torque | None = asked(
        "Least setting",
        "The least it can be set to: 20 N·m, 15 lbf ft.",
        without="its range isn't checked",
    )
    most: Torque | None = asked(
        "Most setting",
        "The most it can be set to: 110 N·m, 80 lbf ft.",
        without="its range isn't checked",
    )
    calibrated: date | None = asked(
        "Last calibrated",
        "Year, month, day: 2026-03-02.",
        without="the sheet says so: calibration not stated",
    )
    cycles: Whole | None = None
    length: Length | None = _in_line(
        "Grip to drive", "With an adapter in line: 450 mm, 18 in.", "adapter"
    )
    adapter: Length | None = _in_line(
        "Drive to bolt", "The adapter's own length in line: 50 mm, 2 in.", "length"
    )

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

    def own_faults(self) -> Iterator[Fault]:
        """A range that isn't one; an adapter without the wrench's length, or the other way."""
        least, most = (None if t is None else torque_nm(t) for t in (self.least, self.most))
        yield from upside_down(least, most, ("least", "most"), (self.least, self.most))
        if least is not None and least == most:
            yield Fault("most", "isn't more than least", "give the range as marked")
        if self.has("length") != self.has("adapter"):
            yield from self.missing(("length", "adapter"), "they go together")
