"""A figure measured on several builds, put together with what they differ by."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, isfinite, sqrt


@dataclass(frozen=True)
class Pooled:
    """A mean of builds, their scatter (a standard deviation), and the mean's standard uncertainty.

    `to_come`: the standard uncertainty of the figure of a build that isn't among them.
    """

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
    fixed, total = _mean(figures, weights), fsum(weights)
    q = fsum(w * (y - fixed) ** 2 for w, (y, _) in zip(weights, figures, strict=True))
    spare = total - fsum(w * w for w in weights) / total
    between = sqrt(max(0.0, (q - (len(figures) - 1)) / spare))
    weights = [1.0 / (u**2 + between**2) for _, u in figures]
    return Pooled(len(figures), _mean(figures, weights), between, 1.0 / sqrt(fsum(weights)))


def _mean(figures: Sequence[tuple[float, float]], weights: Sequence[float]) -> float:
    return fsum(w * y for w, (y, _) in zip(weights, figures, strict=True)) / fsum(weights)
