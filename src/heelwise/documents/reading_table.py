"""[[reading]] of a setup: what was read on paper, in whichever way a length was come by."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from heelwise.documents.faults import Fault, quoted
from heelwise.documents.quantities import length_mm, mm_or_none, show_length, turns
from heelwise.documents.typed_fields import Length, Table, Turns, ValveName
from heelwise.valvetrain.checking import (
    CHECKING_PITCH_MM,
    MOST_APART_MM,
    MOST_LASH_MM,
    checking_length,
    length_from_lash,
)
from heelwise.valvetrain.pushrods import Reading
from heelwise.valvetrain.valves import Valve

FORMS: Mapping[str, tuple[str, ...]] = {
    "turns": ("pushrod",),
    "lash": ("pushrod",),
    "zero_lash": ("pushrod",),
    "turns_out": ("shortest",),
}
"""What a reading can tell, and what it needs beside it."""

CUP_KEYS = ("cup_height", "checking_cup_height")
"""[lifter]: the two cup heights that a lash under a solid checking lifter needs."""


@dataclass(frozen=True)
class Taken:
    """A reading made ready: the count it stands for, whether it was counted, and how it was got.

    A length at zero lash is a count of no more than what seats the rocker.
    """

    reading: Reading
    counted: bool
    said: str

    @property
    def lash_left(self) -> bool:
        """Whether it only says that lash was left at the click: the pushrod is too short."""
        return self.counted and self.reading.turns <= 0


class ReadingTable(Table):
    """[[reading]]: one valve's turns, its lash over a solid checking lifter, or a zero-lash length.

    `turns`: counted with `pushrod` from zero lash to the click. `lash`: gauged at the valve,
    a solid checking lifter in, rocker at its torque. `zero_lash`: `pushrod` is the length of a
    checking pushrod at zero lash, rocker at its torque. `turns_out`: the same by its own
    turns from its `shortest` length, `pitch` each.
    """

    valve: Annotated[ValveName, Field(examples=['valve = "1I"'])]
    pushrod: Annotated[Length | None, Field(examples=['pushrod = "6.850 in"'])] = None
    turns: Annotated[Turns | None, Field(examples=['turns = "1 3/8"'])] = None
    lash: Length | None = None
    zero_lash: bool | None = None
    shortest: Length | None = None
    turns_out: Turns | None = None
    pitch: Length | None = None

    def take(self, ratio: float, cup_above_mm: float, seat_turns: float) -> Taken:
        """Make it ready for the arithmetic.

        Args:
            ratio: Rocker ratio.
            cup_above_mm: The hydraulic lifter's cup height less the checking lifter's, in mm.
            seat_turns: Turns that seat the rocker without moving the plunger.
        """
        if self.turns is not None:
            return self._taken(self._pushrod_mm, turns(self.turns), "counted")
        if self.lash is not None:
            zero = length_from_lash(
                self._pushrod_mm, length_mm(self.lash), ratio, 0.0, cup_above_mm
            )
            said = f"from {self.lash} of lash over a solid checking lifter (lash / ratio)"
            return self._taken(zero, seat_turns, said)
        if self.turns_out is None:
            return self._taken(self._pushrod_mm, seat_turns, "a checking pushrod at zero lash")
        pitch = CHECKING_PITCH_MM if self.pitch is None else length_mm(self.pitch)
        assert self.shortest is not None
        out = checking_length(length_mm(self.shortest), turns(self.turns_out), pitch)
        source = self.pitch or "0.050 in, two makers'"
        said = f"a checking pushrod {self.turns_out} turns out at zero lash ({source} each)"
        return self._taken(out, seat_turns, said)

    @property
    def _pushrod_mm(self) -> float:
        assert self.pushrod is not None
        return length_mm(self.pushrod)

    def _taken(self, mm: float, count: float, said: str) -> Taken:
        counted = self.turns is not None
        return Taken(Reading(Valve.parse(self.valve), mm, count), counted, said)


def reading_faults(raw: Mapping[str, object]) -> Iterator[Fault]:
    """Find readings that tell nothing, or two things, or lack what they need.

    Args:
        raw: The setup as TOML gives it.

    Yields:
        The faults.
    """
    readings = raw.get("reading")
    lifter = raw.get("lifter")
    cups = [key for key in CUP_KEYS if isinstance(lifter, Mapping) and key in lifter]
    if len(cups) == 1:
        missing = next(key for key in CUP_KEYS if key not in cups)
        problem = f"is missing beside {cups[0]}"
        yield Fault(f"lifter.{missing}", problem, "measure both, over the foot or roller")
    yield from _apart(lifter)
    for index, table in enumerate(readings[:1000] if isinstance(readings, list) else (), start=1):
        if isinstance(table, Mapping):
            yield from _form(table, f"reading {index}", bool(cups))


def _apart(lifter: object) -> Iterator[Fault]:
    heights = (
        [mm_or_none(lifter.get(key)) for key in CUP_KEYS] if isinstance(lifter, Mapping) else []
    )
    known = [height for height in heights if height is not None]
    if len(known) == len(CUP_KEYS) and max(known) - min(known) > MOST_APART_MM:
        problem = f"stands {show_length(max(known) - min(known))} off {CUP_KEYS[0]}"
        yield Fault(f"lifter.{CUP_KEYS[1]}", problem, "measure both over the foot or roller")


def _form(table: Mapping[str, object], where: str, cups: bool) -> Iterator[Fault]:
    told = [key for key in FORMS if key in table]
    if len(told) != 1:
        problem = f"{' and '.join(told)} stand side by side" if told else "is missing"
        key = told[1] if told else "turns"
        yield Fault(f"{where}.{key}", problem, f"give one of {', '.join(FORMS)}")
        return
    for key in FORMS[told[0]]:
        if key not in table:
            yield Fault(f"{where}.{key}", "is missing", f"add it: {told[0]} needs it")
    if told[0] == "zero_lash" and table["zero_lash"] is False:
        yield Fault(f"{where}.zero_lash", "is false", "write true, or give turns or lash")
    if told[0] == "lash" and not cups:
        problem = f"needs lifter.{CUP_KEYS[0]} and lifter.{CUP_KEYS[1]}"
        yield Fault(f"{where}.lash", problem, "the two lifters' cups seldom stand equally high")
    lash = mm_or_none(table.get("lash"))
    if lash is not None and lash > MOST_LASH_MM:
        problem = f"{quoted(table['lash'])} is more than {show_length(MOST_LASH_MM)}"
        yield Fault(f"{where}.lash", problem, "take a longer pushrod, and gauge again")
    for key in ("shortest", "pitch"):
        if key in table and told[0] != "turns_out":
            yield Fault(f"{where}.{key}", f"has no meaning beside {told[0]}", "leave it out")
