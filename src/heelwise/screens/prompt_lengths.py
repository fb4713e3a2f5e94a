"""A prompt as it is shown, its lengths in the unit chosen."""

from __future__ import annotations

from dataclasses import replace

from heelwise.documents.length_display import AS_WRITTEN, in_unit
from heelwise.walk.prompts import Fact, Hazard, Option, Prompt


def prompt_in(prompt: Prompt, unit: str) -> Prompt:
    """A prompt as it is shown, its lengths in one unit; never the one that takes the answer.

    Args:
        prompt: As the walk asks it.
        unit: As for `in_unit`.
    """
    if unit == AS_WRITTEN:
        return prompt
    return replace(
        prompt,
        question=in_unit(prompt.question, unit),
        why=in_unit(prompt.why, unit),
        heading=in_unit(prompt.heading, unit),
        caution=None if prompt.caution is None else _hazard(prompt.caution, unit),
        options=tuple(option_in(option, unit) for option in prompt.options),
        suggested=in_unit(prompt.suggested, unit),
        facts=tuple(Fact(in_unit(f.text, unit), in_unit(f.source, unit)) for f in prompt.facts),
    )


def option_in(option: Option, unit: str) -> Option:
    """An option as it is shown."""
    return replace(option, label=in_unit(option.label, unit))


def _hazard(hazard: Hazard, unit: str) -> Hazard:
    return replace(
        hazard,
        hazard=in_unit(hazard.hazard, unit),
        consequence=in_unit(hazard.consequence, unit),
        avoid=in_unit(hazard.avoid, unit),
    )
