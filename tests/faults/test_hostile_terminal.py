"""The program on a pseudo-terminal with files full of harm: what arrives, byte by byte."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from heelwise.documents.entries import Draft, HandedOver, Noted
from heelwise.documents.setup import Setup, parse_setup
from heelwise.session import Session
from tests.faults.hostile import (
    MARKUP,
    ODD,
    ON_ONE_LINE,
    PAYLOAD,
    lines_are_plain,
    nothing_of_theirs,
    without_escapes,
)
from tests.faults.program import run
from tests.faults.terminal import Terminal
from tests.faults.walking import answered, begun
from tests.rehearsal.setups import setup_for

F1, F2, F5, F6, F9, F10 = "\x1bOP", "\x1bOQ", "\x1b[15~", "\x1b[17~", "\x1b[20~", "\x1b[21~"


SEEN = "zqtitle"


def setup_of_harm() -> Setup:
    """A setup with as much harm in its texts as a setup takes."""
    raw = setup_for("single").to_toml_dict()
    raw["wrench"]["name"] = ON_ONE_LINE[:80]
    raw["engine"]["banks"] = {ON_ONE_LINE[-40:]: [1]}
    return parse_setup(raw, "harm", resolve=False)


def record_of_harm(folder: Path) -> Path:
    """A rehearsal under way, with harm wherever a person can put some."""
    path = folder / "block-1.toml"
    with Session(begun(path, setup=setup_of_harm())) as sitting:
        for _ in range(30):
            answered(sitting)
        sitting.walker.note(PAYLOAD)
        sitting.walker.note(MARKUP, sitting.walker.build.engine.valves[0])
        last = len(sitting.record.entries)
        sitting.walker.cross_out(last, PAYLOAD)
        # Refused today; a record made before may hold it.
        for body in (HandedOver(to=PAYLOAD), Noted(text=PAYLOAD)):
            sitting.record.keep(Draft(body), sitting.walker.now(), PAYLOAD)
    return path


def test_line_by_line_nothing_but_text_arrives(tmp_path: Path) -> None:
    path = record_of_harm(tmp_path)
    data = path.read_bytes()
    for words in (*(("sheet", path, "--as", form) for form in ("text", "html")), ("check", path)):
        ended = run(*words)
        assert ended.code == 0
        text = ended.out.decode()
        lines_are_plain(text)
        lines_are_plain(ended.said)
        assert SEEN in text or words[0] == "check"
    assert path.read_bytes() == data
    with Terminal(path, "--plain", "--by", "MK") as terminal:
        terminal.until("a question", lambda: terminal.out.endswith(b"\r\n> "))
        terminal.type("record\n")
        terminal.until("the record", lambda: b"rested on one" in terminal.out)
        terminal.until("a question", lambda: terminal.out.endswith(b"\r\n> "))
        terminal.type(f"note {MARKUP}\u202ezqover\u009b31m\n")
        terminal.until("the note kept", lambda: b"Noted." in terminal.out)
        terminal.type("quit\n")
        assert terminal.ended() == 0
    said = terminal.out.decode()
    echoed = f"note {MARKUP}\u202ezqover\u009b31m\r\n"  # by the terminal itself, as it was typed
    assert echoed in said
    lines_are_plain(said.replace(echoed, ""))
    assert said.count(SEEN) > 3


def shows(terminal: Terminal, text: str) -> bool:
    return text.lower() in terminal.shown.lower()


def test_on_the_full_screen_no_control_of_theirs_arrives(tmp_path: Path) -> None:
    path = record_of_harm(tmp_path)
    (tmp_path / "broken\x1b[3;7;9mzqcolour.toml").write_text("format = 1\n[engine]\n")
    (tmp_path / "setup.toml").write_text(f'format = 1\n[wrench]\nname = "{ON_ONE_LINE[:80]}"\n')
    for number, data in enumerate(ODD.values()):
        (tmp_path / f"odd-{number}.toml").write_bytes(data)
    with Terminal(path, rows=50, columns=160) as terminal:
        terminal.until("the walk", lambda: "F2" in terminal.shown and SEEN in terminal.shown)
        for key, there in ((F2, "record so far"), (F6, "SHEET"), (F9, "PUSHRODS"), (F1, "HELP")):
            terminal.type(key)
            terminal.until(f"{there} shown", partial(shows, terminal, there))
            terminal.type("\x1b")
            terminal.until("the walk again", lambda: "F9 Pushrods" in terminal.shown)
        terminal.type(F5)
        terminal.until("the bench", lambda: "zqcolour" in terminal.shown)
        terminal.type(F10)
        assert terminal.ended() == 0
    nothing_of_theirs(terminal.out)
    seen = without_escapes(terminal.out).decode("utf-8", "replace")
    assert "[@click=app.leave]" in seen
    assert "Traceback" not in seen


def test_names_that_lead_out_of_a_folder_or_into_a_terminal(tmp_path: Path) -> None:
    inside = tmp_path / "builds"
    inside.mkdir()
    for engine in ("../../x", "/etc/passwd", PAYLOAD.replace("\0", ""), "con"):
        ended = run("rehearse", "--hands-off", "--engine", engine, "--folder", inside)
        assert ended.code in (1, 2)
        lines_are_plain(ended.said)
        assert "Traceback" not in ended.said
        assert ended.said.strip()
        assert list(tmp_path.glob("**/*rehearsal*")) == []
