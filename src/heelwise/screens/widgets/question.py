"""The question and what belongs right beside it: the caution, the reason, the figures."""

from __future__ import annotations

from textual.content import Content

from heelwise.screens.glyphs import glyphs
from heelwise.screens.tones import Part, content, lines
from heelwise.walk.prompts import Fact, Hazard, Prompt


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


def facts(known: tuple[Fact, ...]) -> Content:
    """Figures, each with where it comes from."""
    return lines(
        [
            [(f"{glyphs().bullet} ", "quiet"), (fact.text, "plain"), (f"  {fact.source}", "quiet")]
            for fact in known
        ]
    )


def in_full(prompt: Prompt) -> Content:
    """A prompt with all that belongs to it, one under the other."""
    parts = [question(prompt)]
    if prompt.caution is not None:
        parts.append(caution(prompt.caution))
    parts.append(reason(prompt))
    if prompt.facts:
        parts.append(facts(prompt.facts))
    return Content("\n").join(parts)
