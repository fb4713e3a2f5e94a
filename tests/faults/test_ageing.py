"""Newer documents are refused politely and left alone; old records keep their meaning."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from heelwise.commands.main import main
from heelwise.documents import files, library
from heelwise.documents.faults import Faulty
from heelwise.documents.record import open_record, read_record
from heelwise.session import Session, procedures_for
from heelwise.walk.walker import Walker
from tests.faults.small_records import PROCEDURE, small_bytes
from tests.faults.walking import answered, begun
from tests.rehearsal.setups import setup_for

NEWER = {
    "setup": b'format = 2\n[engine]\nshape = "radial"\n[oil]\ngrade = 5\n',
    "procedure": PROCEDURE.replace("format = 1", "format = 2").encode() + b"[new]\nkey = 1\n",
    "record": b'format = 2\n[build]\nshape = "new"\n[[entry]]\nnumber = 1\nmac = "01"\nseal = "x',
}


def contents(folder: Path) -> dict[str, bytes]:
    """Every file of a folder but locks."""
    files = (path for path in folder.iterdir() if path.suffix != ".lock")
    return {path.name: path.read_bytes() for path in files}


@pytest.mark.parametrize("kind", ["setup", "procedure", "record"])
def test_a_newer_document_is_refused_in_one_line_and_left_alone(
    kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "new.toml"
    path.write_bytes(NEWER[kind])
    commands = [["check", str(path)]]
    if kind != "procedure":
        commands += [[str(path), "--plain"], ["pushrods", str(path)]]
    if kind == "setup":
        commands.append(["positions", str(path)])
    if kind == "record":
        commands.append(["sheet", str(path)])
    for words in commands:
        assert main(words) == 1
        said = capsys.readouterr().err
        assert said == (
            f"{path}: format: made for a newer Heelwise: format 2; this one reads format 1\n"
        )
    assert contents(tmp_path) == {"new.toml": NEWER[kind]}


def test_a_newer_record_is_not_taken_for_a_torn_one_when_opened_for_work(tmp_path: Path) -> None:
    path = tmp_path / "new.toml"
    newer = small_bytes().replace(b"format = 1\n", b"format = 2\n", 1)
    for data in (NEWER["record"], newer, newer[:-90], newer + b"[[more]]\nkey = 1\n"):
        path.write_bytes(data)
        with pytest.raises(Faulty):
            open_record(path)
        assert contents(tmp_path) == {"new.toml": data}


def questions(walker: Walker) -> list[str]:
    """Every text of the procedure's steps that a walk will show."""
    procedure = walker.build.procedure
    return [f"{s.id} {s.say} {s.why} {s.yes} {s.if_not} {s.caution}" for s in procedure.steps]


def test_a_changed_procedure_changes_no_old_record(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, own = tmp_path / "builds" / "block-1.toml", tmp_path / "own"
    path.parent.mkdir()
    own.mkdir()
    with Session(begun(path)) as sitting:
        for _ in range(10):
            answered(sitting)
        asked, prompt = questions(sitting.walker), sitting.walker.prompt
        defaults = sitting.walker.build.procedure.defaults
    packaged = library.find_procedures()["bolt-down-rockers"]
    shutil.copytree(packaged.parent, own, dirs_exist_ok=True)
    for steps in (own / "steps").glob("*.toml"):
        text = steps.read_text(encoding="utf-8")
        assert 'say = "' in text
        steps.write_text(text.replace('say = "', 'say = "Changed: '), encoding="utf-8")
    text = packaged.read_text(encoding="utf-8").replace('say = "', 'say = "Changed: ')
    assert "[defaults]\n" in text
    text = text.replace("[defaults]\n", "[defaults]\nresolution_turns = 0.5\n")
    (own / packaged.name).write_text(text, encoding="utf-8")
    monkeypatch.setenv(files.OWN_FOLDER, str(own))
    with Session(open_record(path)) as again:
        assert questions(again.walker) == asked
        assert again.walker.prompt == prompt
        assert again.walker.build.procedure.defaults == defaults
    new = procedures_for(setup_for("single"), "s")[0]
    assert all("Changed: " in step.say for step in new.steps)


def test_a_record_needs_no_procedure_and_no_card_outside_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "block-1.toml"
    with Session(begun(path)) as sitting:
        for _ in range(10):
            answered(sitting)
        prompt = sitting.walker.prompt
    monkeypatch.setattr(library, "folders", lambda: ())
    assert library.find_procedures() == {}
    assert read_record(path).head.procedure.id == "bolt-down-rockers"
    with Session(open_record(path)) as again:
        assert again.walker.prompt == prompt
        while not again.walker.closed:
            answered(again)
    assert main(["check", str(path)]) == 0
    assert main(["sheet", str(path)]) == 0
