"""Plunger travel for one turn: measured here or before, from the sheet, or worked out, in order.

Statics bound all of them: from the pitch p (common practice) to p·(1 + 1/ratio) by the lever, the
valve held shut by its spring; slanted arms and a ratio as sold move either end a little.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from math import hypot, inf, sqrt
from statistics import NormalDist
from typing import NamedTuple

from heelwise.valvetrain import trials
from heelwise.valvetrain.figures import COVERAGE, EIGHTH, uniform
from heelwise.valvetrain.trials import Reading
from heelwise.wording import Length, Text, joined, text

# Our own figures. How far outside what statics allow a travel may lie: slanted arms, a ratio as
# sold (within 4 % for arms up to 20 degrees), and reading. The relative standard uncertainty from
# which trials measure the travel where thread and ratio aren't known.
STATICS_SHARE = 0.06
ENOUGH_SHARE = 0.12

_DRAWS = 25
_SLACK_MM = 1e-9


class Origin(StrEnum):
    """Where a travel per turn comes from."""

    MEASURED = "measured"
    BEFORE = "measured before"
    SHEET = "sheet"
    WORKED_OUT = "worked out"


@dataclass(frozen=True)
class Travel:
    """Plunger travel for one turn in mm, its standard uncertainty (None: unknown), its source.

    `between_mm`: the range it may lie in, unmeasured, where that is known. `fitted_mm`: where the
    trials point to, beyond what statics allow.
    """

    mm: float
    origin: Origin
    uncertainty_mm: float | None
    source: str
    between_mm: tuple[float, float] | None = None
    fitted_mm: float | None = None

    @property
    def measured(self) -> bool:
        """Whether readings gave it: on this engine, or on others with its rocker."""
        return self.origin in (Origin.MEASURED, Origin.BEFORE)

    @cached_property
    def draws(self) -> tuple[float, ...]:
        """Equally likely values in mm, for chances: all over the range, or by a normal slope."""
        shares = [(place + 0.5) / _DRAWS for place in range(_DRAWS)]
        if self.between_mm is not None:
            least, most = self.between_mm
            return tuple(least + share * (most - least) for share in shares)
        if not self.uncertainty_mm:
            return (self.mm,)
        # About the trials' own slope and not cut off by statics: else chances stated of engines
        # at the ends of the range come true too seldom.
        slope = NormalDist(self.mm / (self.fitted_mm or self.mm), self.uncertainty_mm / self.mm)
        return tuple(self.mm / max(slope.inv_cdf(share), 0.1) for share in shares)


@dataclass(frozen=True)
class TravelInPlay:
    """The travel in use, every candidate by rank, and remarks; `odd_readings`: to count again.

    `largest_mm` is of what sheet, lever and earlier builds say, whatever is read here, so that no
    reading moves the turns never to pass. Below `enough_mm` of uncertainty trials measure it.
    """

    used: Travel
    candidates: tuple[Travel, ...]
    largest_mm: float
    enough_mm: float
    notes: tuple[str, ...]
    odd_readings: tuple[trials.OddReading, ...] = ()

    @property
    def measured(self) -> bool:
        """Whether the figure in use was measured well enough: here, or on its rocker before."""
        if self.used.origin is not Origin.BEFORE:
            return self.used.measured
        return self.used.uncertainty_mm is not None and self.used.uncertainty_mm <= self.enough_mm

    def telling_step_mm(self, resolution: float = EIGHTH) -> float:
        """How far two pushrods must differ for one pair of counts to measure the travel, in mm."""
        each = hypot(uniform(resolution) * self.largest_mm, trials.ZERO_LASH_MM, trials.LENGTH_MM)
        return sqrt(2.0) * each * self.largest_mm / self.enough_mm


class _Statics(NamedTuple):
    """What thread and lever allow, in mm for one turn: from the pitch alone to the lever."""

    pitch_mm: float
    lever_mm: float
    least: float
    most: float

    def nearest(self, travel_mm: float) -> float:
        return min(max(travel_mm, self.least), self.most)


def worked_out(pitch_mm: float, ratio: float) -> float:
    """Plunger travel in mm for one turn from thread and lever: p·(1 + 1/r).

    The valve, held shut by its spring, holds one end while the fulcrum goes down by the pitch, so
    the pushrod end goes down by (r + 1)/r of it. Print was found for a shim alone.
    """
    return pitch_mm * (1.0 + 1.0 / ratio)


def travel_in_play(
    counts: Iterable[Reading],
    sheet_mm: float | None,
    pitch_mm: float | None,
    ratio: float | None,
    before: Travel | None = None,
) -> TravelInPlay:
    """Rank every travel per turn known: measured here, before, the sheet's, then worked out.

    `pitch_mm` is of the thread that draws the fulcrum down; without a `ratio`, of a screw at the
    pushrod end. Trials come in the order they were made; a count of 0 shows that lash was left, not
    how much. A measurement outside what statics allow is not used, a sheet's is. What was measured
    `before` on the rocker and the trials here are weighted by the inverse squares of their
    uncertainties, unless they disagree. ValueError where nothing is known at all.
    """
    statics = None
    if pitch_mm is not None:
        lever = worked_out(pitch_mm, inf if ratio is None else ratio)
        limits = pitch_mm * (1.0 - STATICS_SHARE), lever * (1.0 + STATICS_SHARE)
        statics = _Statics(pitch_mm, lever, *limits)
    predicted, notes = _predicted(sheet_mm, statics, ratio), list[str]()
    if statics and sheet_mm and statics.nearest(sheet_mm) != sheet_mm:
        notes.append(_outside(text("The sheet's {} a turn is", Length(sheet_mm)), statics))
    # A record writes it to a thousandth, so at the limit it may stand half of that beyond.
    if before and statics and abs(statics.nearest(before.mm) - before.mm) > 6e-4:
        notes.append(_outside(text("Earlier builds' {} a turn is", Length(before.mm)), statics))
        before = None
    counts = list(counts)
    enough = predicted[0].uncertainty_mm if predicted else None
    here, more, odd = _fitted([c for c in counts if c.turns > 0], statics, enough)
    sure = [*([before] if before else []), *predicted]
    found = here if here and (here.uncertainty_mm or 0.0) <= _enough(enough, here.mm) else None
    known = [*([found] if found else []), *sure]
    if not known:
        raise ValueError(
            "travel per turn is not known: give the sheet's figure, or the thread's pitch and "
            "the rocker's ratio, or try one valve with two pushrods 0.050 in or more apart"
        )
    if before is not None and here is not None:
        known[0], apart = _together(here, before, found)
        notes += apart
        if apart and not odd:  # which count lies off what earlier builds lead to expect
            slope = 1 / before.mm
            odd = trials.without_odd([c for c in counts if c.turns > 0], slope, slope)[1]
    if known[0].measured:
        notes += _disagreement(known[0], *predicted)
    else:
        notes.append(_why(known[0], sheet_mm, statics))
    largest = max(each.mm for each in sure or known)
    left = [c for c in counts if all(c != each.reading for each in odd)]
    slopes = [1 / mm for mm in (min(known[0].draws), max(known[0].draws))]
    return TravelInPlay(
        known[0],
        tuple(known),
        largest,
        _enough(enough, largest),
        (*notes, *more),
        (*odd, *trials.far_off(left, slopes)),
    )


def _enough(enough_mm: float | None, travel_mm: float) -> float:
    return enough_mm or ENOUGH_SHARE * travel_mm


def _together(here: Travel, before: Travel, found: Travel | None) -> tuple[Travel, list[str]]:
    """What is used of a figure `found` or only fitted here and one measured before."""
    mine, theirs = here.uncertainty_mm or 0.0, before.uncertainty_mm or 0.0
    apart, allowed = abs(here.mm - before.mm), COVERAGE * hypot(mine, theirs)
    if apart > allowed:
        words = (
            "The trials point to {} a turn, earlier builds gave {}: they are {} apart, more than "
            "the {} their uncertainties allow (k = 2). {} Or the rockers aren't the same."
        )
        lengths = map(Length, (here.mm, before.mm, apart, allowed))
        return found or before, [text(words, *lengths, _CHECK)]
    weight, other = 1 / mine**2, 1 / theirs**2
    mm = (weight * here.mm + other * before.mm) / (weight + other)
    standard = 1 / sqrt(weight + other)
    first, second = (here, before) if found else (before, here)
    source = text("{}; with {}: ± {}", first.source, second.source, Length(2 * standard))
    return Travel(mm, first.origin, standard, source), []


def _predicted(
    sheet_mm: float | None, statics: _Statics | None, ratio: float | None
) -> list[Travel]:
    sheet = "the maker's sheet"
    if statics is None:
        return [Travel(sheet_mm, Origin.SHEET, None, sheet)] if sheet_mm else []
    pitch = Length(statics.pitch_mm)
    source = text("worked out (the adjusting screw's pitch, {})", pitch)
    if ratio is not None:
        source = text("worked out (pitch {}, ratio {:g}: pitch × (1 + 1/ratio))", pitch, ratio)
    known = [(sheet_mm, Origin.SHEET, sheet)] if sheet_mm is not None else []
    travels = []
    for mm, origin, words in (*known, (statics.lever_mm, Origin.WORKED_OUT, source)):
        least, most = min(statics.pitch_mm, mm), max(statics.lever_mm, mm)
        # Nobody knows where in the range it lies: half its width over √3 (GUM 4.3.7).
        travels.append(Travel(mm, origin, uniform(most - least), words, (least, most)))
    return travels


def _outside(which: Text, statics: _Statics) -> Text:
    words = (
        "{} outside what thread and rocker allow, {} to {} (worked out): check the sheet, the "
        "thread's pitch and the ratio."
    )
    return text(words, which, Length(statics.least), Length(statics.most))


def _fitted(
    counts: Sequence[Reading], statics: _Statics | None, enough_mm: float | None
) -> tuple[Travel | None, list[str], tuple[trials.OddReading, ...]]:
    """What the trials point to, remarks, and which of them can't be right."""
    least = trials.LEAST_SLOPE
    slopes = (least, inf) if statics is None else (1 / statics.most, 1 / statics.least)
    kept, odd = trials.without_odd(counts, *slopes)
    notes: list[str] = [each.why for each in odd]
    line = trials.fit(kept)
    if line is None:
        return None, notes, odd
    if line.slope < least:
        why = "The trials don't measure the travel: the longer pushrod took no more turns. "
        return None, [*notes, why + _CHECK], odd
    mm, share = 1.0 / line.slope, line.uncertainty / line.slope
    nearest = mm if statics is None else statics.nearest(mm)
    if abs(1.0 / nearest - line.slope) > trials.DISAGREE * line.uncertainty and statics is not None:
        worst = trials.furthest(kept, 1.0 / nearest)
        words = (
            "The trials point to {} a turn; thread and rocker allow {} to {} (worked out), so they "
            "aren't used. Count {} again with {} first. {}"
        )
        lengths = map(Length, (mm, statics.least, statics.most))
        because = text(words, *lengths, worst.valve, Length(worst.pushrod_mm), _CHECK)
        return None, [*notes, because], (*odd, trials.OddReading(worst, because))
    standard = share * nearest
    source = text("measured: {}, ± {}", trials.telling(kept), Length(COVERAGE * standard))
    if standard > _enough(enough_mm, nearest):
        words = (
            "A hint, not a measurement: the trials so far point to {} a turn, give or take {:.0%} "
            "(one standard uncertainty). Pushrods further apart, or finer counts, measure it."
        )
        notes.append(text(words, Length(mm), share))
    elif abs(nearest - mm) > _SLACK_MM:
        words = (
            "The trials point to {} a turn, outside what thread and rocker allow by no more than "
            "the counts can tell: the limit, {}, is used."
        )
        notes.append(text(words, Length(mm), Length(nearest)))
    travel = Travel(nearest, Origin.MEASURED, standard, source, fitted_mm=mm)
    return travel, notes, odd


