"""Times in words."""

from __future__ import annotations

from datetime import datetime

LATER = "later than now"
_UNITS = (("day", 86400), ("hour", 3600), ("minute", 60))


def ago(then: datetime, now: datetime) -> str:
    """How long ago something was, in words that need no counting."""
    seconds = (now - then).total_seconds()
    if seconds < -60:
        return LATER
    for unit, size in _UNITS:
        count = int(seconds // size)
        if count:
            return f"{count} {unit}{'s' if count > 1 else ''} ago"
    return "just now"
