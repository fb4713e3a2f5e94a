"""Which figures of a prompt, and of an answer, are told large."""

from __future__ import annotations

from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import PASSING, Ceiling, Crank, Entry, Proved, Read
from heelwise.screens.widgets.placard import Figure
from heelwise.valvetrain.arcs import wrap
from heelwise.walk.prompts import Prompt
from heelwise.walk.scene import Scene

LONGEST_TYPED = 12
WORD_TONES = {"inside": "good", "short": "bad", "long": "bad"}
PROOFS = {"clicked": ("proved", "good"), "settled": ("settled", "good")}


def prompt_figures(
    prompt: Prompt, scene: Scene, now: datetime | None, typed: str = ""
) -> list[Figure]:
    """The figures of a prompt, the most important first.

    Args:
        prompt: The prompt.
        scene: The moment it is asked at.
        now: The time a wait is counted from; None where waits are passed over.
        typed: The reading as far as it is typed.
    """
    found: list[Figure] = []
    left = time_left(prompt, now)
    if left:
        found.append(Figure("time\nleft", left, "warn"))
    if prompt.valve is not None:
        found.append(Figure("", str(prompt.valve), "next"))
    if typed:
        found.append(Figure("you\ntyped", typed[:LONGEST_TYPED], "strong"))
    found += _turn(prompt, scene)
    if prompt.fills == "count":
        never = quantities.show_turns(scene.never_past)
        found.append(Figure("never\npast\n(turns)", never, "bad"))
    if prompt.suggested and not typed:
        number, _, unit = prompt.suggested.partition(" ")
        found.append(Figure(f"try\n({unit})", number, "strong"))
    return found


def _turn(prompt: Prompt, scene: Scene) -> list[Figure]:
    target = prompt.crank_target_deg
    if target is None:
        return []
    to = Figure("crank\nto", f"{target:g}°", "strong")
    at = scene.crank_deg
    if at is None:
        return [to]
    on = wrap(target - at)
    return [Figure("turn\non", f"{on:g}°", "next"), to]


def time_left(prompt: Prompt, now: datetime | None) -> str:
    """What is left of a prompt's wait as minutes and seconds, or an empty text."""
    if prompt.wait_until is None or now is None:
        return ""
    seconds = int(max((prompt.wait_until - now).total_seconds(), 0))
    return f"{seconds // 60}:{seconds % 60:02d}" if seconds else ""


def answer_figures(entries: tuple[Entry, ...]) -> list[Figure]:
    """The figures of an answer that was kept: turns and verdict, or what the proof came to."""
    for entry in reversed(entries):
        body = entry.body
        if isinstance(body, Read):
            turns = quantities.show_turns(quantities.turns(body.turns))
            tone = "warn" if body.near else WORD_TONES[body.verdict]
            return [Figure(body.valve, f"{turns} {body.verdict}", tone)]
        if isinstance(body, Ceiling):
            return [Figure(f"{body.valve}\nno\nclick", "long", "bad")]
        if isinstance(body, Proved):
            tone = "good" if body.outcome in PASSING else "bad"
            word, tone = PROOFS.get(body.outcome, (body.outcome, tone))
            return [Figure(body.valve, word, tone)]
        if isinstance(body, Crank) and body.how in ("turned", "overshot"):
            return [Figure("crank\nnow", f"{body.at_deg:g}°", "good")]
    return []
