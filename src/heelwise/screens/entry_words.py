"""One entry in a line of words, and how long ago it was."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any, cast

from heelwise.documents.entries import (
    Accepted,
    Answered,
    BackedOff,
    Begun,
    Ceiling,
    Crank,
    CrankLost,
    CrossedOut,
    Entry,
    Felt,
    Fitted,
    HandedOver,
    Held,
    Measured,
    Noted,
    NotYet,
    Ordered,
    Paused,
    Proved,
    Read,
    Received,
    Recovered,
    Reopened,
    Resumed,
    Settled,
    SignedOff,
    Skipped,
    Unloaded,
)

OF_THE_RECORD = (Begun, Paused, Resumed, Recovered, HandedOver)
"""Entries about the keeping of the record, not about the engine."""


def entry_words(entry: Entry) -> str:
    """What an entry says, in one line.

    Args:
        entry: Any entry.
    """
    body = cast(Any, entry.body)
    return _WORDS[type(entry.body)](body)


def _about(body: Answered | NotYet | Skipped | Measured | Noted) -> str:
    return f"{body.valve}: " if body.valve else ""


def _read(b: Read) -> str:
    what = "trial" if b.phase == "trial" else "re-count" if b.recount else "count"
    near = ", near a limit" if b.near else ""
    return f"{b.valve} {what}: {b.turns} turns, {b.verdict}{near} (pushrod {b.pushrod})"


def _ceiling(b: Ceiling) -> str:
    return f"{b.valve}: no click by {b.never_past_turns:g} turns, count ended (pushrod {b.pushrod})"


def _received(b: Received) -> str:
    fit = "as ordered" if b.as_ordered else f"not the {b.ordered} ordered"
    return f"{b.valve}: pushrod measured {b.pushrod}, {fit}"


def _noted(b: Noted) -> str:
    return f"note: {_about(b)}{b.text}"


def _resumed(b: Resumed) -> str:
    return "taken up again" + (", the clock had gone back" if b.clock_went_back else "")


_WORDS: dict[type, Callable[[Any], str]] = {
    Begun: lambda b: f"begun by the procedure {b.procedure}",
    Answered: lambda b: f"{_about(b)}{b.step}: {b.said}",
    NotYet: lambda b: f"{_about(b)}{b.step}: {b.said}",
    Skipped: lambda b: f"{_about(b)}{b.step} skipped: {b.reason}",
    Measured: lambda b: f"{_about(b)}{b.step}: {b.reading}",
    Noted: _noted,
    Crank: lambda b: f"crank at {b.at_deg:g}°, {b.how}",
    CrankLost: lambda b: f"crank's place not known: {b.reason}",
    Felt: lambda b: f"{b.valve} felt: {b.state}",
    Fitted: lambda b: f"{b.valve}: pushrod {b.pushrod} fitted",
    Read: _read,
    Ceiling: _ceiling,
    Unloaded: lambda b: f"{b.valve}: unloaded for {b.minutes:g} min",
    BackedOff: lambda b: f"{', '.join(b.valves)} backed off: {b.why}",
    Held: lambda b: f"held {b.minutes:g} min to bleed down: {', '.join(b.valves)}",
    Accepted: lambda b: f"{b.valve} accepted as is by {b.person}: {b.reason}",
    Settled: lambda b: f"{', '.join(b.valves)} settled at {b.pushrod}, not tried: {b.reason}",
    Ordered: lambda b: f"pushrods ordered for {len(b.valves)} valves",
    Received: _received,
    Proved: lambda b: f"{b.valve} proof at {b.torque}: {b.outcome}",
    CrossedOut: lambda b: f"entry {b.of} crossed out: {b.reason}",
    Paused: lambda b: f"laid down, {b.holding}",
    Resumed: _resumed,
    Recovered: lambda b: f"torn end of {b.bytes_set_aside} bytes set aside in {b.aside}",
    HandedOver: lambda b: f"handed over to {b.to}",
    SignedOff: lambda b: f"signed off by {b.person}",
    Reopened: lambda b: f"reopened by {b.person}: {b.reason}",
}


def ago(then: datetime, now: datetime) -> str:
    """How long ago something was, in words that need no counting."""
    seconds = (now - then).total_seconds()
    if seconds < 0:
        return "at a later time than this clock shows"
    if seconds < 90:
        return "just now"
    for unit, size in (("day", 86400), ("hour", 3600), ("minute", 60)):
        count = int(seconds // size)
        if count:
            return f"{count} {unit}{'s' if count > 1 else ''} ago"
    return "just now"
