"""Turns as words, and the statistics that figures rest on (GUM: JCGM 100:2008)."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from math import erf, exp, fsum, isfinite, isinf, pi, prod, sqrt
from operator import mul
from statistics import fmean

from heelwise.wording import show_turns

SLACK_TURNS = 1e-9  # turns are compared with this much slack, so that 0.1 + 0.2 is not over 0.3
EIGHTH = 0.125  # the resolution of a count of turns unless another is given
COVERAGE = 2.0  # k: about 95 % of a normal distribution is within k uncertainties (GUM G.6.6)


def turns_text(turns: float) -> str:
    """Put turns in words: "1 3/8 turns"."""
    return f"{show_turns(turns)} {'turn' if 0 < turns <= 1 else 'turns'}"


def uniform(resolution: float) -> float:
    """Standard uncertainty that a resolution (a whole range) brings: δ/√12 (GUM 4.3.7)."""
    return resolution / sqrt(12.0)


def chance_inside(
    value: float, standard: float, least: float, most: float, *half_widths: float
) -> float:
    """Chance that the true value lies from least to most (JCGM 106:2012, 7.3).

    Of a normal distribution around the value; a standard uncertainty of 0 means that it is exact.
    `half_widths`, two at the most: it may also be off by up to so much either way, evenly.
    """
    widths = [each for each in half_widths if each > _NO_WIDTH]
    if standard == 0 and not widths:
        return 1.0 if least <= value <= most else 0.0
    standard = max(standard, _NO_WIDTH)
    return _below(most - value, standard, widths) - _below(least - value, standard, widths)


_NO_WIDTH = 1e-6


def _below(limit: float, standard: float, half_widths: Sequence[float]) -> float:
    """Share of a normal distribution around 0, spread evenly over widths, below a limit."""
    if isinf(limit):
        return float(limit > 0)
    total = 0.0
    for signs in product((1, -1), repeat=len(half_widths)):
        end = limit + sum(map(mul, signs, half_widths))
        total += prod(signs) * _integral(end / standard, len(half_widths))
    return total * prod(standard / (2.0 * each) for each in half_widths)


def _integral(z: float, times: int) -> float:
    """The normal distribution below z, integrated over z so many times, 0 to 2."""
    below = 0.5 * (1.0 + erf(z / sqrt(2.0)))
    if not times:
        return below
    density = exp(-z * z / 2.0) / sqrt(2.0 * pi)
    once = z * below + density
    return once if times == 1 else (z * once + below) / 2.0


@dataclass(frozen=True)
class Repeats:
    """Readings of one valve in turns put together; they agree within a step of the resolution."""

    count: int
    mean: float
    spread: float
    agree: bool
    text: str


def repeats(readings: Sequence[float], resolution: float = EIGHTH) -> Repeats:
    """Put repeated readings of one valve together, two or more, in any order."""
    least, most = min(readings), max(readings)
    agree = most - least <= resolution + SLACK_TURNS
    words = f"{len(readings)} readings, {turns_text(least)} to {turns_text(most)}: "
    if most - least <= SLACK_TURNS:
        both = "both" if len(readings) == 2 else "all"
        words = f"{len(readings)} counts, {both} {turns_text(least)}"
    elif agree:
        words += f"they agree within {turns_text(resolution)}"
    else:
        words += (
            f"they disagree by more than {turns_text(resolution)}. Which is right? Unload the "
            "lifter, see that the pushrod is in both cups and the lifter on its heel, and count "
            "again from zero lash."
        )
    return Repeats(len(readings), fmean(sorted(readings)), most - least, agree, words)


@dataclass(frozen=True)
class Pooled:
    """A mean of builds, their scatter (a standard deviation), the mean's standard uncertainty."""

    count: int
    mean: float
    between: float
    uncertainty: float

    @property
    def to_come(self) -> float:
        """√(τ² + u²): a new build scatters as the others do about a mean known this well."""
        return sqrt(self.between**2 + self.uncertainty**2)


def pooled(figures: Sequence[tuple[float, float]]) -> Pooled:
    """Pool figures, each with its standard uncertainty (above 0), two or more: random effects.

    Scatter between builds by the moments of DerSimonian and Laird (Controlled Clinical Trials 7,
    1986, 177): τ² = (Q − (k − 1)) / (Σw − Σw²/Σw), w = 1/u², 0 at the least. The mean is
    weighted by 1/(u² + τ²). ValueError for fewer than two, or an uncertainty that isn't above 0.
    """
    if len(figures) < 2:
        raise ValueError("one build can't show how builds differ: give two or more")
    if not all(isfinite(y) and isfinite(u) and u > 0 for y, u in figures):
        raise ValueError("a figure needs a standard uncertainty above 0")
    weights = [1.0 / u**2 for _, u in figures]
    fixed, total = fmean((y for y, _ in figures), weights), fsum(weights)
    q = fsum(w * (y - fixed) ** 2 for w, (y, _) in zip(weights, figures, strict=True))
    spare = total - fsum(w * w for w in weights) / total
    between = sqrt(max(0.0, (q - (len(figures) - 1)) / spare))
    weights = [1.0 / (u**2 + between**2) for _, u in figures]
    mean = fmean((y for y, _ in figures), weights)
    return Pooled(len(figures), mean, between, 1.0 / sqrt(fsum(weights)))
