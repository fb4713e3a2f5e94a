"""Taking a build up again: what was done last, how long ago, and what comes next."""

from __future__ import annotations

from dataclasses import replace

from heelwise.documents.entries import AnyEntry, Begun, HandedOver, Paused, Recovered, Resumed
from heelwise.documents.length_display import AS_WRITTEN, in_unit
from heelwise.screens.tones import Part
from heelwise.screens.when import ago
from heelwise.sheet.words import entry_words
from heelwise.walk.next_prompt import next_prompt
from heelwise.walk.prompts import Prompt
from heelwise.walk.standing import RESUME_STEP
from heelwise.walk.walker import Walker

OF_THE_RECORD = (Begun, Paused, Resumed, Recovered, HandedOver)
"""Entries about the keeping of the record, not about the engine."""

SHOWN = 3


def facts(prompt: Prompt, walker: Walker, unit: str = AS_WRITTEN) -> list[list[Part]]:
    """The context of a resume, nothing for any other prompt.

    Args:
        prompt: The prompt.
        walker: To tell what was done.
        unit: The unit of lengths in what comes next; entries stand as they were kept.
    """
    if prompt.id != RESUME_STEP:
        return []
    rows: list[list[Part]] = [[(_laid_down(walker), "quiet")], [("done last", "next")]]
    for entry in last_work(walker.standing.entries):
        rows.append(
            [
                (f"{entry.number:>4} {entry.at:%d %b %H:%M}  ", "quiet"),
                (entry_words(entry), "plain"),
            ]
        )
    rows += [
        [("next, if the crank is where it was", "next")],
        [(in_unit(_next(walker), unit), "plain")],
    ]
    return rows


def last_work(entries: list[AnyEntry]) -> list[AnyEntry]:
    """The last three entries about the engine, oldest first."""
    work = [e for e in entries if not isinstance(e.body, OF_THE_RECORD)]
    return work[-SHOWN:]


def _laid_down(walker: Walker) -> str:
    entries = walker.standing.entries
    before = [e for e in entries if not isinstance(e.body, Resumed)]
    last = before[-1]
    when = f"{last.at:%d %b %H:%M}, {ago(last.at, walker.now())}"
    if isinstance(last.body, Paused):
        return f"Laid down by {last.by}: {when}."
    return f"Left without being laid down. Last entry by {last.by}: {when}."


def _next(walker: Walker) -> str:
    going_on = replace(walker.standing, resume_asked=None)
    return next_prompt(walker.build, going_on).question
