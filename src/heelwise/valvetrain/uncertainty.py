"""Small helpers after the Guide to the Expression of Uncertainty in Measurement (GUM)."""

from math import erf, hypot, isfinite, sqrt

COVERAGE = 2.0
"""k: about 95 % of a normal distribution lies within k standard uncertainties (GUM G.6.6)."""


def uniform(resolution: float) -> float:
    """Give the standard uncertainty that a resolution brings: δ/√12 (GUM 4.3.7, F.2.2.1).

    Args:
        resolution: Smallest step that can be told apart, in any unit; 0 for none.

    Returns:
        Standard uncertainty in the same unit.

    Raises:
        ValueError: The resolution is below 0 or no number.
    """
    if not isfinite(resolution) or resolution < 0:
        raise ValueError(f"resolution {resolution!r} should be a number, 0 or more")
    return resolution / sqrt(12.0)


def root_sum_square(*parts: float) -> float:
    """Combine uncorrelated standard uncertainties of one unit (GUM 5.1.2).

    Args:
        parts: Standard uncertainties, already multiplied by their sensitivity.

    Returns:
        Combined standard uncertainty; 0 for no parts.
    """
    return hypot(*parts)


def normal_cdf(z: float) -> float:
    """Give the share of a standard normal distribution below z.

    Args:
        z: Distance from the mean in standard uncertainties; may be infinite.

    Returns:
        A share from 0 to 1.
    """
    return 0.5 * (1.0 + erf(z / sqrt(2.0)))


def chance_inside(value: float, standard: float, least: float, most: float) -> float:
    """Give the chance that the true value lies from least to most (JCGM 106:2012, 7.3).

    Args:
        value: The figure measured or expected.
        standard: Its standard uncertainty, same unit; 0 means that the figure is exact.
        least: Lower limit, inside.
        most: Upper limit, inside.

    Returns:
        A chance from 0 to 1, of a normal distribution around the value.

    Raises:
        ValueError: The uncertainty is below 0, or the limits are upside down.
    """
    if not standard >= 0:
        raise ValueError(f"uncertainty {standard!r} should be 0 or more")
    if most < least:
        raise ValueError(f"limits {least!r} to {most!r} are upside down: the least comes first")
    if standard == 0:
        return 1.0 if least <= value <= most else 0.0
    return normal_cdf((most - value) / standard) - normal_cdf((least - value) / standard)
