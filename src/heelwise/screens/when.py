"""Times in words, and which entries are about the work itself."""

from __future__ import annotations

from datetime import datetime

from heelwise.documents.entries import Begun, HandedOver, Paused, Recovered, Resumed

OF_THE_RECORD = (Begun, Paused, Resumed, Recovered, HandedOver)
"""Entries about the keeping of the record, not about the engine."""

_UNITS = (("day", 86400), ("hour", 3600), ("minute", 60))


def ago(then: datetime, now: datetime) -> str:
    """How long ago something was, in words that need no counting."""
    seconds = (now - then).total_seconds()
    if seconds < -60:
        return "later than now"
    for unit, size in _UNITS:
        count = int(seconds // size)
        if count:
            return f"{count} {unit}{'s' if count > 1 else ''} ago"
    return "just now"
