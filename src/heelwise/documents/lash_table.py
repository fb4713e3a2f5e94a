"""[lash] of a setup: solid lifters' lash as their sheet gives it, and what it grows by."""

from collections.abc import Iterator, Mapping
from typing import Annotated, Literal

from pydantic import Field

from heelwise.documents.faults import Fault, quoted
from heelwise.documents.model_faults import did_you_mean
from heelwise.documents.quantities import QuantityFault, length_mm
from heelwise.documents.typed_fields import Length, ShortLine, Table
from heelwise.valvetrain.growth import MATERIALS, Part, gap_growth, material
from heelwise.valvetrain.solid import CHART_MM, CHART_SOURCE, lash_cold, lash_hot
from heelwise.valvetrain.valves import Kind

STACK_KEYS = ("block", "block_length", "heads", "heads_length", "pushrod")
"""What carries the rocker up from the lifter, and the pushrod: given all together."""

_Celsius = Annotated[float, Field(ge=-60, le=400)]


class LashTable(Table):
    """[lash]: lash at the valve, hot or cold, with a chart's line or the materials between."""

    intake: Annotated[Length, Field(examples=['intake = "0.020 in"'])]
    exhaust: Annotated[Length, Field(examples=['exhaust = "0.022 in"'])]
    measured: Annotated[Literal["hot", "cold"], Field(examples=['measured = "hot"'])]
    tolerance: Length | None = None
    chart: ShortLine | None = None
    block: ShortLine | None = None
    block_length: Length | None = None
    heads: ShortLine | None = None
    heads_length: Length | None = None
    pushrod: ShortLine | None = None
    cold_c: _Celsius = 20.0
    hot_c: _Celsius = 90.0

    def sheet_mm(self, kind: Kind) -> float:
        """The sheet's lash at the valves of a kind, in mm."""
        return length_mm(self.intake if kind is Kind.INTAKE else self.exhaust)

    def cold_mm(self, kind: Kind, pushrod_mm: float, ratio: float) -> float:
        """The lash to set cold, in mm at the valve.

        Args:
            kind: Intake or exhaust.
            pushrod_mm: The pushrod's length in mm.
            ratio: Rocker ratio.

        Raises:
            ValueError: It comes to no lash at all.
        """
        sheet = self.sheet_mm(kind)
        cold = sheet
        if self.measured == "hot":
            growth = self._growth_mm(pushrod_mm)
            if self.chart is not None:
                cold = sheet + CHART_MM[self.chart]
            elif growth is not None:
                cold = lash_cold(sheet, growth, ratio)
        if cold <= 0:
            raise ValueError("no lash is left cold: check lash.measured and the materials")
        return cold

    def hot_mm(self, kind: Kind, pushrod_mm: float, ratio: float) -> float | None:
        """The lash hot, in mm at the valve; None where nothing says how it grows."""
        sheet = self.sheet_mm(kind)
        if self.measured == "hot":
            return sheet
        if self.chart is not None:
            return sheet - CHART_MM[self.chart]
        growth = self._growth_mm(pushrod_mm)
        return None if growth is None else lash_hot(sheet, growth, ratio)

    @property
    def growth_said(self) -> str:
        """Where the difference between hot and cold comes from, in words."""
        if self.chart is not None:
            return f"{CHART_SOURCE} ({self.chart})"
        if self.block is None or self.heads is None or self.pushrod is None:
            return "nothing says how it grows"
        named = dict.fromkeys((self.block, self.heads, self.pushrod))
        sources = dict.fromkeys(f"{name}: {material(name).source}" for name in named)
        span = f"{self.cold_c:g} to {self.hot_c:g} °C"
        return f"worked out from growth, {span} ({'; '.join(sources)})"

    def _growth_mm(self, pushrod_mm: float) -> float | None:
        """What the room for the pushrod grows beyond it; None where materials aren't given."""
        stack = (self.block, self.block_length, self.heads, self.heads_length, self.pushrod)
        block, block_length, heads, heads_length, pushrod = stack
        if not (block and block_length and heads and heads_length and pushrod):
            return None
        parts = [
            self._part(length_mm(block_length), block),
            self._part(length_mm(heads_length), heads),
        ]
        return gap_growth(parts, self._part(pushrod_mm, pushrod))

    def _part(self, mm: float, name: str) -> Part:
        return Part(mm, material(name), self.cold_c, self.hot_c)


def lash_faults(raw: Mapping[str, object]) -> Iterator[Fault]:
    """Find what is wrong between [lash] and the other tables, and between its own keys.

    Args:
        raw: The setup as TOML gives it.

    Yields:
        The faults; none where there is no [lash].
    """
    table = raw.get("lash")
    if not isinstance(table, Mapping):
        return
    lifter = raw.get("lifter")
    kind = lifter.get("kind") if isinstance(lifter, Mapping) else None
    if isinstance(kind, str) and kind.startswith("hydraulic"):
        problem = f"a {quoted(kind)} lifter has preload, not lash"
        yield Fault("lash", problem, "leave the table out, or say which solid kind it is")
    yield from _names(table)
    yield from _stack(table)
    yield from _tolerance(table)


def _names(table: Mapping[str, object]) -> Iterator[Fault]:
    for key in ("block", "heads", "pushrod"):
        name = table.get(key)
        if isinstance(name, str) and name not in MATERIALS:
            instead = did_you_mean(name, MATERIALS, "there are")
            yield Fault(f"lash.{key}", f"there is no material {quoted(name)}", instead)
    chart = table.get("chart")
    if isinstance(chart, str) and chart not in CHART_MM:
        instead = did_you_mean(chart, CHART_MM, "it has")
        yield Fault("lash.chart", f"the chart has no {quoted(chart)}", instead)


def _stack(table: Mapping[str, object]) -> Iterator[Fault]:
    given = [key for key in STACK_KEYS if key in table]
    if given and "chart" in table:
        problem = f"stands beside {', '.join(given)}"
        yield Fault("lash.chart", problem, "give the chart's line or the materials, not both")
    for key in STACK_KEYS if given else ():
        if key not in table:
            yield Fault(f"lash.{key}", "is missing", f"add it: {', '.join(STACK_KEYS)} go together")
    if table.get("measured") == "hot" and not given and "chart" not in table:
        problem = "is hot, and nothing says what to set cold"
        instead = f"add {', '.join(STACK_KEYS)}, or a chart's line"
        yield Fault("lash.measured", problem, instead)


def _tolerance(table: Mapping[str, object]) -> Iterator[Fault]:
    allowed = _mm(table.get("tolerance"))
    for key in ("intake", "exhaust"):
        lash = _mm(table.get(key))
        if allowed is not None and lash is not None and allowed >= lash:
            problem = f"{quoted(table['tolerance'])} is not less than {key}"
            yield Fault("lash.tolerance", problem, "check its decimal point and unit")


def _mm(typed: object) -> float | None:
    try:
        return None if typed is None else length_mm(typed)
    except QuantityFault:
        return None
