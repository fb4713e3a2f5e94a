"""What is told large: the figures of a prompt, and what an answer came to."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from heelwise.documents.entries import (
    AnyBody,
    Crank,
    Fitted,
    Gauged,
    NoClick,
    Proved,
)
from heelwise.documents.entry_base import Entry
from heelwise.screens.key_actions import key_actions
from heelwise.screens.placard import (
    Figure,
    placard,
    prompt_figures,
    time_left,
    verdict_figures,
)
from heelwise.screens.styled_text import ago
from heelwise.wording import show_turns
from tests.screens.pressing import AT, LARGE, app_on, go_on, rehearsal, shows, text_in, until

GAUGED = Gauged(
    valve="1I",
    reading="0.016 in",
    what="gap",
    phase="fit",
    at_deg=0.0,
    least_mm=0.5,
    most_mm=1.0,
    limits_from="worked out",
    step_mm=0.025,
    verdict="tight",
    near=False,
)


def changed(**keys: Any) -> Gauged:
    return Gauged(**{**GAUGED.values(), **keys})


def told(body: AnyBody) -> list[tuple[str, str]]:
    figures = verdict_figures((Entry(2, AT, "AO", body),), "in")
    return [(figure.large, figure.tone) for figure in figures]


@pytest.mark.parametrize(
    ("body", "figure"),
    [
        (GAUGED, ("0.016 long", "bad")),
        (changed(what="lash"), ("0.016 tight", "bad")),
        (changed(verdict="loose"), ("0.016 short", "bad")),
        (
            NoClick(valve="1I", phase="fit", pushrod="8.150 in", never_past_turns=2.0),
            ("long", "bad"),
        ),
    ],
)
def test_a_verdict_that_asks_for_more_is_shown_large(
    body: AnyBody, figure: tuple[str, str]
) -> None:
    assert told(body) == [figure]


@pytest.mark.parametrize(
    "body",
    [
        Fitted(valve="1I", pushrod="8.150 in", phase="fit"),
        changed(verdict="inside", near=True),
        Proved(valve="1I", outcome="clicked", torque="28", at_deg=0.0),
        Crank(at_deg=90.0, how="turned"),
    ],
)
def test_what_is_well_is_told_in_its_row_alone(body: AnyBody) -> None:
    assert told(body) == []


def test_the_figures_of_a_count_and_of_a_turn(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    while session.walker.prompt.crank_target_deg is None:
        go_on(session, 1)
    turn = prompt_figures(session.walker.prompt, session.walker.scene, None, "", "in")
    assert [(f.words, f.large) for f in turn] == [("turn\non", "90°"), ("crank\nto", "90°")]
    while session.walker.prompt.records != "count":
        go_on(session, 1)
    prompt, scene = session.walker.prompt, session.walker.scene
    aim = prompt_figures(prompt, scene, None, "", "in")
    assert [f.large for f in aim][:1] == [str(prompt.valve)]
    assert show_turns(scene.never_past) not in [f.large for f in aim]  # a limit is no aim
    typed = [f.large for f in prompt_figures(prompt, scene, None, "5/8", "in")]
    assert typed == [str(prompt.valve), "5/8"]
    odd = [f.large for f in prompt_figures(prompt, scene, None, "1½", "in")]
    assert "1½" not in odd  # half of it can't be drawn, and half would be wrong
    session.close()


def test_time_that_is_left_and_time_gone_by(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    prompt = replace(session.walker.prompt, wait_until=AT)
    assert time_left(prompt, AT - timedelta(minutes=12, seconds=5)) == "12:05"
    assert time_left(prompt, AT) == time_left(prompt, None) == ""
    assert ago(AT - timedelta(days=3), AT) == "3 days ago"
    assert ago(AT - timedelta(minutes=61), AT) == "1 hour ago"
    assert ago(AT - timedelta(seconds=20), AT) == "just now"
    assert ago(AT + timedelta(hours=2), AT) == "later than now"
    session.close()


def test_a_spare_figure_gives_way_first() -> None:
    figures = [Figure("", "4E"), Figure("", "360°", spare=True), Figure("", "2 1/4")]
    narrow = placard(figures, 40)
    assert placard(figures[::2], 40) == narrow
    assert len(placard(figures, 80)[0]) > len(narrow[0])


async def test_a_second_person_is_not_shown_what_the_first_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = rehearsal(tmp_path)
    go_on(session, 90)
    walker = session.walker
    monkeypatch.setattr(type(walker), "prompt", replace(walker.prompt, blind=True))
    app = app_on(session)
    async with app.run_test(size=LARGE, notifications=True):
        await until(app, "it said", lambda: shows(app, "independently"))
        beside = text_in(app, "#right")
        assert "5/8" not in beside
        assert "inside" not in beside
        labels = {thing.label for thing in key_actions(app.screen)}
        assert not labels & {"Record", "Sheet", "Pushrods"}
        assert {"Cross out", "Pause", "Crank?"} <= labels
    session.close()