_CHECK = (
    "Check the thread's pitch; that the pushrod sat in its cup; that the lifter was unloaded "
    "between the trials; that the lengths were measured and not read from labels."
)


def _disagreement(found: Travel, *others: Travel) -> list[str]:
    standard = found.uncertainty_mm or 0.0
    if not others or any(abs(each.mm - found.mm) <= COVERAGE * standard for each in others):
        return []
    predicted = joined(" and ", [text("{} ({})", Length(o.mm), o.source) for o in others])
    words = (
        "The measured travel, {} a turn, disagrees with {} by more than its own uncertainty, {} "
        "(k = 2). {}"
    )
    return [text(words, Length(found.mm), predicted, Length(COVERAGE * standard), _CHECK)]


def _why(used: Travel, sheet_mm: float | None, statics: _Statics | None) -> Text:
    parts: list[str] = [text("{} a turn is used ({})", Length(used.mm), used.source)]
    if statics is not None and statics.lever_mm > statics.pitch_mm:
        lever, alone = Length(statics.lever_mm), Length(statics.pitch_mm)
        if sheet_mm is not None:
            parts.append(text("the lever gives {} (worked out: pitch × (1 + 1/ratio))", lever))
        parts.append(text("the thread's pitch alone is {} (common practice, no source)", alone))
    return joined("; ", parts) + text(
        ". To settle it, try one valve again with a pushrod at least {} longer or shorter: the "
        "change in turns gives the travel.",
        Length(1.27),
    )
