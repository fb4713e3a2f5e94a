"""What the walk asks: one prompt at a time, with all a screen or a line needs to show it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum
from math import ceil
from typing import cast

from heelwise.documents.entries import AnyBody, Draft
from heelwise.documents.steps import Caution, Phase
from heelwise.valvetrain.engine import Valve


class Ask(StrEnum):
    """What kind of answer a prompt takes."""

    CHOICE = "choice"
    READING = "reading"
    NOTE = "note"


A_NOTE = "a note"
"""The `reading` of a prompt that takes free text."""


@dataclass(frozen=True)
class Fact:
    """A figure shown with a prompt, and where it comes from; "" where it needs no source."""

    text: str
    source: str = ""


@dataclass(frozen=True)
class Reply:
    """What an answer turns into: entries to keep, in order, and what to say at once.

    `tone`: plain, good, warn or bad.
    """

    drafts: tuple[Draft, ...]
    text: str = ""
    tone: str = "plain"


def kept(body: AnyBody, text: str = "", tone: str = "plain", rests: tuple[int, ...] = ()) -> Reply:
    """A reply that keeps one entry."""
    return Reply((Draft(body, rests),), text, tone)


@dataclass(frozen=True)
class Option:
    """A single key that answers, the state it stands for, and texts it asks for besides.

    `does`: a reply, or what makes one of those texts; where it is None the prompt's `take` is
    asked. `also`: another key that is taken for it, not shown.
    """

    key: str
    label: str
    wants: tuple[str, ...] = ()
    does: Reply | Callable[..., Reply] | None = field(default=None, compare=False, repr=False)
    also: str = ""


class Refused(ValueError):
    """An answer that can't be taken: what is wrong and what would be right. Nothing is kept."""

    def __init__(self, problem: str, instead: str) -> None:
        super().__init__(f"{problem}; {instead}")
        self.problem = problem
        self.instead = instead


WAITED = "y"
"""The answer that a wait is over: refused before it is."""

Take = Callable[[str, tuple[str, ...], datetime], Reply]
"""Takes a reading, or an option's key with its texts."""


@dataclass(frozen=True)
class Prompt:
    """One question.

    `options` are answered by their key; with `reading` set, any text that isn't an option's
    key is a reading. `take` is reached only with a reading or an option that does nothing itself.
    `valves`: those it is about where it is asked once for several. `records`: what a procedure's
    step teaches the walk. `blind`: earlier findings aren't shown beside it. `turns_crank`:
    answering it sends the crank round. `phase`: where a builder gives none, that of the build.
    """

    id: str
    question: str
    phase: Phase = field(default=cast("Phase", ""))
    take: Take | None = field(default=None, compare=False, repr=False)
    why: str = ""
    heading: str = ""
    caution: Caution | None = None
    options: tuple[Option, ...] = ()
    reading: str = ""
    example: str = ""
    suggested: str = ""
    facts: tuple[Fact, ...] = ()
    valve: Valve | None = None
    valves: tuple[Valve, ...] = ()
    crank_target_deg: float | None = None
    wait_until: datetime | None = None
    records: str = ""
    progress: str = ""
    done: int = 0
    total: int = 0
    rests_on: tuple[int, ...] = ()
    blind: bool = False
    turns_crank: bool = False

    @property
    def ask(self) -> Ask:
        """What kind of answer it takes."""
        if self.reading == A_NOTE:
            return Ask.NOTE
        return Ask.READING if self.reading else Ask.CHOICE

    def option(self, key: str) -> Option | None:
        """The option a key stands for, or None."""
        typed = key.strip().lower()
        return next((o for o in self.options if typed and typed in (o.key, o.also)), None)

    def reply(self, answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        """Take an answer: an option's key with the texts it wants, or a reading; or Refused."""
        answer, texts = answer.strip(), tuple(text.strip() for text in texts)
        for typed in (answer, *texts):
            refuse_unreadable(typed)
        chosen = self.option(answer)
        if chosen is not None:
            if len(texts) != len(chosen.wants) or not all(texts):
                missing = ", ".join(chosen.wants)
                raise Refused(f"{chosen.label!r} also needs: {missing}", f"give {missing}")
            left = ceil((self.wait_until - now).total_seconds()) if self.wait_until else 0
            if chosen.key == WAITED and left > 0:
                problem = f"the wait has {left // 60} min {left % 60:02d} s to run"
                raise Refused(problem, "leave it alone until then")
            return self.taken(chosen.key, texts, now)
        only_a_letter = self.ask is Ask.READING and len(answer) == 1 and answer.isalpha()
        if not self.reading or not answer or only_a_letter:
            could_be = [", ".join(o.key for o in self.options), self.reading]
            problem = f"{answer!r} isn't an answer here" if answer else "nothing was answered"
            raise Refused(problem, " or ".join(filter(None, could_be)))
        return self.taken(answer, (), now)

    def taken(self, answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        """What an answer that can be taken turns into; it may still be Refused."""
        chosen = self.option(answer)
        does = chosen.does if chosen else None
        if does is not None:
            return does if isinstance(does, Reply) else does(*texts)
        if self.take is None:
            raise LookupError(f"no option takes {answer!r}")
        return self.take(answer, texts, now)

    def offering(self, *options: Option) -> Prompt:
        """The prompt with more options; never over one it has."""
        more = tuple(option for option in options if self.option(option.key) is None)
        return replace(self, options=(*self.options, *more))

    def then(self, change: Callable[[Reply], Reply], on: type[AnyBody] | None = None) -> Prompt:
        """The prompt with what an answer turns into changed; `on`: where that begins with one."""

        def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
            reply = self.taken(answer, texts, now)
            return change(reply) if on is None or type(reply.drafts[0].body) is on else reply

        return replace(self, take=take, options=tuple(replace(o, does=None) for o in self.options))


def refuse_unreadable(typed: str) -> None:
    """Raise Refused where a text holds half a character: what a console sent that isn't UTF-8."""
    try:
        typed.encode()
    except UnicodeEncodeError:
        problem = "a character there can't be read here"
        raise Refused(problem, "type it plainly: deg for °") from None
