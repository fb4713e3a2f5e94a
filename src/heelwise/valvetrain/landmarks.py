"""Where a crank angle is, in words a person at the engine can use."""

from __future__ import annotations

from heelwise.valvetrain.arcs import wrap
from heelwise.valvetrain.engine import Engine

SHOWN_DEG = 0.05
"""Angles are shown to a tenth of a degree: nearer than this is the same place."""


def landmark(engine: Engine, crank_deg: float) -> str:
    """Say where a crank angle is by the cylinder whose TDC on compression is nearest.

    Args:
        engine: the engine.
        crank_deg: crank angle, in degrees.

    Returns:
        Such as "cylinder 6 at TDC on compression (1 at overlap)" or "40° after cylinder 1 TDC
        on compression"; of two equally near the one already passed.
    """
    past = {cylinder: _signed(crank_deg - engine.phase(cylinder)) for cylinder in _all(engine)}
    least = min(map(abs, past.values()))
    nearest = max(deg for deg in past.values() if abs(deg) - least < 1e-6)
    named = [cylinder for cylinder, deg in past.items() if abs(deg - nearest) < 1e-6]
    if abs(nearest) >= SHOWN_DEG:
        side = "after" if nearest > 0 else "before"
        return f"{degrees(abs(nearest))} {side} {cylinders(named)} TDC on compression"
    overlap = [c for c, deg in past.items() if abs(abs(deg) - 360.0) < SHOWN_DEG]
    beside = f" ({_listed(overlap)} at overlap)" if overlap else ""
    return f"{cylinders(named)} at TDC on compression{beside}"


def degrees(deg: float) -> str:
    """Degrees as shown: to a tenth, without needless decimals.

    Args:
        deg: degrees.

    Returns:
        Such as "63.5°" or "90°".
    """
    return f"{round(deg, 1) + 0.0:g}°"


def cylinders(numbers: list[int]) -> str:
    """Cylinders by name.

    Args:
        numbers: their numbers, at least one.

    Returns:
        "cylinder 6" or "cylinders 1 and 4".
    """
    return f"{'cylinder' if len(numbers) == 1 else 'cylinders'} {_listed(numbers)}"


def _listed(numbers: list[int]) -> str:
    *most, last = map(str, numbers)
    return f"{', '.join(most)} and {last}" if most else last


def _all(engine: Engine) -> range:
    return range(1, engine.cylinders + 1)


def _signed(deg: float) -> float:
    """The shorter way round, above -360 to 360."""
    past = wrap(deg)
    return past - 720.0 if past > 360.0 else past
