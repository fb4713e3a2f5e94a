"""[lifter], [pushrods] and [[reading]] of a setup: spec sheet, lengths, counts on paper."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import Annotated, Literal

from pydantic import Field

from heelwise.documents import fields as f
from heelwise.documents.faults import Fault, quoted
from heelwise.documents.quantities import length_mm, show_length, turns
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.pushrods import (
    CHECKING_PITCH_MM,
    MOST_APART_MM,
    MOST_LASH_MM,
    length_from_lash,
    sold_lengths,
)
from heelwise.valvetrain.trials import Reading
from heelwise.wording import listed

LifterKind = Literal[
    "hydraulic roller", "hydraulic flat tappet", "solid roller", "solid flat tappet"
]
WINDOW_KEYS = ("least_turns", "most_turns", "least_preload", "most_preload")
SOLD_KEYS = ("sold_from", "sold_to", "sold_step")
CUP_KEYS = ("cup_height", "checking_cup_height")
"""The two cup heights that a lash over a solid checking lifter needs."""


_PRELOAD = f.filled("lifter.least_preload") | f.filled("lifter.most_preload")


_limit_turns = partial(f.asked, fits=f.HYDRAULIC, without="the preload below is the window")
_limit_preload = partial(f.asked, fits=f.HYDRAULIC, without="the turns above are the window")


def checking_pushrod_mm(text: str, pitch_mm: float) -> float:
    """Read an adjustable checking pushrod's length in mm: "214.5 mm" or "210.0 mm + 3 1/2".

    `pitch_mm`: what one turn adds: its own pitch, above 0.
    """
    shortest, plus, out = text.partition("+")
    return length_mm(shortest.strip()) + (turns(out.strip()) * pitch_mm if plus else 0)


class LifterTable(f.Table):
    """[lifter]: its kind and what its sheet says."""

    form_title = "Lifter"
    ascending = (("least_turns", "most_turns"), ("least_preload", "most_preload"))
    together = (
        *((pair, "a window has a least and a most") for pair in ascending),
        (CUP_KEYS, "measure both cups, over the foot or roller"),
    )

    kind: LifterKind = f.asked(
        "Kind | As its sheet calls it.", needed=f.ALWAYS, example='kind = "hydraulic roller"'
    )
    least_turns: f.Turns | None = _limit_turns(
        "Least turns | From zero lash: 1/2, 0.5 or 180°. Or leave both and give the preload below.",
        needed=f.filled("lifter.most_turns") | ~_PRELOAD,
    )
    most_turns: f.Turns | None = _limit_turns(
        "Most turns | From zero lash: 1, 1 1/8 or 360°.",
        needed=f.filled("lifter.least_turns") | ~_PRELOAD,
    )
    least_preload: f.LengthFromZero | None = _limit_preload(
        "Least preload | Plunger travel from the retainer: 0.6 mm, 0.024 in.",
        needed=f.filled("lifter.most_preload"),
    )
    most_preload: f.LengthFromZero | None = _limit_preload(
        "Most preload | Plunger travel from the retainer: 1.8 mm, 0.070 in.",
        needed=f.filled("lifter.least_preload"),
    )
    travel_per_turn: f.Length | None = f.asked(
        "Travel per turn | Plunger travel for one turn, if the sheet gives it: 1.6 mm, 0.060 in.",
        fits=f.HYDRAULIC,
        without="worked out from thread and ratio; trials measure it",
    )
    plunger_travel: f.Length | None = f.asked(
        "Plunger travel | The plunger's whole travel: 4.6 mm, 0.180 in.",
        fits=f.HYDRAULIC,
        needed=f.holds("rocker.mount", "shaft"),
        without="never past: the window's most and half a turn",
    )
    seat_turns: f.TurnsNumber | None = f.asked(
        "Seating turns | Turns that seat the rocker before the plunger moves: 1/8.",
        fits=f.HYDRAULIC,
        without="0 turns",
    )
    cup_height: f.Length | None = None
    checking_cup_height: f.Length | None = None

    @property
    def cup_above_mm(self) -> float:
        """Its cup's height less the solid checking lifter's, in mm; 0 where none are given."""
        cup, checking = map(self.figure, CUP_KEYS)
        return 0.0 if cup is None or checking is None else cup - checking

    @property
    def hydraulic(self) -> bool:
        """Whether it has a plunger."""
        return bool(self.kind) and self.kind.startswith("hydraulic")

    @property
    def solid(self) -> bool:
        """Whether it has none."""
        return bool(self.kind) and self.kind.startswith("solid")

    def _own_faults(self) -> Iterator[Fault]:
        yield from super()._own_faults()
        if self.solid:
            plunger = [k for k in (*WINDOW_KEYS, "plunger_travel", "seat_turns") if self.has(k)]
            if plunger:
                problem = f"a {quoted(self.kind)} lifter has no plunger: {listed(plunger)}"
                yield Fault("kind", problem, "leave it out, or say which hydraulic kind it is")
        else:
            yield from self._window()
        if abs(self.cup_above_mm) > MOST_APART_MM:
            problem = f"stands {show_length(abs(self.cup_above_mm))} off {CUP_KEYS[0]}"
            yield Fault(CUP_KEYS[1], problem, "measure both over the foot or roller")

    def _window(self) -> Iterator[Fault]:
        if self.kind is not None and not any(map(self.has, WINDOW_KEYS)):
            either = " or ".join(map(listed, self.ascending))
            yield Fault("", "has no window", f"give {either}, from the spec sheet")
        seat, least = self.figure("seat_turns"), self.figure("least_turns")
        if seat is not None and least is not None and seat >= least:
            problem = f"{quoted(self.seat_turns)} isn't less than least_turns"
            yield Fault("seat_turns", problem, "what seats the rocker makes no preload")
        preload, travel = self.figure("most_preload"), self.figure("plunger_travel")
        if travel is not None and preload is not None and preload > travel:
            whole = quoted(self.plunger_travel)
            problem = f"{quoted(self.most_preload)} is more than plunger_travel, {whole}"
            yield Fault("most_preload", problem, "check both on the spec sheet")


_LENGTH_SETS_PRELOAD = f.HYDRAULIC & f.MOUNTED & ~f.STUD
_SOLD = (
    f.filled("pushrods.sold_from") | f.filled("pushrods.sold_to") | f.filled("pushrods.sold_step")
)
_UNNAMED = "the walk can judge, but can't name the pushrods to buy"
_first = partial(f.asked, needed=f.ALWAYS, source=f.READ, example='intake = "218.5 mm"')
_sold = partial(f.asked, fits=_LENGTH_SETS_PRELOAD, needed=_SOLD, without=_UNNAMED)


class PushrodsTable(f.Table):
    """[pushrods]: the lengths to begin with, and those sold or on hand."""

    form_title = "Pushrods"
    together = ((SOLD_KEYS, "the lengths sold have a from, a to and a step"),)
    ascending = (("sold_from", "sold_to"),)

    intake: f.Length = _first(
        "Intake pushrod | In the engine, or to begin with: 218.5 mm, 8.150 in."
    )
    exhaust: f.Length = _first(
        "Exhaust pushrod | The same for the exhaust valves: 218.5 mm, 8.150 in."
    )
    sold_from: f.Length | None = _sold("Sold from | The shortest length sold: 214 mm, 8.000 in.")
    sold_to: f.Length | None = _sold("Sold to | The longest length sold: 226 mm, 8.400 in.")
    sold_step: f.Length | None = _sold("In steps of | From one to the next: 0.5 mm, 0.050 in.")
    on_hand: Annotated[list[f.OnHand], Field(min_length=1, max_length=1000)] | None = f.asked(
        "On hand | Each with its unit, a comma and a space between: 218 mm, 8 of 218.5 mm.",
        fits=_LENGTH_SETS_PRELOAD & ~_SOLD,
        without=_UNNAMED,
        source=f.READ,
    )

    def length(self, kind: ValveKind) -> float:
        """The length to begin with on valves of a kind, in mm."""
        return length_mm(self.intake if kind is ValveKind.INTAKE else self.exhaust)

    def lengths(self) -> tuple[float, ...]:
        """The lengths sold or on hand in mm, shortest first; none where neither is given."""
        if self.on_hand is not None:
            return tuple(sorted({f.on_hand(text)[0] for text in self.on_hand}))
        first, last, step = map(self.figure, SOLD_KEYS)
        if first is None or last is None or step is None:
            return ()
        return sold_lengths(first, last, step)

    def stock(self) -> dict[float, int]:
        """How many there are of each length on hand in mm; a length not in it has no limit."""
        counts: dict[float, list[int | None]] = {}
        for mm, count in map(f.on_hand, self.on_hand or ()):
            counts.setdefault(mm, []).append(count)
        return {mm: sum(n or 0 for n in each) for mm, each in counts.items() if None not in each}

    def _own_faults(self) -> Iterator[Fault]:
        sold = [key for key in SOLD_KEYS if self.has(key)]
        if sold and self.has("on_hand"):
            instead = "give the lengths sold or those on hand, not both"
            yield Fault("on_hand", f"stands beside {listed(sold)}", instead)
        yield from super()._own_faults()
        try:
            self.lengths()
        except ValueError as error:
            yield Fault("sold_step", str(error), "allow at most 1,000")


_TELLS = {"turns": "pushrod", "lash": "pushrod", "zero_lash": "pushrod", "turns_out": "shortest"}
"""What a reading can tell, and what it needs beside it."""


COUNTED = "counted"


@dataclass(frozen=True)
class Counted:
    """A valve's reading, and how it was got; one at zero lash counts as what seats the rocker."""

    reading: Reading
    source: str = COUNTED

    @property
    def counted(self) -> bool:
        """Whether turns were counted, and not a length found that leaves no lash."""
        return self.source == COUNTED

    @property
    def lash_left(self) -> bool:
        """Whether it only says that lash was left at the click: the pushrod is too short."""
        return self.counted and self.reading.turns <= 0


