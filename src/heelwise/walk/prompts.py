"""What the walk asks: one prompt at a time, with all a screen or a line needs to show it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from heelwise.documents.entries import Draft, Phase
from heelwise.valvetrain.valves import Valve


class Ask(StrEnum):
    """What kind of answer a prompt takes."""

    CHOICE = "choice"
    READING = "reading"
    NOTE = "note"


@dataclass(frozen=True)
class Option:
    """A single key that answers, the state it stands for, and texts it asks for besides."""

    key: str
    label: str
    wants: tuple[str, ...] = ()


@dataclass(frozen=True)
class Fact:
    """A figure shown with a prompt, and where it comes from."""

    text: str
    source: str


@dataclass(frozen=True)
class Hazard:
    """A safety message beside its hazard, in the terms of ANSI Z535."""

    level: str
    hazard: str
    consequence: str
    avoid: str


@dataclass(frozen=True)
class Taken:
    """What an answer turns into: entries to keep, in order, and what to say at once."""

    drafts: tuple[Draft, ...]
    said: str = ""
    tone: str = "plain"


class Refused(ValueError):
    """An answer that can't be taken: what is wrong and what would be right. Nothing is kept."""

    def __init__(self, problem: str, instead: str) -> None:
        super().__init__(f"{problem}; {instead}")
        self.problem = problem
        self.instead = instead


Take = Callable[[str, tuple[str, ...], datetime], Taken]


@dataclass(frozen=True)
class Prompt:
    """One question.

    `options` are answered by their key; with `reading` set, anything that is no
    option's key is taken as a reading (a reading never begins with a letter).
    `take(answer, texts, now)` gives the entries to keep or raises Refused. `blind`: what
    was found before is not to be shown beside it.
    """

    id: str
    phase: Phase
    ask: Ask
    question: str
    take: Take = field(compare=False, repr=False)
    why: str = ""
    heading: str = ""
    caution: Hazard | None = None
    options: tuple[Option, ...] = ()
    reading: str = ""
    example: str = ""
    suggested: str = ""
    facts: tuple[Fact, ...] = ()
    valve: Valve | None = None
    crank_target_deg: float | None = None
    guarded: bool = False
    wait_until: datetime | None = None
    fills: str = ""
    progress: str = ""
    done: int = 0
    total: int = 0
    rests_on: tuple[int, ...] = ()
    blind: bool = False

    def option(self, key: str) -> Option | None:
        """The option a key stands for, or None."""
        return next((o for o in self.options if o.key == key.strip().lower()), None)

    def reply(self, answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        """Take an answer.

        Args:
            answer: An option's key or a reading, as typed.
            texts: What the option wanted besides, in its order.
            now: The time, with an offset; holds are judged by it.

        Returns:
            The entries to keep and the words to say at once.

        Raises:
            Refused: With what is wrong and what would be right.
        """
        answer = answer.strip()
        chosen = self.option(answer)
        if chosen is not None:
            _check_texts(chosen, texts)
            return self.take(chosen.key, tuple(t.strip() for t in texts), now)
        if self.ask is Ask.CHOICE or not answer:
            keys = ", ".join(o.key for o in self.options)
            also = f" or {self.reading}" if self.reading and self.ask is Ask.READING else ""
            problem = f"{answer!r} is no answer here" if answer else "nothing was answered"
            raise Refused(problem, f"one of {keys}{also}" if keys else self.reading)
        return self.take(answer, (), now)


def _check_texts(option: Option, texts: tuple[str, ...]) -> None:
    if len(texts) != len(option.wants) or not all(t.strip() for t in texts):
        missing = ", ".join(option.wants)
        raise Refused(f"{option.label!r} also needs: {missing}", f"give {missing}")
