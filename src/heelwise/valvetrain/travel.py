"""Plunger travel for one turn: measured, from the sheet, or worked out, in that order."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import hypot, isfinite, sqrt

from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.figures import COVERAGE, length_text, uniform

LEAST_STEP_MM = 1.27
"""0.050 in: the least difference between one valve's trial pushrods that measures travel."""

ZERO_LASH_MM = 0.025
"""Standard uncertainty of zero lash found by feel, at the pushrod. Our own figure."""

LENGTH_MM = 0.015
"""Standard uncertainty of one pushrod's length with a caliper. Our own figure."""

RATIO_SHARE = 0.02
"""Relative standard uncertainty of a rocker's stated ratio. Our own figure."""

LOOSE_SHARE = 0.15
"""Relative standard uncertainty from which a measured travel is called loose. Our own figure."""

_SLACK_MM = 1e-9
_LEAST_SLOPE = 1e-6  # turns per mm: below it a slope is rounding, not a reading


class Origin(StrEnum):
    """Where a travel per turn comes from."""

    MEASURED = "measured"
    SHEET = "sheet"
    WORKED_OUT = "worked out"


@dataclass(frozen=True)
class Trial:
    """One count of turns with one trial pushrod: length in mm, turns, resolution in turns."""

    valve: Valve
    pushrod_mm: float
    turns: float
    resolution: float = 0.125

    def __post_init__(self) -> None:
        if not (isfinite(self.pushrod_mm) and self.pushrod_mm > 0):
            raise ValueError(f"pushrod length {self.pushrod_mm!r} mm should be above 0")
        if not (isfinite(self.turns) and self.turns >= 0):
            raise ValueError(f"turns {self.turns!r} should be 0 or more")
        if not (isfinite(self.resolution) and self.resolution >= 0):
            raise ValueError(f"resolution {self.resolution!r} should be 0 turns or more")


@dataclass(frozen=True)
class Travel:
    """Plunger travel for one turn in mm, its standard uncertainty (None: unknown), its source."""

    mm: float
    origin: Origin
    uncertainty_mm: float | None
    source: str

    @property
    def said(self) -> str:  # moved
        """`source`."""
        return self.source


@dataclass(frozen=True)
class Fit:
    """A straight line through trials: slope in turns per mm and its standard uncertainty."""

    slope: float
    uncertainty: float
    trials: int
    valves: int


@dataclass(frozen=True)
class Predictions:
    """What one turn is said to give before it is measured, in mm, with what is used and why."""

    sheet_mm: float | None
    worked_out_mm: float | None
    pitch_mm: float | None
    used: Travel | None
    why: str


@dataclass(frozen=True)
class TravelInPlay:
    """The travel per turn in use, every candidate by rank, the largest in mm, and remarks."""

    used: Travel
    candidates: tuple[Travel, ...]
    largest_mm: float
    notes: tuple[str, ...]


def worked_out(pitch_mm: float, ratio: float) -> float:
    """Work out plunger travel for one turn from thread and lever: p·(1 + 1/r).

    The fulcrum goes down by the pitch. The valve, held shut by its spring, holds the
    other end, so the rocker swings about the valve tip and its pushrod end goes down by
    (r + 1)/r of the pitch. Worked from statics; no print of it was found.

    Args:
        pitch_mm: Thread pitch in mm, above 0.
        ratio: Rocker ratio, above 0.

    Returns:
        Plunger travel in mm for one turn.

    Raises:
        ValueError: The pitch or the ratio is not above 0.
    """
    _above_zero("thread pitch", pitch_mm, "mm")
    _above_zero("rocker ratio", ratio, "")
    return pitch_mm * (1.0 + 1.0 / ratio)


def fit(
    trials: Iterable[Trial],
    zero_lash_mm: float = ZERO_LASH_MM,
    length_mm: float = LENGTH_MM,
) -> Fit | None:
    """Fit turns against length by least squares: one slope, one intercept per valve.

    Each reading's uncertainty is made of its resolution (uniform, δ/√12), zero lash by
    feel and the length's. Where the readings scatter about the line by more than that,
    the slope's standard error from the residuals is taken instead.

    Args:
        trials: Trials in any order.
        zero_lash_mm: Standard uncertainty of zero lash at the pushrod, in mm.
        length_mm: Standard uncertainty of a pushrod's length, in mm.

    Returns:
        The line, or None where no valve was tried with two lengths.
    """
    rows = _centred(trials)
    spread = sum(length * length for _, length, _ in rows)
    if spread <= _SLACK_MM**2:
        return None
    slope = sum(length * turns for _, length, turns in rows) / spread
    from_length = slope * hypot(zero_lash_mm, length_mm)
    declared = [hypot(uniform(trial.resolution), from_length) for trial, _, _ in rows]
    standard = hypot(*(length * u for (_, length, _), u in zip(rows, declared, strict=True)))
    valves = len({trial.valve for trial, _, _ in rows})
    free = len(rows) - valves - 1
    squares = sum((turns - slope * length) ** 2 for _, length, turns in rows)
    own = spread * squares / free if free > 0 else 0.0  # as (slope uncertainty · spread)²
    return Fit(slope, max(standard, sqrt(own)) / spread, len(rows), valves)


