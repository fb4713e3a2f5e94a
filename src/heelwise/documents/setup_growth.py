"""[growth] and [lash] of a setup: what grows from cold to hot, and solid lifters' lash."""

from collections.abc import Iterator
from functools import partial
from typing import Annotated, Literal

from pydantic import Field

from heelwise.documents import fields as f
from heelwise.documents.faults import Fault, did_you_mean, quoted
from heelwise.documents.quantities import length_mm
from heelwise.valvetrain import growth as g
from heelwise.valvetrain.engine import ValveKind
from heelwise.wording import listed

STACK_KEYS = ("block", "block_length", "heads", "heads_length", "pushrod")
"""What carries the rocker up from the lifter, and the pushrod: given all together."""

GASKET_KEYS = ("gasket", "gasket_length")
"""The head gasket, where it is to count: its material and compressed thickness."""
_CARRIED = ("block", "heads", "gasket")

_Celsius = Annotated[float, Field(ge=-60, le=400)]
_HOT = f.SOLID & f.holds("lash.measured", "hot")
_STACKED = _HOT & f.filled("lash.block") | f.HYDRAULIC & f.filled("growth.block")
"""Where the materials are asked for: of [lash] or of [growth], whichever the lifter has."""
_metal = partial(f.asked, fits=_STACKED, needed=f.ALWAYS, choices=tuple(g.MATERIALS))
_height = partial(f.asked, fits=_STACKED, needed=f.ALWAYS, source=f.READ)
_BETWEEN = "How much of its height sits between cam and rocker: 90 mm, 3.5 in."


class StackTable(f.Table):
    """The parts between lifter and rocker, their materials and temperatures."""

    together = tuple((keys, f"{listed(keys)} go together") for keys in (STACK_KEYS, GASKET_KEYS))

    block: f.Metal | None = f.asked(
        "Block | Its material: what changes cold to hot is worked out from what grows.",
        fits=_HOT | f.HYDRAULIC,
        without="nothing is worked out from materials",
        choices=tuple(g.MATERIALS),
    )
    block_length: f.Length | None = _height(f"Block height | {_BETWEEN}")
    gasket: f.Metal | None = None
    gasket_length: f.Length | None = None
    heads: f.Metal | None = _metal("Heads | Their material.")
    heads_length: f.Length | None = _height(f"Heads height | {_BETWEEN}")
    pushrod: f.Metal | None = _metal("Pushrods | Their material.")
    cold_c: _Celsius = 20.0  # a shop's, and a running engine's: common practice
    hot_c: _Celsius = 90.0

    def gap_growth_mm(self, pushrod_mm: float) -> float | None:
        """What a pushrod's room grows beyond it cold to hot, in mm: preload lost, lash gained.

        Below 0 where the pushrod grows more; None where the materials aren't given.
        """
        if not all(getattr(self, key) for key in STACK_KEYS):
            return None
        carried = [(self.figure(f"{part}_length"), getattr(self, part)) for part in _CARRIED]
        parts = [self._part(mm, name) for mm, name in carried if mm is not None]
        return g.gap_growth(parts, self._part(pushrod_mm, str(self.pushrod)))

    @property
    def growth_source(self) -> str:
        """Where the growth comes from, in words."""
        names = filter(None, (self.block, self.gasket, self.heads, self.pushrod))
        sources = (f"{name}: {g.MATERIALS[name].source}" for name in dict.fromkeys(names))
        span = f"{self.cold_c:g} to {self.hot_c:g} °C"
        return f"worked out from growth, {span} ({'; '.join(sources)}). {g.LEFT_OUT}"

    def _part(self, mm: float, name: str) -> g.Part:
        return g.Part(mm, g.MATERIALS[name], self.cold_c, self.hot_c)

    def _own_faults(self) -> Iterator[Fault]:
        yield from super()._own_faults()
        for key in ("block", "gasket", "heads", "pushrod"):
            name = getattr(self, key)
            if name is not None and name not in g.MATERIALS:
                instead = did_you_mean(name, g.MATERIALS, "there are")
                yield Fault(key, f"there is no material {quoted(name)}", instead)
        cold, hot = self.cold_c, self.hot_c
        if cold is not None and hot is not None and hot <= cold:
            yield Fault("hot_c", f"isn't more than cold_c, {cold:g}", "give hot above cold")


