"""Threads as they are called, and their pitch."""

import re

from heelwise.documents.faults import quoted
from heelwise.documents.typed_numbers import LONGEST, QuantityFault

_EXAMPLE = "M8x1.25, 3/8-24 or 10-32"
_METRIC = re.compile(
    r"M\s?(?P<across>[0-9]{1,2}(?:\.[0-9])?)"
    r"(?:\s?[x×*-]\s?(?P<pitch>[0-9](?:\.[0-9]{1,3})?|\.[0-9]{1,3}))?(?:\s?mm)?",
    re.IGNORECASE,
)
_INCH = re.compile(
    r"(?:(?P<whole>[0-9])[\s-])?(?P<top>[0-9]{1,2})/(?P<bottom>[0-9]{1,2})"
    r'\s?(?:"|in)?(?:\s?[-x×–]\s?(?P<count>[0-9]{1,2}))?(?:\s?(?:UNC|UNF|UNEF|UNS|UN))?',
    re.IGNORECASE,
)
_NUMBERED = re.compile(
    r"(?:#|no\.?\s?)?(?P<size>0|1|2|3|4|5|6|8|10|12)\s?-\s?(?P<count>[0-9]{2})"
    r"(?:\s?(?:UNC|UNF|UNEF|UNS|UN))?",
    re.IGNORECASE,
)
_STEEPEST = 0.3  # pitch over diameter; a coarse M1 has 0.25, anything above is written wrongly


def thread_pitch_mm(text: object) -> float:
    """Read a thread's pitch off its name.

    Args:
        text: "M8x1.25" (diameter and pitch in mm), "3/8-24" (inches and threads per inch) or
            "#10-32" (a screw's number: diameter 0.060 + 0.013 N in, ASME B1.1).

    Returns:
        The pitch in mm.

    Raises:
        QuantityFault: If the pitch isn't stated or the text names no thread.
    """
    if not isinstance(text, str) or len(text) > LONGEST:
        raise QuantityFault(f"{quoted(text)} is no thread", f'write "{_EXAMPLE}"')
    name = text.strip()
    if found := _METRIC.fullmatch(name):
        return _metric(found, text)
    if found := _INCH.fullmatch(name):
        return _inch(found, text)
    if found := _NUMBERED.fullmatch(name):
        across_in = 0.060 + 0.013 * int(found["size"])
        return _per_inch(int(found["count"]), across_in, text)
    if "," in name:
        raise QuantityFault(f"{quoted(text)} has a comma", f"use a point, like {_EXAMPLE}")
    return _no_thread(text)


def _no_thread(text: object) -> float:
    raise QuantityFault(f"{quoted(text)} is no thread with its pitch", f"write {_EXAMPLE}")


def _no_pitch(text: str, would_be: str) -> float:
    problem = f"{quoted(text)} doesn't state the thread's pitch"
    raise QuantityFault(problem, f"write it too, like {would_be}")


def _metric(found: re.Match[str], text: str) -> float:
    across = found["across"]
    if found["pitch"] is None:
        return _no_pitch(text, f"M{across}x1.25 for a pitch of 1.25 mm")
    return _pitch(float(found["pitch"]), float(across), text)


def _inch(found: re.Match[str], text: str) -> float:
    if int(found["bottom"]) == 0:
        return _no_thread(text)
    across = int(found["whole"] or 0) + int(found["top"]) / int(found["bottom"])
    if found["count"] is None:
        return _no_pitch(text, f"{text.strip()}-24 for 24 threads an inch")
    return _per_inch(int(found["count"]), across, text)


def _per_inch(count: int, across_in: float, text: str) -> float:
    return _pitch(25.4 / count, across_in * 25.4, text) if count else _no_thread(text)


def _pitch(pitch_mm: float, across_mm: float, text: str) -> float:
    if not 0 < pitch_mm <= _STEEPEST * across_mm:
        problem = f"{quoted(text)} has a pitch of {pitch_mm:.4g} mm on {across_mm:.4g} mm"
        raise QuantityFault(problem, f"write the diameter first, then the pitch, like {_EXAMPLE}")
    return pitch_mm
