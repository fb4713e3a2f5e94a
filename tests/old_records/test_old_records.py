"""Records made by earlier versions of the program: they check clean, resume and are signed."""

from pathlib import Path
from shutil import copy

import pytest

from heelwise.commands.records import check_file
from heelwise.documents.entries import Reopened, SignedOff
from heelwise.session import Session, open_session
from heelwise.sheet.forms import sheet

FOLDER = Path(__file__).parent
RECORDS = sorted(FOLDER.glob("*.toml"), key=lambda path: path.stem)


def _to_the_signature(session: Session) -> None:
    for _ in range(1000):
        if session.walker.closed:
            return
        sensed = session.sense()
        assert sensed is not None
        session.walker.reply(sensed.answer, sensed.texts)
    raise AssertionError("it was never signed off")


@pytest.mark.parametrize("record", RECORDS, ids=lambda path: path.stem)
def test_check_finds_nothing(record: Path) -> None:
    assert check_file(record)[0] == []


@pytest.mark.parametrize("record", RECORDS, ids=lambda path: path.stem)
def test_it_goes_on_to_the_signature(record: Path, tmp_path: Path) -> None:
    path = Path(copy(record, tmp_path))
    with open_session(path) as session:
        if session.walker.closed:
            prompt = session.walker.prompt
            session.walker.reply(prompt.options[0].key, ("MK", "one more look"))
        _to_the_signature(session)
        bodies = [entry.body for entry in session.walker.state.entries]
        assert isinstance(bodies[-1], SignedOff)
        assert any(isinstance(body, Reopened) for body in bodies) == (record.stem == "port")
        text = sheet(session.record.as_record(), "text")
        assert all(str(valve) in text for valve in session.walker.build.engine.valves)
    assert check_file(path)[0] == []
    assert path.read_bytes().startswith(record.read_bytes())
