"""One person walking one build: prompt, answer, entry kept, next prompt.

The walker touches no file: it is given a way to keep an entry. If keeping one
fails, nothing changes here and the same prompt stands.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from heelwise.documents.entries import (
    AnyBody,
    AnyEntry,
    Begun,
    CrankLost,
    CrossedOut,
    Draft,
    HandedOver,
    Noted,
    Paused,
    Recovered,
    Reopened,
    Resumed,
    SignedOff,
)
from heelwise.documents.entry_base import photo_checked
from heelwise.documents.typed_numbers import QuantityFault
from heelwise.valvetrain.valves import Valve
from heelwise.walk.build import Build
from heelwise.walk.clock import Clock
from heelwise.walk.next_prompt import next_prompt
from heelwise.walk.prompts import Prompt, Refused
from heelwise.walk.scene import Scene
from heelwise.walk.sign_off import Outcome, outcomes
from heelwise.walk.standing import Standing, advance
from heelwise.walk.steps import REST_ON_PREVIOUS

FIXED = (Begun, CrossedOut, Paused, Resumed, Recovered, HandedOver, SignedOff, Reopened)
"""Entries that say what happened to the record itself; crossing one out would mean nothing."""


class Keep(Protocol):
    """A way to keep an entry: durable when it returns, an exception when it was not kept."""

    def __call__(
        self, draft: Draft, at: datetime, by: str, outcome: tuple[Outcome, ...] | None
    ) -> AnyEntry:
        """Keep a draft; `outcome` goes before the entry that signs a build off."""


@dataclass(frozen=True)
class Said:
    """What to tell at once after an answer, and in which tone (plain, good, warn, bad)."""

    text: str
    tone: str
    entries: tuple[AnyEntry, ...]


class Walker:
    """Carries a standing on by answers and by what may be done at any prompt."""

    def __init__(self, build: Build, standing: Standing, keep: Keep, clock: Clock) -> None:
        self.build = build
        self.standing = standing
        self.by = standing.by
        self._keep = keep
        self._clock = clock
        self._prompt: Prompt | None = None

    @property
    def prompt(self) -> Prompt:
        """The question that stands now."""
        if self._prompt is None:
            self._prompt = next_prompt(self.build, self.standing)
        return self._prompt

    @property
    def scene(self) -> Scene:
        """The moment, for pictures and figures beside the question."""
        return Scene(self.build, self.standing)

    @property
    def closed(self) -> bool:
        """Whether the record is signed off."""
        return self.standing.closed is not None

    def now(self) -> datetime:
        """The time, with an offset."""
        return self._clock.now()

    def reply(self, answer: str, texts: tuple[str, ...] = ()) -> Said:
        """Answer the prompt and keep what the answer says.

        Raises:
            Refused: When the answer can't be taken; nothing was kept.
        """
        self._clock.reach(self.prompt.wait_until)
        taken = self.prompt.reply(answer, texts, self.now())
        kept: list[AnyEntry] = []
        for draft in taken.drafts:
            rests = tuple(kept[-1].number if n == REST_ON_PREVIOUS else n for n in draft.rests_on)
            kept.append(self._add(Draft(draft.body, rests)))
        return Said(taken.said, taken.tone, tuple(kept))

    def resume(self) -> AnyEntry:
        """Keep that work was taken up again; the crank's place is asked before all else."""
        last = self.standing.last
        back = last is not None and self.now() < last.at
        return self._add(Draft(Resumed(clock_went_back=back)))

    def recovered(self, bytes_set_aside: int, aside: str) -> AnyEntry:
        """Keep that a torn end was set aside when the record was opened."""
        return self._add(Draft(Recovered(bytes_set_aside=bytes_set_aside, aside=aside)))

    def cross_out(self, number: int, reason: str) -> Said:
        """Cross out an entry; what depended on it no longer counts and is asked again.

        Raises:
            Refused: If there is no such entry, it can't be crossed out, or no reason is given.
        """
        self._refuse_if_closed()
        entry = self._entry(number)
        if isinstance(entry.body, FIXED):
            raise Refused(f"entry {number} ({entry.body.kind}) stays", "a reading, step or place")
        if number in self.standing.void:
            raise Refused(f"entry {number} doesn't count any more", "one that still counts")
        before = set(self.standing.void)
        kept = self._add(Draft(CrossedOut(of=number, reason=_given(reason, "a reason"))))
        fallen = sorted(self.standing.void - before - {number})
        also = f" With it fall {', '.join(map(str, fallen))}, asked again." if fallen else ""
        return Said(f"Entry {number} is crossed out.{also}", "warn", (kept,))

    def pause(self) -> Said:
        """Lay the work down: the record says what it is holding at."""
        self._refuse_if_closed()
        kept = self._add(Draft(Paused(holding=f"holding at: {self.prompt.question}")))
        return Said("Laid down. The next start goes on from here.", "plain", (kept,))

    def note(self, text: str, valve: Valve | None = None, photo: str = "") -> Said:
        """Keep a note, of the build or of a valve, and the name of a photograph with it.

        Raises:
            Refused: If there is no text, or the photograph's name is no plain file name.
        """
        self._refuse_if_closed()
        about = str(valve) if valve else None
        body = Noted(text=_given(text, "the note"), valve=about, photo=_photo(photo))
        return Said("Noted.", "plain", (self._add(Draft(body)),))

    def lose_crank(self, reason: str) -> Said:
        """Say that the crank's place is not known; the walk finds it by feel."""
        self._refuse_if_closed()
        if self.standing.crank is None:
            raise Refused("the crank has no place yet", "go on to where the walk gives it one")
        kept = self._add(Draft(CrankLost(reason=_given(reason, "what happened"))))
        return Said("Then the crank's place is found anew.", "warn", (kept,))

    def hand_over(self, to: str) -> Said:
        """Another person goes on; entries from here carry their initials."""
        self._refuse_if_closed()
        kept = self._add(Draft(HandedOver(to=_given(to, "initials"))))
        return Said(f"{self.by} goes on from here.", "plain", (kept,))

    def _entry(self, number: int) -> AnyEntry:
        if not 1 <= number <= len(self.standing.entries):
            raise Refused(f"there is no entry {number}", f"1 to {len(self.standing.entries)}")
        return self.standing.entries[number - 1]

    def _refuse_if_closed(self) -> None:
        if self.closed:
            raise Refused("the record is signed off", "reopen it first, with a reason")

    def _add(self, draft: Draft) -> AnyEntry:
        outcome = outcomes(self.standing) if isinstance(draft.body, SignedOff) else None
        entry = self._keep(draft, self.now(), self.by, outcome)
        self.standing = advance(self.standing, entry)
        self.by = self.standing.by
        self._prompt = None
        return entry


def _photo(name: str) -> str | None:
    try:
        return photo_checked(name.strip()) if name.strip() else None
    except QuantityFault as error:
        raise Refused(error.problem, error.instead) from None


def _given(text: str, what: str) -> str:
    if not text.strip():
        raise Refused("nothing was given", f"give {what}")
    return text.strip()


def can_be_crossed_out(body: AnyBody) -> bool:
    """Whether an entry can be crossed out."""
    return not isinstance(body, FIXED)
