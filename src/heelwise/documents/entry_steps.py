"""Entries of the walk itself: steps answered, notes, and what happened to the record."""

from __future__ import annotations

from typing import Literal

from heelwise.documents.entry_base import Body, PhotoName


class Begun(Body):
    """The build was started with a procedure, known by the digest of its text."""

    kind: Literal["begun"] = "begun"
    procedure: str
    procedure_digest: str
    program: str


class Answered(Body):
    """A step of the procedure was confirmed or a choice made; `said` is the state as shown."""

    kind: Literal["answered"] = "answered"
    step: str
    answer: str
    said: str
    fills: str | None = None
    position: int | None = None
    valve: str | None = None


class NotYet(Body):
    """A step could not be confirmed; the walk stays at it."""

    kind: Literal["not yet"] = "not yet"
    step: str
    said: str
    position: int | None = None
    valve: str | None = None


class Skipped(Body):
    """A step was left out, for a reason."""

    kind: Literal["skipped"] = "skipped"
    step: str
    reason: str
    position: int | None = None
    valve: str | None = None


class Measured(Body):
    """A reading asked for by a step of the procedure, as typed."""

    kind: Literal["measured"] = "measured"
    step: str
    reading: str
    what: Literal["turns", "length", "torque", "lash", "degrees"]
    position: int | None = None
    valve: str | None = None


class Noted(Body):
    """Free text, of the build or of a valve; may name a photograph."""

    kind: Literal["noted"] = "noted"
    text: str
    step: str | None = None
    valve: str | None = None
    photo: PhotoName | None = None


class CrossedOut(Body):
    """An earlier entry does not count; it stays readable."""

    kind: Literal["crossed out"] = "crossed out"
    of: int
    reason: str


class Paused(Body):
    """Work was laid down here."""

    kind: Literal["paused"] = "paused"
    holding: str


class Resumed(Body):
    """Work was taken up again."""

    kind: Literal["resumed"] = "resumed"
    clock_went_back: bool = False


class Recovered(Body):
    """A torn end was set aside in a file beside the record when it was opened."""

    kind: Literal["recovered"] = "recovered"
    bytes_set_aside: int
    aside: str


class HandedOver(Body):
    """Another person goes on from here."""

    kind: Literal["handed over"] = "handed over"
    to: str


class SignedOff(Body):
    """The record was closed by a named person; the outcome stands just before it."""

    kind: Literal["signed off"] = "signed off"
    person: str


class Reopened(Body):
    """A closed record was opened again, for a reason."""

    kind: Literal["reopened"] = "reopened"
    person: str
    reason: str
