"""Trials: the line through counts made with different pushrods, and counts that can't be right."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import hypot, sqrt
from operator import itemgetter
from statistics import median

from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.figures import EIGHTH, SLACK_TURNS, turns_text, uniform
from heelwise.wording import Length, counted, text

# Our own figures, the first two standard uncertainties.
ZERO_LASH_MM = 0.025  # zero lash found by feel, at the pushrod
LENGTH_MM = 0.015  # one pushrod's length with a caliper
DISAGREE = 3.0  # counts so many standard uncertainties apart are not chance
FAR_TURNS = 0.375  # a count so far from its fellows is asked again: slips are mostly half a turn
LEAST_SLOPE = 1e-6  # turns per mm: below it a slope is rounding, not a reading

_SLACK_MM = 1e-9


@dataclass(frozen=True)
class Reading:
    """Turns counted on a valve with a pushrod in mm; the same length means the same pushrod.

    `resolution`: in turns; 0 for a length found at zero lash. `scatter`, of a valve not tried:
    standard deviations in mm of pushrod, each with its weight; they sum to 1.
    """

    valve: Valve
    pushrod_mm: float
    turns: float
    resolution: float = EIGHTH
    scatter: tuple[tuple[float, float], ...] = ()

    @property
    def pushrod(self) -> float:
        """What tells one pushrod from another: its length to a millionth of a mm."""
        return round(self.pushrod_mm, 6)

    def turns_with(self, pushrod_mm: float, slope: float) -> float:
        """The turns it would have taken with another pushrod, at so many turns per mm."""
        return self.turns + slope * (pushrod_mm - self.pushrod_mm)


@dataclass(frozen=True)
class Fit:
    """A straight line through trials: slope in turns per mm and its standard uncertainty."""

    slope: float
    uncertainty: float


@dataclass(frozen=True)
class OddReading:
    """A reading to count again, and why: it can't be right beside the others."""

    reading: Reading
    why: str


def fit(
    trials: Iterable[Reading], zero_lash_mm: float = ZERO_LASH_MM, length_mm: float = LENGTH_MM
) -> Fit | None:
    """Fit turns against length by least squares: one slope, one intercept per valve.

    Each reading brings its resolution (uniform, δ/√12) and zero lash; each pushrod its length's
    error once, to every valve tried with it. Where readings scatter by more, the slope's standard
    error is taken instead. None where no valve was tried with two lengths.
    """
    rows = _centered(trials)
    spread = sum(length * length for _, length, _ in rows)
    if spread <= _SLACK_MM**2:
        return None
    slope = sum(length * turns for _, length, turns in rows) / spread
    pushrods: defaultdict[float, float] = defaultdict(float)
    for trial, length, _ in rows:
        pushrods[trial.pushrod] += length
    parts = [
        length * hypot(uniform(trial.resolution), slope * zero_lash_mm) for trial, length, _ in rows
    ]
    standard = hypot(*parts, *(slope * length_mm * each for each in pushrods.values()))
    free = len(rows) - len({trial.valve for trial, _, _ in rows}) - 1
    squares = sum((turns - slope * length) ** 2 for _, length, turns in rows)
    own = sqrt(spread * squares / free) if free > 0 else 0.0
    # A few residuals are often larger than expected: only what chance seldom does counts.
    seldom = sqrt(1.0 + 3.0 * sqrt(2.0 / free)) if free > 0 else 1.0
    return Fit(slope, (own if own > seldom * standard else standard) / spread)


def furthest(trials: Sequence[Reading], slope: float) -> Reading:
    """The trial that lies furthest from its valve's own line of a given slope."""
    return max(_centered(trials), key=lambda row: abs(row[2] - row[1] * slope))[0]


def telling(trials: Sequence[Reading]) -> str:
    """How many trials of how many valves tell the slope: those with two lengths or more."""
    groups = [group for group in _by_valve(trials).values() if len({t.pushrod for t in group}) > 1]
    return f"{sum(map(len, groups))} trials on {counted(len(groups), 'valve')}"


