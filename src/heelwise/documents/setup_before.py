"""[before] of a setup: the record a build begins from, and what earlier records know of it."""

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from heelwise.documents.entry_base import TurnsText
from heelwise.documents.faults import Fault
from heelwise.documents.fields import AboveZero, Length, ShortLine, Table, ValveName, asked, filled
from heelwise.documents.quantities import length_mm
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.travel import Origin, Travel
from heelwise.wording import Length as Mm
from heelwise.wording import Text, counted, joined, listed, text

Seal = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
_Seals = Annotated[list[Seal], Field(max_length=1000)]
_Names = Annotated[list[ShortLine], Field(max_length=1000)]
_Lengths = Annotated[list[Length], Field(max_length=1000)]
_PAIRS = (
    *(("travel_builds", "travel_seals"), ("length_builds", "length_seals")),
    *(("valves", each) for each in ("pushrods", "turns", "resolutions")),
)
"""Lists that go together, one for one."""


class BeforeTable(Table):
    """[before]: copied into a record's head as it begins, so that the record stands alone.

    `record`, `last_seal`: what it was begun from. `travel_per_turn`: what earlier builds of the
    rocker measured, with the standard uncertainty for another build. `intake`, `exhaust`: lengths
    that builds of this engine, heads and lifter ended with, shortest first. `not_used`: records
    passed over, and why. `valves` and what stands beside them: what each came to in `record`, for a
    re-check.
    """

    form_title = "Earlier build"
    on_form = filled("before.record")

    record: ShortLine | None = asked(
        "Begun from | The record this build is like; its last seal stands below.",
        without="nothing earlier",
        source="",
    )
    last_seal: Seal | None = asked(
        "Its last seal | As printed on its sheet.",
        needed=filled("before.record"),
        without="it can't be told which state of that record",
        source="",
    )
    engine: Literal["virtual"] | None = asked(
        "Engine | Virtual: a rehearsal, like the one it is begun from.",
        without="a real engine",
        source="",
    )
    travel_per_turn: Length | None = None
    travel_uncertainty: Length | None = None
    travel_builds: _Names | None = None
    travel_seals: _Seals | None = None
    intake: _Lengths | None = None
    exhaust: _Lengths | None = None
    length_builds: _Names | None = None
    length_seals: _Seals | None = None
    not_used: _Names | None = None
    valves: list[ValveName] | None = None
    pushrods: _Lengths | None = None
    turns: list[TurnsText] | None = None
    resolutions: list[AboveZero] | None = None

    def own_faults(self) -> Iterator[Fault]:
        """Lists that don't pair; a figure without its uncertainty."""
        for first, second in _PAIRS:
            one, other = getattr(self, first), getattr(self, second)
            if len(one or ()) != len(other or ()):
                problem = f"has {len(other or ())} for {len(one or ())} {first}"
                yield Fault(second, problem, "one for each")
        if self.has("travel_per_turn") != self.has("travel_uncertainty"):
            yield from self.missing(("travel_per_turn", "travel_uncertainty"), "they go together")

    @property
    def travel(self) -> Travel | None:
        """The travel per turn measured before, as the arithmetic takes it."""
        mm, spread = self.figure("travel_per_turn"), self.figure("travel_uncertainty")
        if mm is None or spread is None:
            return None
        builds = counted(len(self.travel_builds or ()), "earlier build")
        source = text("measured before: {} with this rocker, ± {}", builds, Mm(2 * spread))
        return Travel(mm, Origin.BEFORE, spread, source)

    def ended_with(self, kind: ValveKind) -> tuple[str, ...]:
        """The lengths that earlier builds of this engine ended with on a kind, as typed."""
        return tuple((self.intake if kind is ValveKind.INTAKE else self.exhaust) or ())

    @property
    def ended_text(self) -> Text:
        """Those lengths in words: "3 builds: intake 218.5 mm to 219.0 mm, exhaust 219.5 mm"."""
        parts: list[str] = []
        for name, lengths in (("intake", self.intake), ("exhaust", self.exhaust)):
            if lengths:
                span = [Mm(length_mm(each)) for each in dict.fromkeys((lengths[0], lengths[-1]))]
                parts.append(text(f"{name} {' to '.join('{}' for _ in span)}", *span))
        builds = counted(len(self.length_builds or ()), "build")
        return Text(f"{builds}: ", joined(", ", parts)) if parts else Text("")

    @property
    def ended_source(self) -> str:
        """Where those lengths come from."""
        builds = listed(self.length_builds or ())
        return f"earlier builds of this engine, heads and lifter: {builds}"

    def then(self, valve: Valve) -> tuple[str, str, float] | None:
        """A valve's pushrod, turns and their resolution in the record that this one re-checks."""
        columns = (self.pushrods or (), self.turns or (), self.resolutions or ())
        rows = dict(zip(self.valves or (), zip(*columns, strict=True), strict=True))
        return rows.get(str(valve))