class ReadingTable(f.Table):
    """[[reading]]: one valve's turns, its lash over a solid checking lifter, or a zero-lash length.

    `turns`: counted with `pushrod` from zero lash to the click. `lash`: gauged at the valve,
    a solid checking lifter in, rocker at its torque. `zero_lash`: `pushrod` is the length of a
    checking pushrod at zero lash, rocker at its torque. `turns_out`: the same by its own
    turns from its `shortest` length, `pitch` each.
    """

    valve: Annotated[f.ValveName, Field(examples=['valve = "1I"'])]
    pushrod: Annotated[f.Length | None, Field(examples=['pushrod = "218.0 mm"'])] = None
    turns: Annotated[f.Turns | None, Field(examples=['turns = "7/8"'])] = None
    lash: f.Length | None = None
    zero_lash: bool | None = None
    shortest: f.Length | None = None
    turns_out: f.Turns | None = None
    pitch: f.Length | None = None

    def take(self, ratio: float, cup_above_mm: float, seat_turns: float) -> Counted:
        """Make it ready for the arithmetic; `seat_turns` seat the rocker and move no plunger."""
        valve = Valve.parse(self.valve)
        if self.turns is not None:
            return Counted(Reading(valve, length_mm(self.pushrod), turns(self.turns)))
        if self.turns_out is not None:
            pitch = self.figure("pitch") or CHECKING_PITCH_MM
            zero = checking_pushrod_mm(f"{self.shortest} + {self.turns_out}", pitch)
            each = self.pitch or "0.050 in, two makers'"
            source = f"a checking pushrod {self.turns_out} turns out at zero lash ({each} each)"
        elif self.lash is None:
            zero, source = length_mm(self.pushrod), "a checking pushrod at zero lash"
        else:
            lash = length_mm(self.lash)
            zero = length_from_lash(length_mm(self.pushrod), lash, ratio, 0.0, cup_above_mm)
            source = f"from {self.lash} of lash over a solid checking lifter (lash / ratio)"
        return Counted(Reading(valve, zero, seat_turns, 0.0), source)

    def _own_faults(self) -> Iterator[Fault]:
        forms = [key for key in _TELLS if self.has(key)]
        if len(forms) != 1:
            problem = f"{' and '.join(forms)} stand side by side" if forms else "is missing"
            key = forms[1] if forms else "turns"
            yield Fault(key, problem, f"give one of {', '.join(_TELLS)}")
            return
        form = forms[0]
        yield from self.missing((_TELLS[form],), f"{form} needs it")
        if self.zero_lash is False:
            yield Fault("zero_lash", "is false", "write true, or give turns or lash")
        if self.lash is not None and length_mm(self.lash) > MOST_LASH_MM:
            problem = f"{quoted(self.lash)} is more than {show_length(MOST_LASH_MM)}"
            yield Fault("lash", problem, "take a longer pushrod, and gauge again")
        for key in ("shortest", "pitch"):
            if self.has(key) and form != "turns_out":
                yield Fault(key, f"has no meaning beside {form}", "leave it out")
