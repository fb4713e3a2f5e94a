"""The same valve read more than once: mean, spread, and whether the readings agree."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, sqrt

from heelwise.valvetrain.figures import turns_text
from heelwise.valvetrain.uncertainty import uniform
from heelwise.valvetrain.verdict import SLACK_TURNS


@dataclass(frozen=True)
class Repeats:
    """Readings of one valve in turns: how many, mean, spread, uncertainty, agreement, words."""

    count: int
    mean: float
    spread: float
    uncertainty: float
    agree: bool
    said: str


def repeats(readings: Sequence[float], resolution: float = 0.125) -> Repeats:
    """Put repeated readings of one valve together.

    Two counts of the same thing may fall on either side of a step, so a spread of one
    step still agrees; more is a question to be asked before any mean is used.

    Args:
        readings: Turns, one or more, in any order.
        resolution: Smallest step read, in turns.

    Returns:
        The mean; the spread (most less least); the mean's standard uncertainty, the
        larger of the resolution's δ/√12 and s/√n (GUM 4.2.3); whether they agree.

    Raises:
        ValueError: There is no reading, one is no number, or the resolution is below 0.
    """
    if not readings:
        raise ValueError("there are no readings: give one or more")
    for turns in readings:
        if not isfinite(turns):
            raise ValueError(f"turns {turns!r} should be a number")
    count = len(readings)
    kept = sorted(readings)
    mean = sum(kept) / count
    spread = kept[-1] - kept[0]
    scatter = sqrt(sum((turns - mean) ** 2 for turns in kept) / (count - 1)) if count > 1 else 0.0
    agree = spread <= resolution + SLACK_TURNS
    return Repeats(
        count,
        mean,
        spread,
        max(uniform(resolution), scatter / sqrt(count)),
        agree,
        _said(kept, resolution, agree),
    )


def _said(kept: Sequence[float], resolution: float, agree: bool) -> str:
    if len(kept) == 1:
        return "one reading"
    told = f"{len(kept)} readings, {turns_text(kept[0])} to {turns_text(kept[-1])}"
    if agree:
        return f"{told}: they agree within {turns_text(resolution)}"
    return (
        f"{told}: they disagree by more than {turns_text(resolution)}. Which is right? Unload "
        "the lifter, see that the pushrod is in both cups and the lifter on its heel, and count "
        "again from zero lash."
    )
