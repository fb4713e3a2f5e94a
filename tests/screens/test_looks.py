"""Colours, signs and room: legible in every look, complete without colour, whole at every size."""

from __future__ import annotations

import itertools
import os
from datetime import datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual.color import Color

from heelwise.pictures.cells import ValveSign
from heelwise.plain_text import wrapped
from heelwise.screens import theme
from heelwise.screens.app import HeelwiseApp
from heelwise.screens.placard import Figure, large, placard
from heelwise.screens.styled_text import lines
from heelwise.screens.theme import (
    CHOICE,
    THEMES,
    TONES,
    after,
    color_as_asked,
    first_theme,
)
from heelwise.walk.walker import Clock
from heelwise.wording import painted
from tests.screens.pressing import (
    AT,
    LARGE,
    MIDDLE,
    SMALL,
    app_on,
    go_on,
    real_build,
    rehearsal,
    send_key,
    shows,
    text_in,
    text_of,
    until,
    well,
)

BACKS = ("background", "surface", "panel")
LEAST_TEXT, LEAST_SHAPE = 4.5, 3.0


def luminance(colour: str) -> float:
    """WCAG 2.2, relative luminance."""
    parts = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in Color.parse(colour).normalized
    ]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


def ratio(one: str, other: str) -> float:
    """WCAG 2.2, contrast ratio."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("name", THEMES)
def test_every_tone_is_legible_on_every_ground(name: str) -> None:
    theme = THEMES[name]
    grounds = [str(getattr(theme, back)) for back in BACKS]
    inks = {k: v for k, v in theme.variables.items() if k.startswith("hw-") and "on-" not in k}
    for ground in grounds:
        assert ratio(str(theme.foreground), ground) >= LEAST_TEXT
        for tone in ("hw-quiet", "hw-good", "hw-warn", "hw-bad", "hw-next"):
            assert ratio(inks[tone], ground) >= LEAST_TEXT, (tone, ground)
        assert ratio(inks["hw-line"], grounds[0]) >= LEAST_SHAPE
    for level in ("danger", "warning", "caution", "notice"):
        on = theme.variables[f"hw-on-{level}"]
        assert ratio(on, theme.variables[f"hw-{level}"]) >= LEAST_TEXT


def test_every_sign_of_a_picture_has_a_tone() -> None:
    assert {*map(str, ValveSign)} <= set(TONES)


def test_the_look_is_chosen_by_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(CHOICE, "Light")
    assert first_theme() == "light"
    monkeypatch.setenv(CHOICE, "tartan")
    assert first_theme() == "dark"
    assert list(itertools.accumulate(range(3), lambda n, _: after(n), initial="dark")) == [
        "dark",
        "light",
        "contrast",
        "dark",
    ]


async def test_the_look_changes_on_a_key(tmp_path: Path) -> None:
    app = HeelwiseApp(tmp_path, held_key_s=0.0)
    async with app.run_test(size=SMALL, notifications=True):
        before = app.theme
        send_key(app, "f12")
        await until(app, "another look", lambda: app.theme == after(before))


@pytest.mark.parametrize(
    ("encoding", "plain"), [("utf-8", False), ("UTF8", False), ("latin-1", True), (None, True)]
)
def test_signs_by_the_consoles_encoding(
    monkeypatch: pytest.MonkeyPatch, encoding: str | None, plain: bool
) -> None:
    monkeypatch.setattr("sys.__stderr__", SimpleNamespace(encoding=encoding))
    theme.fit_console()
    assert theme.bare() is plain


def test_no_two_states_look_alike_in_ascii_either() -> None:
    shapes = [sign.shape.translate(theme.ASCII) for sign in ValveSign]
    assert len(set(shapes)) == len(ValveSign)
    assert all(len(shape) == 1 and shape.isascii() for shape in shapes)


async def test_a_plain_console_gets_nothing_it_cannot_show(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    theme.use(ascii_only=True)
    session = rehearsal(tmp_path)
    while session.walker.prompt.phase != "fit":
        go_on(session, 1)
    app = app_on(session)
    async with app.run_test(size=(100, 30), notifications=True):
        await until(app, "the walk", lambda: shows(app, "FIT"))
        odd = {c for c in text_of(app) if not c.isascii()} - set("°·×–—…’±▁▂▃▄▅▆▇")
        assert not odd
    session.close()


def test_large_letters_are_of_one_height_and_width() -> None:
    for text in ("4E", "1 15/16", "270.5°", "INSIDE", "SHORT", "LONG", "18:43"):
        for scale in (1, 2):
            rows = large(text, scale)
            assert len(rows) == 3 * scale
            assert len({len(row) for row in rows}) == 1


@given(width=st.integers(20, 90), scale=st.sampled_from((1, 2)))
def test_a_placard_stays_within_its_width_from_the_second_figure_on(width: int, scale: int) -> None:
    first, rest = Figure("", "4E"), Figure("never\npast", "1 15/16")
    rows = lines(placard([first, rest, rest], width, tall=scale == 2)).plain.split("\n")
    assert len(rows) in (3, 3 * scale)
    assert all(len(row) <= max(width, 22) for row in rows)


@given(
    words=st.lists(st.text(alphabet="abc é°", min_size=1, max_size=30), min_size=1, max_size=12),
    width=st.integers(8, 60),
    indent=st.integers(0, 4),
)
def test_wrapping_keeps_every_word_and_the_width(words: list[str], width: int, indent: int) -> None:
    rows = wrapped([(word, "plain") for word in words], width, indent)
    lines = ["".join(text for text, _ in row) for row in rows]
    assert all(len(line.rstrip()) <= width for line in lines)
    assert "".join("".join(words).split()) == "".join("".join(lines).split())


@pytest.mark.parametrize("size", [SMALL, MIDDLE, LARGE])
@pytest.mark.parametrize("answers", [1, 26, 64, 90])
async def test_question_and_options_are_whole_at_every_size(
    size: tuple[int, int], answers: int, tmp_path: Path
) -> None:
    session = rehearsal(tmp_path)
    go_on(session, answers)
    prompt = session.walker.prompt
    app = app_on(session)
    async with app.run_test(size=size, notifications=True):
        await until(app, "the walk", lambda: shows(app, "Esc More"))
        question = painted(prompt.question, app.lengths)
        assert " ".join(question.split()) in text_in(app, "#above")
        # What was read, and the last entries, give way at 80x24 before the question does.
        beside = () if size == SMALL else ("#right",)
        for part in ("#above", "#answer", *beside):
            region = app.screen.query_one(part).region
            assert region.height > 0
            assert region.bottom <= size[1] - 1, part
            assert region.right <= size[0], part
        for option in prompt.options:
            assert f" {option.key} " in text_of(app)
    session.close()


class HandClock(Clock):
    """A clock moved by hand."""

    def __init__(self, at: datetime) -> None:
        self.at = at

    def now(self) -> datetime:
        return self.at


async def test_a_hold_shows_its_clock_and_is_not_cut_short(tmp_path: Path) -> None:
    clock = HandClock(AT)
    session = real_build(tmp_path, clock)
    while session.walker.prompt.wait_until is None:
        oiled = session.walker.prompt.records == "lifter_condition"  # dry ones have no hold
        session.walker.reply(*(("3", ()) if oiled else well(session)))
    over = session.walker.prompt.wait_until
    clock.at = over - timedelta(seconds=95)
    kept = len(session.record.entries)
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the clock", lambda: shows(app, large("1:35")[0].strip()))
        send_key(app, "y")
        await until(app, "refused", lambda: shows(app, "s to run"))
        assert len(session.record.entries) == kept
        clock.at = over
        await until(app, "no clock", lambda: not shows(app, "time left"))
        send_key(app, "y")
        await until(app, "it kept", lambda: len(session.record.entries) > kept)
    session.close()


@pytest.mark.parametrize(("value", "kept"), [("", False), ("1", True), (None, False)])
def test_no_color_counts_only_when_it_is_not_empty(
    value: str | None, kept: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    if value is not None:
        monkeypatch.setenv("NO_COLOR", value)
    color_as_asked()
    assert ("NO_COLOR" in os.environ) is kept


async def test_without_colour_every_state_is_told_by_its_sign_or_word(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    session = rehearsal(tmp_path)
    while session.walker.prompt.id != "walk/trial-outside":
        go_on(session, 1)
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the walk", lambda: shows(app, "TRIAL"))
        assert app.no_color
        assert "SHORT: too little preload" in text_of(app)
    session.close()