def measured(
    trials: Iterable[Trial],
    zero_lash_mm: float = ZERO_LASH_MM,
    length_mm: float = LENGTH_MM,
) -> Travel | None:
    """Measure the travel per turn from this engine's own trials: the slope's reciprocal.

    Args:
        trials: Trials in any order.
        zero_lash_mm: Standard uncertainty of zero lash at the pushrod, in mm.
        length_mm: Standard uncertainty of a pushrod's length, in mm.

    Returns:
        The travel, or None unless one valve's trials differ by 0.050 in of pushrod or
        more and the longer pushrods took more turns.
    """
    kept = _counted(trials)
    if _widest_step(kept) < LEAST_STEP_MM - _SLACK_MM:
        return None
    line = fit(kept, zero_lash_mm, length_mm)
    if line is None or line.slope < _LEAST_SLOPE:
        return None
    mm = 1.0 / line.slope
    standard = line.uncertainty * mm * mm
    said = (
        f"a reading: measured from {_telling(kept)}, ± {length_text(COVERAGE * standard)} (k = 2)"
    )
    return Travel(mm, Origin.MEASURED, standard, said)


def _telling(trials: Sequence[Trial]) -> str:
    """How many trials of how many valves tell the slope: those with two lengths or more."""
    lengths: defaultdict[Valve, set[float]] = defaultdict(set)
    for trial in trials:
        lengths[trial.valve].add(trial.pushrod_mm)
    telling = [trial for trial in trials if len(lengths[trial.valve]) > 1]
    valves = len({trial.valve for trial in telling})
    return f"{len(telling)} trials of {_count(valves, 'valve')}"


def hint(trials: Iterable[Trial]) -> float | None:
    """Give the travel that too small a step points to; a hint, never used as measured.

    Args:
        trials: Trials in any order.

    Returns:
        Travel for one turn in mm, or None: no valve was tried with two lengths, the
        longer pushrods didn't take more turns, or the trials do measure it.
    """
    kept = _counted(trials)
    if _widest_step(kept) >= LEAST_STEP_MM - _SLACK_MM:
        return None
    line = fit(kept)
    if line is None or line.slope < _LEAST_SLOPE:
        return None
    return 1.0 / line.slope


def predictions(sheet_mm: float | None, pitch_mm: float | None, ratio: float | None) -> Predictions:
    """Give what the sheet, the lever and the pitch alone say, before a second trial.

    Nobody has measured yet which of them holds on this engine, so the figure used is
    given an uncertainty: uniform over the distance to the other one furthest away.

    Args:
        sheet_mm: Travel per turn on the maker's sheet, in mm.
        pitch_mm: Pitch of the thread that draws the fulcrum down, in mm.
        ratio: Rocker ratio.

    Returns:
        All that is known, with which is used and why a second trial settles it.

    Raises:
        ValueError: A figure is not above 0.
    """
    if sheet_mm is not None:
        _above_zero("travel per turn", sheet_mm, "mm")
    if pitch_mm is not None:
        _above_zero("thread pitch", pitch_mm, "mm")
    lever = worked_out(pitch_mm, ratio) if pitch_mm is not None and ratio is not None else None
    used: Travel | None = None
    if sheet_mm is not None:
        used = _from_sheet(sheet_mm, lever)
    elif pitch_mm is not None and ratio is not None:
        used = _from_lever(pitch_mm, ratio)
    return Predictions(sheet_mm, lever, pitch_mm, used, _why(used, sheet_mm, lever, pitch_mm))


def travel_in_play(
    trials: Iterable[Trial],
    sheet_mm: float | None,
    pitch_mm: float | None,
    ratio: float | None,
) -> TravelInPlay:
    """Rank every travel per turn that is known: measured, then the sheet's, then worked out.

    Args:
        trials: Trials in any order; may be empty.
        sheet_mm: Travel per turn on the maker's sheet, in mm, or None.
        pitch_mm: Pitch of the thread that draws the fulcrum down, in mm, or None.
        ratio: Rocker ratio, or None.

    Returns:
        The one in use, all candidates, the largest (for "never past"), and remarks: a
        measured value that disagrees with the others is said aloud with what to check.

    Raises:
        ValueError: A figure is not above 0, or nothing is known at all.
    """
    kept = _counted(trials)
    said = predictions(sheet_mm, pitch_mm, ratio)
    known: list[Travel] = []
    found = measured(kept)
    if found is not None:
        known.append(found)
    if sheet_mm is not None:
        known.append(_from_sheet(sheet_mm, said.worked_out_mm))
    if pitch_mm is not None and ratio is not None:
        known.append(_from_lever(pitch_mm, ratio))
    if not known:
        raise ValueError(
            "travel per turn is not known: give the sheet's figure, or the thread's pitch and "
            "the rocker's ratio, or try one valve with two pushrods 0.050 in or more apart"
        )
    notes = _notes(kept, found, known, said)
    return TravelInPlay(known[0], tuple(known), max(each.mm for each in known), notes)


