"""Records whose seals agree and whose entries hold nonsense or harm: told, shown, never run on."""

from __future__ import annotations

import io
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from heelwise.commands.main import main
from heelwise.documents.entry_text import one_line_pair
from heelwise.documents.faults import Faulty
from heelwise.documents.record import open_record
from heelwise.session import Session
from heelwise.walk.prompts import Refused
from tests.faults.hostile import PAYLOAD, lines_are_plain
from tests.faults.walking import HERE, answered, begun, record_in
from tests.rehearsal.setups import setup_for
from tests.sheet.records import FORMS, every_kind
from tests.storage.memory_files import MemoryFiles
from tests.storage.records import sealed

TEXTS = (PAYLOAD, "", "abc", "-5 in", "0", "99", "1e300 mm", "../../x", "1I")
NUMBERS = (0, -1, 10**9, 2**63 - 1, 0.5, 1e300, -1e300)


@dataclass(frozen=True)
class Built:
    """A rehearsal walked to its end, in parts that can be changed and sealed anew."""

    head: str
    entries: tuple[dict[str, Any], ...]

    def sealed(self, entries: tuple[dict[str, Any], ...], head: str = "") -> bytes:
        first, *rest = map(entry_lines, entries)
        return sealed([(head or self.head) + first, *rest])


def entry_lines(entry: dict[str, Any]) -> str:
    lines = [one_line_pair(key, value) for key, value in entry.items() if key != "seal"]
    return "\n[[entry]]\n" + "\n".join(lines) + "\n"


@cache
def built() -> Built:
    memory = MemoryFiles()
    with Session(begun(HERE, memory, setup_for("i2-180"))) as sitting:
        while not sitting.walker.closed:
            answered(sitting)
    data = memory.content(HERE).decode()
    head = data[: data.index("\n[[entry]]\n")]
    return Built(head, tuple(tomllib.loads(data)["entry"]))


def others_than(value: object) -> tuple[object, ...]:
    if isinstance(value, bool):
        return (not value,)
    if isinstance(value, str):
        return TEXTS
    if isinstance(value, list):
        return ([], value * 2, [PAYLOAD], value[:-1])
    if isinstance(value, int | float):
        return tuple(type(value)(number) for number in NUMBERS)
    return ()


def changed() -> Iterator[tuple[int, dict[str, Any]]]:
    """Each field of each kind of entry once, with each value it may get by hand."""
    done: set[tuple[str, str]] = set()
    for place, entry in enumerate(built().entries[1:], start=1):
        for key in entry:
            if key in ("number", "seal") or (entry["kind"], key) in done:
                continue
            done.add((entry["kind"], key))
            for value in others_than(entry[key]):
                yield place, {**entry, key: value}


def gone_on(data: bytes) -> list[str]:
    """Open a record for work and answer a few questions; where that is refused, why."""
    memory = MemoryFiles()
    memory.put(HERE, data)
    try:
        sitting = Session(open_record(HERE, files=memory))
    except Faulty as faulty:
        return [fault.where for fault in faulty.faults]
    with sitting:
        sitting.resume()
        for _ in range(8):
            if sitting.walker.closed:
                break
            try:
                answered(sitting)
            except Refused:  # the virtual engine's answer does not fit what was changed
                break
    return []


def refused(data: bytes) -> list[str]:
    """Where a record can't be understood; where it can, where it can't be gone on from."""
    try:
        record_in(data, HERE)
    except Faulty as faulty:
        return [fault.where for fault in faulty.faults]
    return gone_on(data)


def check_changed(place: int, entry: dict[str, Any]) -> None:
    """What is opened can be gone on with, here and later; what is refused is named by entry."""
    before, after = built().entries[:place], built().entries[place + 1 :]
    for later in (0, 3, max(len(after) - 1, 0)):
        where = refused(built().sealed((*before, entry, *after[:later])))
        assert all(at.partition(".")[0] == f"entry {place + 1}" for at in where), where


def test_a_changed_entry_is_refused_by_name_or_gone_on_from() -> None:
    for number, (place, entry) in enumerate(changed()):
        if number % 31 == 0:
            check_changed(place, entry)


@pytest.mark.long
def test_every_changed_entry_is_refused_by_name_or_gone_on_from() -> None:
    for place, entry in changed():
        check_changed(place, entry)


class Printed:
    """What commands print of a record."""

    def __init__(
        self, path: Path, out: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        self.path = path
        self._out, self._monkeypatch = out, monkeypatch

    def by(self, *words: str) -> int:
        self._out.readouterr()
        self._monkeypatch.setattr(sys, "stdin", io.StringIO("help\nrecord\nxx\n"))
        code = main([*words])
        printed = self._out.readouterr()
        for text in (printed.out, printed.err):
            lines_are_plain(text.replace("\r\n", "\n"))
            assert "Traceback" not in text
        return code

    def by_all(self, data: bytes) -> None:
        self.path.write_bytes(data)
        assert self.by("check", str(self.path)) in (0, 1)
        for form in FORMS:
            assert self.by("sheet", "--as", form, str(self.path)) in (0, 1)
        for command in ("pushrods", "positions"):
            assert self.by(command, str(self.path)) in (0, 1)
        assert self.path.read_bytes() == data
        assert self.by(str(self.path), "--plain") in (0, 1)


@pytest.fixture
def printed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Printed:
    return Printed(tmp_path / "r.toml", capsys, monkeypatch)


def test_every_kind_of_entry_with_harm_in_every_text(printed: Printed) -> None:
    entries = built().entries[:20]
    common = {"at": entries[0]["at"], "by": PAYLOAD}
    for body in every_kind(PAYLOAD):
        fields = {key: value for key, value in body.values().items() if value is not None}
        fields["kind"] = body.kind
        printed.by_all(built().sealed((*entries, {"number": 21, **common, **fields})))


HEADS = (
    ('name = "block-1"', "name = {}"),
    ('by = "AR"', "by = {}"),
    ("seed = 1", "seed = {}"),
    ("seed = 1", "seed = 1\nother = {}"),
    ('name = "rehearsal wrench"', "name = {}"),
    ('mount = "bolt-down"', "mount = {}"),
    ('procedure = "bolt-down-rockers"', "procedure = {}"),
    ("format = 1", "format = {}"),
    ("format = 1", "format = 1\nother = {}"),
)


@pytest.mark.parametrize(("old", "new"), HEADS)
def test_harm_in_the_head(printed: Printed, old: str, new: str) -> None:
    for value in (PAYLOAD, "", 2**63 - 1, -1, [PAYLOAD], True):
        shown = one_line_pair("x", value).removeprefix("x = ")
        assert old in built().head
        head = built().head.replace(old, new.format(shown), 1)
        printed.by_all(built().sealed(built().entries, head))


def test_harm_in_the_rows_of_a_sign_off(printed: Printed) -> None:
    entries = built().entries
    for row in (
        {"signed": PAYLOAD},
        {"signed": len(entries), "valve": PAYLOAD, "verdict": PAYLOAD, PAYLOAD[:20]: PAYLOAD},
        {"signed": True},
        {"valve": "1I"},
    ):
        lines = "\n".join(one_line_pair(key, value) for key, value in row.items())
        last = f"\n[[signoff]]\n{lines}\n" + entry_lines(entries[-1])
        first, *rest = map(entry_lines, entries[:-1])
        printed.by_all(sealed([built().head + first, *rest, last]))
    written = printed.path.read_bytes()
    printed.path.write_bytes(written.replace(b"[[signoff]]", b"[signoff]"))
    assert printed.by("sheet", str(printed.path)) == 1
