"""[growth] of a setup: what the room for a pushrod grows by from cold to hot, by materials."""

from collections.abc import Iterator, Mapping
from typing import Annotated

from pydantic import Field

from heelwise.documents.faults import Fault, quoted
from heelwise.documents.model_faults import did_you_mean
from heelwise.documents.quantities import length_mm
from heelwise.documents.typed_fields import Length, ShortLine, Table
from heelwise.valvetrain.growth import MATERIALS, Part, gap_growth, material

STACK_KEYS = ("block", "block_length", "heads", "heads_length", "pushrod")
"""What carries the rocker up from the lifter, and the pushrod: given all together."""

GASKET_KEYS = ("gasket", "gasket_length")
"""The head gasket, where it is to count: its material and compressed thickness."""

COLD_C, HOT_C = 20.0, 90.0
"""Temperatures where none are given: a shop's, and a running engine's (common practice)."""

_Celsius = Annotated[float, Field(ge=-60, le=400)]


class StackTable(Table):
    """The parts between lifter and rocker, their materials and temperatures."""

    block: ShortLine | None = None
    block_length: Length | None = None
    gasket: ShortLine | None = None
    gasket_length: Length | None = None
    heads: ShortLine | None = None
    heads_length: Length | None = None
    pushrod: ShortLine | None = None
    cold_c: _Celsius = COLD_C
    hot_c: _Celsius = HOT_C

    def gap_growth_mm(self, pushrod_mm: float) -> float | None:
        """What the room for the pushrod grows beyond the pushrod, cold to hot.

        Args:
            pushrod_mm: The pushrod's length in mm.

        Returns:
            mm at the pushrod: preload lost, or lash gained; below 0 where the pushrod grows
            more. None where the materials aren't given.
        """
        stack = (self.block, self.block_length, self.heads, self.heads_length, self.pushrod)
        block, block_length, heads, heads_length, pushrod = stack
        if not (block and block_length and heads and heads_length and pushrod):
            return None
        parts = [
            self._part(length_mm(block_length), block),
            self._part(length_mm(heads_length), heads),
        ]
        if self.gasket and self.gasket_length:
            parts.append(self._part(length_mm(self.gasket_length), self.gasket))
        return gap_growth(parts, self._part(pushrod_mm, pushrod))

    @property
    def growth_said(self) -> str:
        """Where the growth comes from, in words."""
        if self.block is None or self.heads is None or self.pushrod is None:
            return "nothing says how it grows"
        named = dict.fromkeys((self.block, self.gasket, self.heads, self.pushrod))
        by_source: dict[str, list[str]] = {}
        for name in filter(None, named):
            by_source.setdefault(material(name).source, []).append(name)
        told = (f"{', '.join(names)}: {source}" for source, names in by_source.items())
        span = f"{self.cold_c:g} to {self.hot_c:g} °C"
        return f"worked out from growth, {span} ({'; '.join(told)})"

    def _part(self, mm: float, name: str) -> Part:
        return Part(mm, material(name), self.cold_c, self.hot_c)


class GrowthTable(StackTable):
    """[growth]: for hydraulic lifters, whose preload changes as the engine warms."""


def stack_faults(table: Mapping[str, object], name: str) -> Iterator[Fault]:
    """Find what is wrong with the materials of a table, and which of its keys are missing.

    Args:
        table: The table as TOML gives it.
        name: The table's name, for the faults.

    Yields:
        The faults; none where no material is given at all.
    """
    for key in ("block", "gasket", "heads", "pushrod"):
        given = table.get(key)
        if isinstance(given, str) and given not in MATERIALS:
            instead = did_you_mean(given, MATERIALS, "there are")
            yield Fault(f"{name}.{key}", f"there is no material {quoted(given)}", instead)
    cold, hot = table.get("cold_c", COLD_C), table.get("hot_c", HOT_C)
    if isinstance(cold, int | float) and isinstance(hot, int | float) and hot <= cold:
        yield Fault(f"{name}.hot_c", f"is no more than cold_c, {cold:g}", "give hot above cold")
    yield from _together(table, name, STACK_KEYS)
    yield from _together(table, name, GASKET_KEYS)


def _together(table: Mapping[str, object], name: str, keys: tuple[str, ...]) -> Iterator[Fault]:
    if not any(key in table for key in keys):
        return
    for key in keys:
        if key not in table:
            yield Fault(f"{name}.{key}", "is missing", f"add it: {', '.join(keys)} go together")


def growth_faults(raw: Mapping[str, object]) -> Iterator[Fault]:
    """Find what is wrong between [growth] and the other tables, and between its own keys.

    Args:
        raw: The setup as TOML gives it.

    Yields:
        The faults; none where there is no [growth].
    """
    table = raw.get("growth")
    if not isinstance(table, Mapping):
        return
    lifter = raw.get("lifter")
    kind = lifter.get("kind") if isinstance(lifter, Mapping) else None
    if isinstance(kind, str) and kind.startswith("solid"):
        problem = f"a {quoted(kind)} lifter has lash, which [lash] grows"
        yield Fault("growth", problem, "write its materials in [lash]")
    if not any(key in table for key in STACK_KEYS):
        yield Fault("growth", "names no materials", f"add {', '.join(STACK_KEYS)}")
    yield from stack_faults(table, "growth")
