"""The line-by-line walk takes whatever a console sends it."""

from __future__ import annotations

import io
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import load_procedure
from heelwise.documents.record import read_record, record_faults
from heelwise.rehearsal.rehearse import begin_rehearsal
from heelwise.session import Session
from tests.commands.running import SETUP, Ran, Runner

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)

JUNK = [
    "cross ²",
    "cross " + "9" * 5000,
    "cross",
    "cross 0 why",
    "cross 1 why",
    "²",
    "9" * 5000,
    "1e999",
    "nan",
    "note \x00",
    "note",
    "over",
    "over \x1b[31m",
    "over " + "x" * 500,
    "where",
    "\udcb0",
    "630\udcb0",
    "note \udcff and more",
    "\x00",
    "\x07",
    "",
    "   ",
    "t",
    "record",
    "help",
    "99E down",
    "~nosuchuser/x",
]


def typed(heelwise: Runner, monkeypatch: pytest.MonkeyPatch, file: Path, lines: list[str]) -> Ran:
    monkeypatch.setattr(sys, "stdin", io.StringIO("".join(line + "\n" for line in lines)))
    return heelwise(file, "--plain")


@pytest.fixture
def record(heelwise: Runner, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    ran = typed(
        heelwise, monkeypatch, heelwise.setup(SETUP), ["", "\udce9", "MK", "a/b", "tug", "9", "1"]
    )
    assert ran.code == 0
    return tmp_path / "tug.toml"


def test_initials_and_name_are_asked_until_they_will_do(record: Path) -> None:
    assert read_record(record).entries[0].by == "MK"


def test_junk_ends_nothing_and_leaves_a_sound_record(
    heelwise: Runner, monkeypatch: pytest.MonkeyPatch, record: Path
) -> None:
    for answers in ([], ["y"], ["y", "1"], ["y", "1", "y", "1"]):
        ran = typed(heelwise, monkeypatch, record, [*answers, *JUNK, "quit"])
        assert ran.code == 0, ran.err
        assert "Traceback" not in ran.out + ran.err
        assert record_faults(read_record(record)) == []


def test_lengths_are_told_in_the_unit_of_the_setup(
    heelwise: Runner, monkeypatch: pytest.MonkeyPatch
) -> None:
    metric = SETUP.replace("7.000 in", "178.0 mm")
    ran = typed(
        heelwise, monkeypatch, heelwise.setup(metric, name="metric"), ["MK", "mm", "1", "quit"]
    )
    assert "178.0 mm" in ran.out


def test_a_remedy_is_told_as_what_comes_first(
    heelwise: Runner, monkeypatch: pytest.MonkeyPatch, record: Path
) -> None:
    ran = typed(heelwise, monkeypatch, record, ["y", "n", "quit"])
    asked = ran.out.split("\n--- ")
    assert "\n  why: " in asked[-2]
    assert "\n  first: " in asked[-1]
    assert "\n  why: " not in asked[-1]


def test_a_length_without_its_unit_is_in_the_setups(
    heelwise: Runner, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """As on the screen, and as the line above the answer says."""
    procedure = load_procedure(find_procedures()["bolt-down-rockers"])
    file = tmp_path / "metric.toml"
    with Session(begin_rehearsal(file, "i4-1342", 1, procedure, AT)) as session:
        while not session.walker.prompt.suggested:
            sensed = session.sense()
            assert sensed is not None
            session.walker.reply(sensed.answer, sensed.texts)
        bare, unit = session.walker.prompt.suggested.split()
        before = len(session.record.entries)
    assert unit == "mm"
    assert typed(heelwise, monkeypatch, file, ["y", bare, "quit"]).code == 0
    kept = [entry.body for entry in read_record(file).entries[before:]]
    assert f"{bare} mm" in [getattr(body, "pushrod", "") for body in kept]
