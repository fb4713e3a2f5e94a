"""Cold to hot: what block, gasket and head grow, less what the pushrod grows."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import isfinite
from types import MappingProxyType

from heelwise.valvetrain.figures import length_text

CALLISTER = "Callister, Materials Science and Engineering, Appendix B, Table B.6"
FROM_MEMORY = "from memory"


@dataclass(frozen=True)
class Material:
    """A material: linear growth per kelvin, and where that figure comes from."""

    name: str
    per_kelvin: float
    source: str


MATERIALS: Mapping[str, Material] = MappingProxyType(
    {
        each.name: each
        for each in (
            Material("aluminium 356.0", 21.5e-6, CALLISTER),
            Material("aluminium 319.0", 22.0e-6, FROM_MEMORY),
            Material("copper C11000", 17.0e-6, CALLISTER),
            Material("grey iron", 11.4e-6, CALLISTER),
            Material("stainless steel 304", 17.2e-6, CALLISTER),
            Material("steel 1020", 11.7e-6, CALLISTER),
            Material("steel 4130", 11.5e-6, FROM_MEMORY),
            Material("steel 4140", 12.3e-6, CALLISTER),
        )
    }
)
"""Materials by name, growth per kelvin near room temperature."""


@dataclass(frozen=True)
class Part:
    """A part of the height: its length in mm cold, its material, °C cold and hot."""

    length_mm: float
    material: Material
    cold_c: float = 20.0
    hot_c: float = 90.0

    def __post_init__(self) -> None:
        if not (isfinite(self.length_mm) and self.length_mm > 0):
            raise ValueError(f"length {self.length_mm!r} mm should be above 0")
        if not (isfinite(self.cold_c) and isfinite(self.hot_c)):
            raise ValueError("temperatures should be numbers, in degrees Celsius")


@dataclass(frozen=True)
class HotPreload:
    """Preload cold and hot in mm, the plunger travel left hot (None: unknown), and remarks."""

    cold_mm: float
    hot_mm: float
    left_mm: float | None
    notes: tuple[str, ...]


def material(name: str) -> Material:
    """Look a material up by name.

    Args:
        name: As in `MATERIALS`.

    Returns:
        The material with its source.

    Raises:
        ValueError: There is none of that name; the message lists those there are.
    """
    try:
        return MATERIALS[name]
    except KeyError:
        raise ValueError(
            f"material {name!r} is not known: use one of {', '.join(sorted(MATERIALS))}"
        ) from None


def part_growth(part: Part) -> float:
    """Give what one part grows from cold to hot: α·L·ΔT.

    Args:
        part: The part.

    Returns:
        Growth in mm; below 0 where hot is the colder.
    """
    return part.material.per_kelvin * part.length_mm * (part.hot_c - part.cold_c)


def gap_growth(stack: Iterable[Part], pushrod: Part) -> float:
    """Give what the room for the pushrod grows beyond the pushrod itself.

    Args:
        stack: What carries the rocker up from the lifter: block, gasket and head.
        pushrod: The pushrod.

    Returns:
        mm of preload lost (lash gained, at the pushrod) from cold to hot; below 0 where
        the pushrod grows more.
    """
    return sum(part_growth(part) for part in stack) - part_growth(pushrod)


def hot_preload(
    cold_mm: float,
    gap_growth_mm: float,
    plunger_travel_mm: float | None = None,
    least_mm: float | None = None,
    most_mm: float | None = None,
) -> HotPreload:
    """Give the preload hot, against the window and the plunger's travel.

    Args:
        cold_mm: Preload cold, in mm.
        gap_growth_mm: As `gap_growth` gives it.
        plunger_travel_mm: Whole plunger travel in mm, or None if not known.
        least_mm: Least preload allowed, in mm, or None.
        most_mm: Most preload allowed, in mm, or None.

    Returns:
        Hot preload, the travel left, and what is to be said about them. All worked out
        from handbook figures: a lead, not a reading.

    Raises:
        ValueError: The cold preload is below 0 or no number.
    """
    if not (isfinite(cold_mm) and cold_mm >= 0):
        raise ValueError(f"preload {cold_mm!r} mm should be 0 or more")
    hot = cold_mm - gap_growth_mm
    left = None if plunger_travel_mm is None else plunger_travel_mm - max(hot, 0.0)
    notes: list[str] = []
    if hot <= 0:
        lash = length_text(abs(hot))
        notes.append(f"No preload is left hot: {lash} of lash instead (worked out).")
    elif least_mm is not None and hot < least_mm <= cold_mm:
        notes.append(
            f"Hot, the preload falls to {length_text(hot)}, below the {length_text(least_mm)} "
            "allowed (worked out)."
        )
    if most_mm is not None and hot > most_mm >= cold_mm:
        notes.append(
            f"Hot, the preload rises to {length_text(hot)}, above the {length_text(most_mm)} "
            "allowed (worked out)."
        )
    if left is not None and left <= 0:
        notes.append("The plunger is bottomed hot (worked out).")
    return HotPreload(cold_mm, hot, left, tuple(notes))
