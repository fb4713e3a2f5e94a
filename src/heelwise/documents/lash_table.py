"""[lash] of a setup: solid lifters' lash as their sheet gives it, and what it grows by."""

from collections.abc import Iterator, Mapping
from typing import Annotated, Literal

from pydantic import Field

from heelwise.documents.faults import Fault, quoted
from heelwise.documents.growth_table import STACK_KEYS, StackTable, stack_faults
from heelwise.documents.model_faults import did_you_mean
from heelwise.documents.quantities import length_mm, mm_or_none
from heelwise.documents.typed_fields import Length, ShortLine
from heelwise.valvetrain.solid import CHART_MM, CHART_SOURCE, lash_cold, lash_hot
from heelwise.valvetrain.valves import Kind


class LashTable(StackTable):
    """[lash]: lash at the valve, hot or cold, with a chart's line or the materials between."""

    intake: Annotated[Length, Field(examples=['intake = "0.020 in"'])]
    exhaust: Annotated[Length, Field(examples=['exhaust = "0.022 in"'])]
    measured: Annotated[Literal["hot", "cold"], Field(examples=['measured = "hot"'])]
    tolerance: Length | None = None
    chart: ShortLine | None = None

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
            growth = self.gap_growth_mm(pushrod_mm)
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
        growth = self.gap_growth_mm(pushrod_mm)
        return None if growth is None else lash_hot(sheet, growth, ratio)

    @property
    def growth_said(self) -> str:
        """Where the difference between hot and cold comes from, in words."""
        if self.chart is not None:
            return f"{CHART_SOURCE} ({self.chart})"
        return super().growth_said


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
    yield from _chart(table)
    yield from _stack(table)
    yield from _tolerance(table)


def _chart(table: Mapping[str, object]) -> Iterator[Fault]:
    chart = table.get("chart")
    if isinstance(chart, str) and chart not in CHART_MM:
        instead = did_you_mean(chart, CHART_MM, "it has")
        yield Fault("lash.chart", f"the chart has no {quoted(chart)}", instead)


def _stack(table: Mapping[str, object]) -> Iterator[Fault]:
    given = [key for key in STACK_KEYS if key in table]
    if given and "chart" in table:
        problem = f"stands beside {', '.join(given)}"
        yield Fault("lash.chart", problem, "give the chart's line or the materials, not both")
    yield from stack_faults(table, "lash")
    if table.get("measured") == "hot" and not given and "chart" not in table:
        problem = "is hot, and nothing says what to set cold"
        instead = f"add {', '.join(STACK_KEYS)}, or a chart's line"
        yield Fault("lash.measured", problem, instead)


def _tolerance(table: Mapping[str, object]) -> Iterator[Fault]:
    allowed = mm_or_none(table.get("tolerance"))
    for key in ("intake", "exhaust"):
        lash = mm_or_none(table.get(key))
        if allowed is not None and lash is not None and allowed >= lash:
            problem = f"{quoted(table['tolerance'])} is not less than {key}"
            yield Fault("lash.tolerance", problem, "check its decimal point and unit")