class GrowthTable(StackTable):
    """[growth]: for hydraulic lifters, whose preload changes as the engine warms."""

    form_title = "Growth"
    on_form = f.HYDRAULIC

    def _own_faults(self) -> Iterator[Fault]:
        if not any(map(self.has, STACK_KEYS)):
            yield Fault("", "names no materials", f"add {', '.join(STACK_KEYS)}")
        yield from super()._own_faults()


_lash = partial(f.asked, needed=f.ALWAYS, example='intake = "0.020 in"')


class LashTable(StackTable):
    """[lash]: lash at the valve, hot or cold, with a chart's line or the materials between."""

    form_title = "Lash"
    on_form = f.SOLID

    intake: f.Length = _lash("Intake lash | At the valve: 0.50 mm, 0.020 in.")
    exhaust: f.Length = _lash("Exhaust lash | At the valve: 0.50 mm, 0.020 in.")
    measured: Literal["hot", "cold"] = f.asked(
        "Specified | Whether the sheet's lash is for a hot or a cold engine.",
        needed=f.ALWAYS,
        example='measured = "hot"',
    )
    tolerance: f.Length | None = f.asked(
        "Tolerance | How far a lash may be off either way: 0.03 mm, 0.001 in.",
        without="the procedure's",
    )
    chart: f.Metal | None = f.asked(
        f"Line of the chart | From {g.CHART_SOURCE}. Or give materials below.",
        fits=_HOT & ~f.filled("lash.block"),
        needed=f.ALWAYS,
        choices=tuple(g.CHART_MM),
    )

    def sheet_mm(self, kind: ValveKind) -> float:
        """The sheet's lash at the valves of a kind, in mm."""
        return length_mm(self.intake if kind is ValveKind.INTAKE else self.exhaust)

    def cold_mm(self, kind: ValveKind, pushrod_mm: float, ratio: float) -> float:
        """The lash to set cold, in mm at the valve; ValueError if it comes to no lash at all."""
        more = self._hot_to_cold_mm(pushrod_mm, ratio) if self.measured == "hot" else None
        cold = self.sheet_mm(kind) + (more or 0.0)
        if cold <= 0:
            raise ValueError("no lash is left cold: check lash.measured and the materials")
        return cold

    def hot_mm(self, kind: ValveKind, pushrod_mm: float, ratio: float) -> float | None:
        """The lash hot, in mm at the valve; None where nothing says how it grows."""
        more = 0.0 if self.measured == "hot" else self._hot_to_cold_mm(pushrod_mm, ratio)
        return None if more is None else self.sheet_mm(kind) - more

    def _hot_to_cold_mm(self, pushrod_mm: float, ratio: float) -> float | None:
        if self.chart is not None:
            return g.CHART_MM[self.chart]
        growth = self.gap_growth_mm(pushrod_mm)
        return None if growth is None else g.lash_cold(0.0, growth, ratio)

    @property
    def growth_source(self) -> str:
        """Where the difference between hot and cold comes from, in words."""
        if self.chart is not None:
            return f"{g.CHART_SOURCE} ({self.chart})"
        return super().growth_source

    def _own_faults(self) -> Iterator[Fault]:
        if self.chart is not None and self.chart not in g.CHART_MM:
            instead = did_you_mean(self.chart, g.CHART_MM, "it has")
            yield Fault("chart", f"the chart has no {quoted(self.chart)}", instead)
        given = [key for key in STACK_KEYS if self.has(key)]
        if given and self.has("chart"):
            instead = "give the chart's line or the materials, not both"
            yield Fault("chart", f"stands beside {', '.join(given)}", instead)
        yield from super()._own_faults()
        if self.measured == "hot" and not given and not self.has("chart"):
            instead = f"add {', '.join(STACK_KEYS)}, or a chart's line"
            yield Fault("", "is measured hot, and nothing says what to set cold", instead)
        tolerance = self.figure("tolerance")
        for key in ("intake", "exhaust"):
            lash = self.figure(key)
            if lash is not None and tolerance is not None and tolerance >= lash:
                problem = f"{quoted(self.tolerance)} isn't less than {key}"
                yield Fault("tolerance", problem, "check its decimal point and unit")
