"""[[reading]] of a setup: what was read on paper, in whichever way a length was come by."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from heelwise.documents.faults import Fault, quoted
from heelwise.documents.fields import Length, Table, Turns, ValveName
from heelwise.documents.quantities import length_mm, show_length, turns
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.lash import (
    CHECKING_PITCH_MM,
    MOST_LASH_MM,
    checking_length,
    length_from_lash,
)
from heelwise.valvetrain.readings import Reading

FORMS: Mapping[str, tuple[str, ...]] = {
    "turns": ("pushrod",),
    "lash": ("pushrod",),
    "zero_lash": ("pushrod",),
    "turns_out": ("shortest",),
}
"""What a reading can tell, and what it needs beside it."""


@dataclass(frozen=True)
class PaperReading:
    """A reading made ready: the count it stands for, whether it was counted, how it was come by.

    A length at zero lash is a count of no more than what seats the rocker.
    """

    reading: Reading
    counted: bool
    source: str

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
    pushrod: Annotated[Length | None, Field(examples=['pushrod = "218.0 mm"'])] = None
    turns: Annotated[Turns | None, Field(examples=['turns = "7/8"'])] = None
    lash: Length | None = None
    zero_lash: bool | None = None
    shortest: Length | None = None
    turns_out: Turns | None = None
    pitch: Length | None = None

    def take(self, ratio: float, cup_above_mm: float, seat_turns: float) -> PaperReading:
        """Make it ready for the arithmetic.

        Args:
            ratio: Rocker ratio.
            cup_above_mm: The hydraulic lifter's cup height less the checking lifter's, in mm.
            seat_turns: Turns that seat the rocker without moving the plunger.
        """
        if self.turns_out is not None:
            pitch = CHECKING_PITCH_MM if self.pitch is None else length_mm(self.pitch)
            mm = checking_length(length_mm(self.shortest), turns(self.turns_out), pitch)
            each = self.pitch or "0.050 in, two makers'"
            source = f"a checking pushrod {self.turns_out} turns out at zero lash ({each} each)"
            return self._ready(mm, seat_turns, source)
        mm = length_mm(self.pushrod)
        if self.turns is not None:
            return self._ready(mm, turns(self.turns), "counted")
        if self.lash is None:
            return self._ready(mm, seat_turns, "a checking pushrod at zero lash")
        zero = length_from_lash(mm, length_mm(self.lash), ratio, 0.0, cup_above_mm)
        source = f"from {self.lash} of lash over a solid checking lifter (lash / ratio)"
        return self._ready(zero, seat_turns, source)

    def _ready(self, mm: float, count: float, source: str) -> PaperReading:
        counted = self.turns is not None
        return PaperReading(Reading(Valve.parse(self.valve), mm, count), counted, source)

    def own_faults(self) -> Iterator[Fault]:
        """A reading that tells nothing, or two things, or lacks what it needs."""
        forms = [key for key in FORMS if self.has(key)]
        if len(forms) != 1:
            problem = f"{' and '.join(forms)} stand side by side" if forms else "is missing"
            key = forms[1] if forms else "turns"
            yield Fault(key, problem, f"give one of {', '.join(FORMS)}")
            return
        form = forms[0]
        for key in FORMS[form]:
            if not self.has(key):
                yield Fault(key, "is missing", f"add it: {form} needs it")
        if self.zero_lash is False:
            yield Fault("zero_lash", "is false", "write true, or give turns or lash")
        if self.lash is not None and length_mm(self.lash) > MOST_LASH_MM:
            problem = f"{quoted(self.lash)} is more than {show_length(MOST_LASH_MM)}"
            yield Fault("lash", problem, "take a longer pushrod, and gauge again")
        for key in ("shortest", "pitch"):
            if self.has(key) and form != "turns_out":
                yield Fault(key, f"has no meaning beside {form}", "leave it out")
