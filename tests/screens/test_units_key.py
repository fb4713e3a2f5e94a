"""F11 shows lengths in the other unit: nothing kept or typed changes, and again undoes it."""

from __future__ import annotations

from pathlib import Path

from heelwise.documents.entries import Gauged
from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import load_procedure
from heelwise.screens.answer import AnswerLine
from heelwise.screens.app import HeelwiseApp
from heelwise.screens.placard import large
from heelwise.screens.reading import PushrodsScreen, SheetScreen
from heelwise.screens.styled_text import number_in
from heelwise.screens.timeline import TimelineScreen
from heelwise.screens.walk import WalkScreen
from heelwise.session import Session
from heelwise.walk.limits import gauge_limits
from heelwise.wording import INCHES, painted
from tests.rehearsal.setups import begin_in_inches
from tests.screens.pressing import (
    AT,
    LARGE,
    SMALL,
    answer,
    app_on,
    at_rest,
    go_on,
    go_on_to_fit,
    rehearsal,
    send_key,
    shows,
    text_in,
    text_of,
    until,
)


def to_prompt(session: Session, question: str) -> None:
    """Answer until a question begins so, of any valve."""
    while question not in session.walker.prompt.question:
        go_on(session, 1)


async def settled(app: HeelwiseApp, shown: str) -> str:
    """The screen once it shows a text."""
    await until(app, shown, lambda: shows(app, shown))
    return text_of(app)


async def test_a_trial_in_millimetres_and_back(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    to_prompt(session, "fit a trial pushrod")
    before = session.file.read_bytes()
    inches = painted(session.walker.prompt.question, INCHES)
    assert "8.150 in" in inches
    app = app_on(session)
    async with app.run_test(size=LARGE, notifications=True) as pilot:
        await settled(app, "F11 mm")
        first = await at_rest(pilot)
        assert "8.150 in" in text_in(app, "#above")
        send_key(app, "f11")
        await until(app, "millimetres", lambda: app.lengths == "mm")
        await until(app, "the question", lambda: "207.01 mm" in text_in(app, "#above"))
        found = text_in(app, "#above").partition("you find")[0]
        assert "8.150" not in found
        assert any(large("207.01", scale)[0].strip() in text_of(app) for scale in (1, 2))
        for character in "8.14":
            send_key(app, character)
        line = app.screen.query_one(AnswerLine)
        await until(app, "it typed", lambda: line.typed == "8.14")
        send_key(app, "f11")
        await until(app, "inches", lambda: "8.150 in" in text_in(app, "#above"))
        assert line.typed == "8.14"
        for _ in "8.14":
            send_key(app, "backspace")
        await until(app, "an empty line", lambda: not line.typed)
        assert await at_rest(pilot) == first
        assert session.file.read_bytes() == before
    session.close()


async def test_the_choice_holds_from_question_to_question_and_from_screen_to_screen(
    tmp_path: Path,
) -> None:
    session = rehearsal(tmp_path)
    to_prompt(session, "fit a trial pushrod")
    app = app_on(session)
    async with app.run_test(size=(140, 70), notifications=True):
        await settled(app, "F11 mm")
        send_key(app, "f11")
        await until(app, "the other unit", lambda: app.lengths == "mm")
        await answer(app, session)
        while not any(e.body.kind == "read" for e in session.record.entries):
            await answer(app, session)
        typed = session.record.entries[-1].body
        pushrod = getattr(typed, "pushrod", "")
        assert pushrod.endswith(" in")
        told = " ".join(painted(session.walker.prompt.question, "mm").split())
        await until(app, "the preload", lambda: told in text_in(app, "#above"))
        send_key(app, "f9")
        await until(app, "the set", lambda: isinstance(app.screen, PushrodsScreen))
        in_mm = f"{number_in(pushrod, 'mm')} mm"
        await settled(app, in_mm)
        send_key(app, "f11")
        await settled(app, pushrod)
        send_key(app, "f11")
        await settled(app, in_mm)
        send_key(app, "escape")
        await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
        send_key(app, "f2")
        await until(app, "the record", lambda: isinstance(app.screen, TimelineScreen))
        await settled(app, f"{pushrod} = {in_mm}")
        send_key(app, "escape")
        await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
        send_key(app, "f6")
        await until(app, "the sheet", lambda: isinstance(app.screen, SheetScreen))
        await settled(app, in_mm)
    session.close()


def _gauged(session: Session) -> list[Gauged]:
    bodies = [entry.body for entry in session.record.entries]
    return [body for body in bodies if isinstance(body, Gauged)]


async def test_a_gap_told_without_its_unit_follows(tmp_path: Path) -> None:
    """Beside the question and told large there is room for the number alone."""
    path = find_procedures()["solid-lifters"]
    file = tmp_path / "solid.toml"
    session = Session(begin_in_inches(file, "i4-1342", 1, load_procedure(path), AT))
    while not _gauged(session) or session.walker.prompt.records != "gauge":
        go_on(session, 1)
    body = _gauged(session)[-1]
    valve = session.walker.prompt.valve
    assert valve is not None
    wanted = f"{gauge_limits(session.walker.scene, valve).wanted_mm:.2f}"
    inches = body.reading.removesuffix(" in")
    mm = f"{float(inches) * 25.4:.2f}"
    app = app_on(session)
    async with app.run_test(size=SMALL, notifications=True):
        await until(app, "the gap", lambda: inches in text_in(app, "#right"))
        send_key(app, "f11")
        await until(app, "it in mm", lambda: mm in text_in(app, "#right"))
        assert inches not in text_in(app, "#right").partition("Last entries")[0]
        assert large(wanted)[0].strip() in text_of(app)
        assert "(mm)" in text_in(app, "#above")
    assert number_in(body.reading, "mm") == mm
    session.close()


async def test_what_people_wrote_is_never_rewritten(tmp_path: Path) -> None:
    session = rehearsal(tmp_path, name="tug-8.137-in")
    go_on_to_fit(session)
    session.walker.note("guide 8.137 in from the end, 0.015 in of play", None)
    app = app_on(session)
    async with app.run_test(size=(140, 60), notifications=True):
        await settled(app, "F11 mm")
        send_key(app, "f11")
        await until(app, "the other unit", lambda: app.lengths == "mm")
        assert "tug-8.137-in" in text_of(app)
        send_key(app, "f2")
        await until(app, "the record", lambda: isinstance(app.screen, TimelineScreen))
        send_key(app, "end")
        whole = await settled(app, "0.015 in of play")
        assert "206.68" not in whole
        send_key(app, "escape")
        await until(app, "the walk", lambda: isinstance(app.screen, WalkScreen))
        send_key(app, "f6")
        await until(app, "the sheet", lambda: isinstance(app.screen, SheetScreen))
        send_key(app, "end")
        assert "206.68" not in await settled(app, "guide 8.137 in from the end")
    session.close()
