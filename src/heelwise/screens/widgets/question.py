"""The question and what belongs right beside it: the caution, the reason, the figures."""

from __future__ import annotations

from textual.content import Content

from heelwise.screens.glyphs import glyphs
from heelwise.screens.tones import Part, content, lines
from heelwise.screens.wrapping import all_wrapped
from heelwise.walk.prompts import Fact, Hazard, Prompt

HELP_WIDTH = 74


def question(prompt: Prompt) -> Content:
    """The question under its heading."""
    told = prompt.heading and prompt.fills != "count"  # that heading's figure is told large
    heading: list[Part] = [(prompt.heading + "\n", "quiet")] if told else []
    return content([*heading, (prompt.question, "strong")])


def caution(hazard: Hazard) -> Content:
    """A safety message: level, hazard, what comes of it, how to avoid it."""
    level = hazard.level.lower()
    return content(
        [
            (f" {hazard.level.upper()} ", level if level in _LEVELS else "warning"),
            (f" {hazard.hazard}", "strong"),
            (f" {hazard.consequence} {hazard.avoid}", "plain"),
        ]
    )


_LEVELS = ("danger", "warning", "caution", "notice")


def reason(prompt: Prompt) -> Content:
    """Why it matters."""
    return content([(prompt.why, "plain")])


def facts(known: tuple[Fact, ...], width: int) -> list[list[Part]]:
    """Figures, each with where it comes from.

    Args:
        known: The figures.
        width: Cells there are.
    """
    rows: list[list[Part]] = [
        [(f"{glyphs().bullet} ", "quiet"), (fact.text, "plain"), (f"  {fact.source}", "quiet")]
        for fact in known
    ]
    return all_wrapped(rows, width, indent=2)


def in_full(prompt: Prompt) -> Content:
    """A prompt with all that belongs to it, one under the other."""
    parts = [question(prompt)]
    if prompt.caution is not None:
        parts.append(caution(prompt.caution))
    parts.append(reason(prompt))
    if prompt.facts:
        parts.append(lines(facts(prompt.facts, HELP_WIDTH)))
    return Content("\n").join(parts)