def without_odd(
    trials: Sequence[Reading], least_slope: float, most_slope: float
) -> tuple[list[Reading], tuple[OddReading, ...]]:
    """Set aside, one after the other, trials that can't be right; the slope lies between two.

    Of two counts of one valve that disagree by more than chance the one further from what the other
    trials lead to expect, or the later where they don't tell.
    """
    kept, odd = list(trials), list[OddReading]()
    while (line := fit(kept)) is not None:
        slope = min(max(line.slope, least_slope), most_slope)
        pairs = [each for of in _by_valve(kept).values() for each in combinations(of, 2)]
        apart = [difference(first, second, slope) for first, second in pairs]
        ratios = [abs(turns) / standard for turns, standard in apart]
        off, (first, second) = max(zip(ratios, pairs, strict=True), key=itemgetter(0))
        if off <= DISAGREE:
            break
        others = [each for each in kept if each is not first and each is not second]
        worst, other = _odd_one(first, second, others, slope)
        kept = [each for each in kept if each is not worst]
        leads = text("{} with {} leads", turns_text(other.turns), Length(other.pushrod_mm))
        odd.append(_odd(worst, leads, other.turns_with(worst.pushrod_mm, slope)))
    return kept, tuple(odd)


def far_off(trials: Sequence[Reading], slopes: Sequence[float]) -> Iterator[OddReading]:
    """Trials that stand alone on their valve, far from the others of its kind at any slope."""
    by_valve = _by_valve(trials)
    for valve, (trial, *more) in by_valve.items():
        told = [[t for t in of if t.turns > 0] for v, of in by_valve.items() if v != valve]
        fellows = [of for of in told if of and of[0].valve.kind is valve.kind]
        if not fellows or more:
            continue
        expected = sorted(
            max(median(median(t.turns_with(trial.pushrod_mm, s) for t in of) for of in fellows), 0)
            for s in slopes
        )
        if max(expected[0] - trial.turns, trial.turns - expected[-1]) >= FAR_TURNS - SLACK_TURNS:
            yield _odd(trial, "the others of its kind lead", median(expected))


def difference(first: Reading, second: Reading, slope: float) -> tuple[float, float]:
    """Turns by which a second count is over the first, lengths put right, and their uncertainty."""
    length = 0.0 if first.pushrod == second.pushrod else LENGTH_MM
    each = [(uniform(r.resolution), slope * ZERO_LASH_MM, slope * length) for r in (first, second)]
    standard = hypot(*each[0], *each[1])
    return second.turns_with(first.pushrod_mm, slope) - first.turns, standard


def _odd_one(
    first: Reading, second: Reading, others: Sequence[Reading], slope: float
) -> tuple[Reading, Reading]:
    for beside in (
        [each for each in others if each.valve == first.valve],
        [each for each in others if each.valve.kind is first.valve.kind],
        others,
    ):
        if beside:
            first_off, second_off = (
                abs(each.turns - median(o.turns_with(each.pushrod_mm, slope) for o in beside))
                for each in (first, second)
            )
            return (first, second) if first_off > second_off + EIGHTH else (second, first)
    return second, first


def _odd(reading: Reading, others: str, expected: float) -> OddReading:
    words = "{} read {} with {}; {} you to expect about {}. Count it again."
    turns, length = turns_text(reading.turns), Length(reading.pushrod_mm)
    about = turns_text(max(round(8 * expected) / 8, 0.0))
    return OddReading(reading, text(words, reading.valve, turns, length, others, about))


def _by_valve(trials: Iterable[Reading]) -> dict[Valve, list[Reading]]:
    by_valve: defaultdict[Valve, list[Reading]] = defaultdict(list)
    for trial in trials:
        by_valve[trial.valve].append(trial)
    return by_valve


def _centered(trials: Iterable[Reading]) -> list[tuple[Reading, float, float]]:
    rows: list[tuple[Reading, float, float]] = []
    for _, group in sorted(_by_valve(trials).items()):
        # Sorted, so that the order of the readings can't change a rounding.
        group.sort(key=lambda t: (t.pushrod_mm, t.turns, t.resolution))
        length = sum(t.pushrod_mm for t in group) / len(group)
        turns = sum(t.turns for t in group) / len(group)
        rows += [(t, t.pushrod_mm - length, t.turns - turns) for t in group]
    return rows