def _counted(trials: Iterable[Trial]) -> tuple[Trial, ...]:
    """Leave out counts of 0: they say that lash was left, not how much."""
    return tuple(trial for trial in trials if trial.turns > 0)


def _notes(
    trials: Sequence[Trial],
    found: Travel | None,
    known: Sequence[Travel],
    said: Predictions,
) -> tuple[str, ...]:
    if found is None:
        notes = [said.why] if said.why else []
        if _widest_step(trials) >= LEAST_STEP_MM - _SLACK_MM:
            notes.append(
                "The trials don't measure the travel: the longer pushrod took no more turns. "
                + _CHECK
            )
        small = hint(trials)
        if small is not None:
            notes.append(
                f"A hint, not a measurement: the trials so far point to {length_text(small)} a "
                "turn, but their pushrods differ by less than 0.050 in (1.27 mm)."
            )
        return tuple(notes)
    return tuple(_disagreement(found, [each for each in known if each is not found]))


_CHECK = (
    "Check the thread's pitch; that the pushrod sat in its cup; that the lifter was unloaded "
    "between the trials; that the lengths were measured and not read from labels."
)


def _disagreement(found: Travel, others: Sequence[Travel]) -> list[str]:
    standard = found.uncertainty_mm or 0.0
    notes: list[str] = []
    if standard > LOOSE_SHARE * found.mm:
        notes.append(
            f"The measured travel is loose (one standard uncertainty is "
            f"{standard / found.mm:.0%} of it): trials further apart, or read finer, narrow it."
        )
    if others and all(abs(each.mm - found.mm) > COVERAGE * standard for each in others):
        told = " and ".join(f"{length_text(each.mm)} ({each.source})" for each in others)
        notes.append(
            f"The measured travel, {length_text(found.mm)} a turn, disagrees with {told} by more "
            f"than its own uncertainty, {length_text(COVERAGE * standard)} (k = 2). {_CHECK}"
        )
    return notes


def _from_sheet(sheet_mm: float, lever_mm: float | None) -> Travel:
    standard = None if lever_mm is None else uniform(abs(sheet_mm - lever_mm))
    return Travel(sheet_mm, Origin.SHEET, standard, "the maker's sheet")


def _from_lever(pitch_mm: float, ratio: float) -> Travel:
    mm = worked_out(pitch_mm, ratio)
    standard = hypot(uniform(mm - pitch_mm), RATIO_SHARE * pitch_mm / ratio)
    said = f"worked out (pitch {length_text(pitch_mm)}, ratio {ratio:g}: pitch × (1 + 1/ratio))"
    return Travel(mm, Origin.WORKED_OUT, standard, said)


def _why(
    used: Travel | None, sheet_mm: float | None, lever_mm: float | None, pitch_mm: float | None
) -> str:
    if used is None:
        return ""
    told = [f"{length_text(used.mm)} a turn is used ({used.source})"]
    if sheet_mm is not None and lever_mm is not None:
        told.append(f"the lever gives {length_text(lever_mm)} (worked out: pitch × (1 + 1/ratio))")
    if pitch_mm is not None:
        told.append(
            f"the thread's pitch alone is {length_text(pitch_mm)} (common practice, no source)"
        )
    return (
        "; ".join(told) + ". A second trial of one valve, with a pushrod 0.050 in or more longer "
        "or shorter, settles it: more pushrod by a known length is more turns by length / travel."
    )


def _centred(trials: Iterable[Trial]) -> list[tuple[Trial, float, float]]:
    by_valve: defaultdict[Valve, list[Trial]] = defaultdict(list)
    for trial in trials:
        by_valve[trial.valve].append(trial)
    rows: list[tuple[Trial, float, float]] = []
    for valve in sorted(by_valve):
        # Sorted, so that the order of the readings can't change a rounding.
        group = sorted(by_valve[valve], key=lambda t: (t.pushrod_mm, t.turns, t.resolution))
        length = sum(t.pushrod_mm for t in group) / len(group)
        turns = sum(t.turns for t in group) / len(group)
        rows += [(t, t.pushrod_mm - length, t.turns - turns) for t in group]
    return rows


def _widest_step(trials: Iterable[Trial]) -> float:
    by_valve: defaultdict[Valve, list[float]] = defaultdict(list)
    for trial in trials:
        by_valve[trial.valve].append(trial.pushrod_mm)
    return max((max(lengths) - min(lengths) for lengths in by_valve.values()), default=0.0)


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def _above_zero(name: str, value: float, unit: str) -> None:
    if not (isfinite(value) and value > 0):
        raise ValueError(f"{name} {value!r} {unit}".rstrip() + " should be a number above 0")
