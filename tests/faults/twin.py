"""A second walker over a copy of the record: it knows what hands and eyes would answer next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from pathlib import Path

from heelwise.documents.entries import AnyEntry, Draft
from heelwise.documents.entry_base import Entry
from heelwise.documents.record import read_record
from heelwise.rehearsal.hands import Sensed, sense
from heelwise.rehearsal.rehearse import RehearsalClock, truth_of
from heelwise.walk.prompts import Prompt
from heelwise.walk.scene import scene_of
from heelwise.walk.walker import Walker


class Twin:
    """Goes on from what the record holds now, in memory alone; never writes."""

    def __init__(self, path: Path) -> None:
        record = read_record(path)
        self.entries = list(record.entries)
        self._truth = truth_of(record.head)
        scene = scene_of(record.head.setup, record.head.procedure, self.entries)
        self.walker = Walker(scene, self, RehearsalClock(self.entries[-1].at))

    def keep(
        self, draft: Draft, at: datetime, by: str, outcome: Iterable[Mapping[str, object]] | None
    ) -> AnyEntry:
        entry = Entry(len(self.entries) + 1, at, by, draft.body, draft.rests_on)
        self.entries.append(entry)
        return entry

    @property
    def prompt(self) -> Prompt:
        """The question that should stand now."""
        return self.walker.prompt

    @property
    def closed(self) -> bool:
        """Whether the build should be signed off by now."""
        return self.walker.closed

    def sensed(self) -> Sensed:
        """What hands and eyes report there, and the answer that follows."""
        return sense(self.walker.scene, self.prompt, self._truth)

    def answered(self) -> Sensed:
        """Answer the question that stands, as the program was answered."""
        found = self.sensed()
        self.walker.reply(found.answer, found.texts)
        return found
