"""Pushrods as received: each measured against the order, swapped labels caught."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

from heelwise.valvetrain.figures import MM_PER_INCH, length_text
from heelwise.valvetrain.valves import Valve

TOLERANCE_MM = 0.005 * MM_PER_INCH
"""How far a pushrod may be from the length ordered. Our own figure: a fifth of a sold step."""

_SLACK_MM = 1e-9


@dataclass(frozen=True)
class Received:
    """What measuring the received pushrods showed."""

    right: tuple[Valve, ...]
    wrong: tuple[Valve, ...]
    not_measured: tuple[Valve, ...]
    swaps: tuple[tuple[Valve, Valve], ...]
    notes: tuple[str, ...]


def check_received(
    ordered: Mapping[Valve, float],
    measured: Mapping[Valve, float],
    tolerance_mm: float = TOLERANCE_MM,
) -> Received:
    """Compare pushrods as measured, valve by valve, with the lengths ordered for them.

    Args:
        ordered: Length ordered for each valve, in mm.
        measured: Length of the pushrod labelled for each valve, in mm.
        tolerance_mm: Difference allowed, in mm, itself included.

    Returns:
        Which are right, wrong or not measured; pairs whose labels look changed over: each
        has the other's length.

    Raises:
        ValueError: A length measured is not above 0.
    """
    for valve, length in measured.items():
        if not (isfinite(length) and length > 0):
            raise ValueError(f"{valve}: pushrod length {length!r} mm should be above 0")

    def fits(length: float, valve: Valve) -> bool:
        return abs(length - ordered[valve]) <= tolerance_mm + _SLACK_MM

    here = sorted(valve for valve in ordered if valve in measured)
    wrong = [valve for valve in here if not fits(measured[valve], valve)]
    waiting = list(wrong)
    swaps: list[tuple[Valve, Valve]] = []
    while waiting:
        one = waiting.pop(0)
        other = next(
            (v for v in waiting if fits(measured[one], v) and fits(measured[v], one)), None
        )
        if other is not None:
            waiting.remove(other)
            swaps.append((one, other))
    return Received(
        tuple(valve for valve in here if valve not in wrong),
        tuple(wrong),
        tuple(sorted(valve for valve in ordered if valve not in measured)),
        tuple(swaps),
        _notes(ordered, measured, wrong, swaps),
    )


def _notes(
    ordered: Mapping[Valve, float],
    measured: Mapping[Valve, float],
    wrong: list[Valve],
    swaps: list[tuple[Valve, Valve]],
) -> tuple[str, ...]:
    notes = [
        f"{one} and {other}: each has the other's length; their labels look changed over."
        for one, other in swaps
    ]
    explained = {valve for pair in swaps for valve in pair}
    notes += [
        f"{valve}: {length_text(measured[valve])} measured, {length_text(ordered[valve])} ordered; "
        "measure it again the way the order states, then change it."
        for valve in wrong
        if valve not in explained
    ]
    notes += [
        f"{valve}: nothing was ordered for it." for valve in sorted(set(measured) - set(ordered))
    ]
    return tuple(notes)
