"""What a record may hold that this version doesn't know, and what is done with it all the same."""

import tomllib
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import tomli_w

from heelwise.commands.records import check_file
from heelwise.documents.entries import Begun, Noted
from heelwise.documents.entry_base import Entry
from heelwise.documents.entry_text import entry_text
from heelwise.documents.faults import Faulty
from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import load_procedure, procedure_digest
from heelwise.documents.record import open_record, read_record, record_notes
from heelwise.rehearsal.scenario import setup_by
from heelwise.sheet.forms import sheet
from heelwise.storage.journal import Journal
from tests.sheet.records import FORMS

AT = datetime(2031, 5, 4, 9, 0, tzinfo=UTC)


def _head(added: str, build_key: str, step_key: str, setup_key: str) -> tuple[str, str]:
    """The head of a record of a newer version as text, and its procedure's digest."""
    procedure = load_procedure(find_procedures()["bolt-down-rockers"])
    text = procedure.text.replace('id = "heads"\n', f'id = "heads"\n{step_key}', 1)
    head = setup_by("i4-1342", procedure).to_toml_dict()
    build: dict[str, Any] = {
        "name": "newer",
        "begun": AT,
        "by": "MK",
        "procedure": procedure.id,
        "procedure_digest": procedure_digest(text.encode()),
        "procedure_text": text,
    }
    written = tomli_w.dumps({**head, "build": build})
    written = written.replace('[build]\nname = "newer"\n', f'{added}[build]\nname = "newer"\n')
    written = written.replace('name = "newer"\n', f'name = "newer"\n{build_key}', 1)
    written = written.replace("[lifter]\n", f"[lifter]\n{setup_key}", 1)
    return written, build["procedure_digest"]


def _record(
    folder: Path, added: str = "", build: str = "", step: str = "", setup: str = "", entry: str = ""
) -> Path:
    path = folder / "newer.toml"
    head, digest = _head(added, build, step, setup)
    begun = Begun(procedure="bolt-down-rockers", procedure_digest=digest, program="heelwise 9")
    first = entry_text(Entry(1, AT, "MK", begun))
    with Journal.create(path, head, first) as journal:
        text = entry_text(Entry(2, AT, "MK", Noted(text="a note")))
        journal.append(text + entry if entry.startswith("weight") else text)
        if entry and not entry.startswith("weight"):
            journal.append(
                f'\n[[entry]]\nnumber = 3\nat = {AT.isoformat()}\nby = "MK"\nkind = "{entry}"\n'
                'grams = 4.5\nvalve = "1I"\n'
            )
    return path


@pytest.mark.parametrize(
    ("newer", "where"),
    [
        ({"added": '[customs]\ncolor = "red"\n\n'}, "customs"),
        ({"setup": 'color = "red"\n'}, "lifter.color"),
        ({"build": 'shop = "east"\n'}, "build.shop"),
        ({"step": "sound = true\n"}, "build.procedure_text, step 4.sound"),
        ({"entry": "weighed"}, "entry 3"),
        ({"entry": "weight = 4.5\n"}, "entry 2.weight"),
    ],
)
def test_what_is_not_known_is_shown_and_only_walking_on_is_refused(
    newer: dict[str, str], where: str, tmp_path: Path
) -> None:
    path = _record(tmp_path, **newer)
    record = read_record(path)
    assert record.unknown == (where,)
    assert [note.where for note in record_notes(record)] == [where]
    assert check_file(path)[0] == []
    for form in FORMS:
        assert sheet(record, form)
    before = path.read_bytes()
    with pytest.raises(Faulty) as refused:
        open_record(path)
    assert [fault.where for fault in refused.value.faults] == [where]
    assert path.read_bytes() == before


def test_seals_are_checked_of_what_is_not_known_too(tmp_path: Path) -> None:
    path = _record(tmp_path, entry="weighed")
    path.write_bytes(path.read_bytes().replace(b"grams = 4.5", b"grams = 4.6"))
    assert [fault.where for fault in check_file(path)[0]] == ["entry 3"]


def test_an_entry_of_an_unknown_kind_stands_on_the_sheet_with_its_keys(tmp_path: Path) -> None:
    text = sheet(read_record(_record(tmp_path, entry="weighed")), "text")
    assert "weighed" in text
    assert "4.5" in text


def test_our_own_layout_is_read_without_the_toml_parser(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ten thousand entries took it a second and a half."""
    path = _record(tmp_path)
    with Journal.open_for_work(path) as journal:
        for number in range(3, 60):
            journal.append(entry_text(Entry(number, AT, "MK", Noted(text="a note"))))
    read_record(path)  # whose procedure's text is parsed once
    monkeypatch.setattr(tomllib, "loads", lambda text: pytest.fail(text))
    assert len(read_record(path).entries) == 59
