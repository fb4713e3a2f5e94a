"""Figures of a prompt and of an answer that are shown large, and the bar of a count."""

from __future__ import annotations

from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import (
    AnyBody,
    AnyEntry,
    Crank,
    Gauged,
    IndependentProof,
    NoClick,
    Proved,
    Read,
)
from heelwise.documents.entry_base import PASSING
from heelwise.documents.length_display import AS_WRITTEN, INCHES, number_in
from heelwise.pictures.window_bar import Bar, bar_cells
from heelwise.screens.styled_text import ROLE_TONES, Part
from heelwise.screens.theme import glyphs
from heelwise.screens.widgets.placard import Figure, drawable
from heelwise.valvetrain.arcs import wrap
from heelwise.walk.limits import gauge_limits
from heelwise.walk.prompts import Prompt
from heelwise.walk.scene import Scene

LONGEST_TYPED = 12
WORD_TONES = {"inside": "good"}
"""Any other word of a verdict is a bad one."""
PROVED = ("clicked", "held")
GAP_WORDS = {"tight": "long", "loose": "short", "inside": "inside"}
"""A small gap with the plunger at its end is much preload, and the other way round."""


def prompt_figures(
    prompt: Prompt, scene: Scene, now: datetime | None, typed: str = "", unit: str = AS_WRITTEN
) -> list[Figure]:
    """The figures of a prompt, the most important first."""
    found: list[Figure] = []
    left = time_left(prompt, now)
    if left:
        found.append(Figure("time\nleft", left, "warn"))
    if prompt.valve is not None:
        found.append(Figure("", str(prompt.valve), "next"))
    if typed and drawable(typed):
        found.append(Figure("you\ntyped", typed[:LONGEST_TYPED], "strong"))
    found += _turn(prompt, scene)
    if prompt.records == "count":
        found += _count(scene)
    if prompt.records in ("gauge", "locked") and prompt.valve is not None:
        wanted = gauge_limits(scene, prompt.valve).wanted_mm
        number, _, unit = quantities.show_length(wanted, unit or INCHES).partition(" ")
        found.append(Figure(f"wanted\n({unit})", number, "strong"))
    if prompt.suggested and not typed:
        number, _, unit = prompt.suggested.partition(" ")
        found.append(Figure(f"try\n({unit})", number, "strong"))
    return found


def _count(scene: Scene) -> list[Figure]:
    never = quantities.show_turns(scene.never_past)
    past = Figure("never\npast\n(turns)", never, "bad")
    if scene.build.method.clicks:
        return [past]
    return [Figure("give\n(turns)", quantities.show_turns(scene.wanted_turns), "strong"), past]


def _turn(prompt: Prompt, scene: Scene) -> list[Figure]:
    target = prompt.crank_target_deg
    if target is None:
        return []
    at = scene.crank_deg
    to = Figure("crank\nto", f"{target:g}°", "strong", spare=at is not None)
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


def answer_figures(entries: tuple[AnyEntry, ...], unit: str = AS_WRITTEN) -> list[Figure]:
    """The figures of an answer that was kept: a reading and its verdict, or a proof's outcome."""
    for entry in reversed(entries):
        found = _of_body(entry.body, unit)
        if found is not None:
            return [found]
    return []


def _of_body(body: AnyBody, unit: str) -> Figure | None:
    if isinstance(body, Read):
        turns = quantities.show_turns(quantities.turns(body.turns))
        return _judged(body.valve, turns, body.verdict, body.near)
    if isinstance(body, Gauged):
        word = GAP_WORDS[body.verdict] if body.what == "gap" else body.verdict
        return _judged(body.valve, number_in(body.reading, unit), word, body.near)
    if isinstance(body, NoClick):
        return Figure(f"{body.valve}\nno\nclick", "long", "bad")
    if isinstance(body, Proved | IndependentProof):
        word = "proved" if body.outcome in PROVED else body.outcome
        return Figure(body.valve, word, "good" if body.outcome in PASSING else "bad")
    if isinstance(body, Crank) and body.how in ("turned", "overshot"):
        return Figure("crank\nnow", f"{body.at_deg:g}°", "good")
    return None


def _judged(valve: str, reading: str, word: str, near: bool) -> Figure:
    tone = "warn" if near else WORD_TONES.get(word, "bad")
    return Figure(valve, f"{reading} {word}", tone)


WIDEST = 76


def count_bar(prompt: Prompt, scene: Scene, typed: str, width: int) -> list[list[Part]]:
    """The window, the turns never to pass, and the count as far as it is typed."""
    if prompt.records != "count":
        return []
    window = scene.window
    drawn = Bar(window.least_turns, window.most_turns, scene.never_past, _turns(typed))
    cells = bar_cells(drawn, min(width, WIDEST), 2, not glyphs().blocks)
    rows = [[(cell.char, ROLE_TONES.get(cell.role, "plain")) for cell in row] for row in cells]
    return [*rows, [("", "plain")]]


def _turns(typed: str) -> float | None:
    try:
        return quantities.turns(typed) if typed else None
    except quantities.QuantityFault:
        return None
