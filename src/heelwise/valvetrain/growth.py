"""Cold to hot: what block, gasket and head grow less the pushrod; preload hot, and lash cold."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from heelwise.wording import MM_PER_INCH, Length, text

CALLISTER = "Callister, Materials Science and Engineering, Appendix B, Table B.6"
FROM_MEMORY = "from memory"

LEFT_OUT = "Valve stems are left out: hot, they can add thousandths of preload, or take lash"
# 100 mm of stainless stem 300 K hotter than its head grows 0.5 mm, 0.3 mm of it at the pushrod.


class Material(NamedTuple):
    """Linear growth per kelvin near room temperature, and where that figure comes from."""

    per_kelvin: float
    source: str


MATERIALS: Mapping[str, Material] = {
    "aluminum 356.0": Material(21.5e-6, CALLISTER),
    "aluminum 319.0": Material(22.0e-6, FROM_MEMORY),
    "copper C11000": Material(17.0e-6, CALLISTER),
    "gray iron": Material(11.4e-6, CALLISTER),
    "stainless steel 304": Material(17.2e-6, CALLISTER),
    "steel 1020": Material(11.7e-6, CALLISTER),
    "steel 4130": Material(11.5e-6, FROM_MEMORY),
    "steel 4140": Material(12.3e-6, CALLISTER),
}

CHART_SOURCE = "one chart, printed in two magazines; a starting point"

CHART_MM: Mapping[str, float] = {
    "iron block, iron heads": 0.002 * MM_PER_INCH,
    "iron block, aluminum heads": -0.006 * MM_PER_INCH,
    "aluminum block, aluminum heads": -0.012 * MM_PER_INCH,
}
"""What to add to a lash specified hot, to set it cold, in mm at the valve (`CHART_SOURCE`)."""


@dataclass(frozen=True)
class Part:
    """A part of the height: its length in mm cold, its material, °C cold and hot."""

    length_mm: float
    material: Material
    cold_c: float = 20.0
    hot_c: float = 90.0

    @property
    def growth_mm(self) -> float:
        """What it grows from cold to hot; below 0 where hot is the colder."""
        return self.material.per_kelvin * self.length_mm * (self.hot_c - self.cold_c)


@dataclass(frozen=True)
class HotPreload:
    """Preload hot in mm, and remarks; worked out from handbook figures, a lead."""

    hot_mm: float
    notes: tuple[str, ...]


def gap_growth(stack: Iterable[Part], pushrod: Part) -> float:
    """Preload lost (lash gained, at the pushrod) from cold to hot, in mm: α·L·ΔT summed.

    Of what carries the rocker up from the lifter (block, gasket, head), less the pushrod's own.
    """
    return sum(part.growth_mm for part in stack) - pushrod.growth_mm


def hot_preload(
    cold_mm: float,
    gap_growth_mm: float,
    plunger_travel_mm: float | None = None,
    least_mm: float | None = None,
    most_mm: float | None = None,
) -> HotPreload:
    """The preload hot, held against the window and the whole plunger travel, in mm."""
    hot = cold_mm - gap_growth_mm
    notes: list[str] = []
    beyond = "Hot, the preload {} to {}, {} the {} allowed (worked out)."
    if hot <= 0:
        lash = Length(abs(hot))
        notes.append(text("Hot, the preload is gone: {} of lash instead (worked out).", lash))
    elif least_mm is not None and hot < least_mm <= cold_mm:
        notes.append(text(beyond, "falls", Length(hot), "below", Length(least_mm)))
    if most_mm is not None and hot > most_mm >= cold_mm:
        notes.append(text(beyond, "rises", Length(hot), "above", Length(most_mm)))
    if plunger_travel_mm is not None and hot >= plunger_travel_mm:
        notes.append("The plunger is bottomed hot (worked out).")
    return HotPreload(hot, tuple(notes))


def lash_cold(hot_mm: float, gap_growth_mm: float, ratio: float) -> float:
    """Lash to set cold at the valve for a lash specified hot: hot - ratio x growth of the gap.

    The gap grows at the pushrod; the gauge measures at the valve. The valve's growth is left out.
    """
    return hot_mm - ratio * gap_growth_mm
