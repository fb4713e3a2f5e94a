"""The walk driven from outside through its JSON lines: whole engines, kills, and junk."""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from heelwise.documents.library import find_procedures
from heelwise.documents.record import read_record, record_faults
from heelwise.walk.replay import replay_faults
from tests.commands.running import SETUP, Runner

PROMPT_KEYS = {
    *("id", "phase", "valve", "heading", "question", "why", "caution", "options", "reading"),
    *("example", "suggested", "facts", "crank_target_deg", "records", "progress", "done", "total"),
    "wait_until",
}


class Driver:
    """A front end: answers as hands and eyes report, and keeps what it was told was kept."""

    def __init__(self, folder: Path, *words: str) -> None:
        self.told: list[int] = []
        self.process = subprocess.Popen(
            [sys.executable, "-m", "heelwise", "rehearse", "--plain", "--json", *words],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=folder,
        )

    def hear(self) -> dict[str, Any]:
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        told: dict[str, Any] = json.loads(line) if line else {"ended": True}
        self.told += told.get("kept", [])
        return told

    def send(self, message: object) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(json.dumps(message) + "\n")
        self.process.stdin.flush()

    def walk(self, most: int = 10_000) -> dict[str, Any]:
        """Answer until the record is closed, or so many entries were told as kept."""
        while True:
            told = self.hear()
            if "hands_and_eyes" in told and len(self.told) < most:
                sensed = told["hands_and_eyes"]
                self.send({"answer": sensed["answer"], "texts": sensed["texts"]})
            elif "kept" not in told:
                return told

    def kill(self) -> None:
        self.process.kill()
        self.process.communicate()


def record_in(folder: Path) -> Path:
    return next(path for path in folder.glob("*.toml"))


QUICK = ("bolt-down-rockers", "solid-lifters")
NAMES = [
    name if name in QUICK else pytest.param(name, marks=pytest.mark.long)
    for name in sorted(find_procedures())
]


@pytest.mark.parametrize("name", NAMES)
def test_a_whole_engine_is_walked_from_outside_as_hands_off(name: str, tmp_path: Path) -> None:
    words = ("--engine", "single", "--procedure", name)
    outside, inside = tmp_path / "outside", tmp_path / "inside"
    outside.mkdir()
    inside.mkdir()
    driver = Driver(outside, *words)
    ended = driver.walk()
    driver.process.communicate()
    record = read_record(record_in(outside))
    assert ended["closed"]
    assert ended["last_seal"] == record.last_seal
    subprocess.run(
        [sys.executable, "-m", "heelwise", "rehearse", "--hands-off", *words],
        cwd=inside,
        capture_output=True,
        check=True,
    )
    other = read_record(record_in(inside))
    assert [e.body for e in record.entries] == [e.body for e in other.entries]


@pytest.mark.parametrize(
    ("card", "kills"), [("single", (9, 12, 10)), ("v8-15426378", (20, 40, 30))]
)
def test_killed_three_times_nothing_told_as_kept_is_lost(
    card: str, kills: tuple[int, ...], tmp_path: Path
) -> None:
    told = 0
    for most in kills:
        driver = Driver(tmp_path, "--engine", card)
        asked = driver.walk(most)["hands_and_eyes"]
        driver.send({"answer": asked["answer"], "texts": asked["texts"]})
        told = max([told, *driver.told])
        driver.kill()  # while that answer is taken
        assert [e.number for e in read_record(record_in(tmp_path)).entries][told - 1] == told
    driver = Driver(tmp_path, "--engine", card)
    assert driver.walk()["closed"]
    driver.process.communicate()
    assert record_faults(read_record(record_in(tmp_path))) == []
    assert replay_faults(read_record(record_in(tmp_path))) == []


def test_the_example_in_the_developers_notes_walks_from_a_setup(tmp_path: Path) -> None:
    notes = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    (example,) = re.findall(r"```python\n(import json, .*?)```", notes, re.DOTALL)
    (tmp_path / "speak.py").write_text(example, encoding="utf-8")
    (tmp_path / "setup.toml").write_text(SETUP, encoding="utf-8")
    for file, typed in (("setup.toml", "tug\nMK\ny\nzz\n"), ("tug.toml", "y\n")):
        ran = subprocess.run(
            [sys.executable, "speak.py", file],
            cwd=tmp_path,
            input=typed + "quit\n",
            env={**os.environ, "PATH": ""},  # no speech command
            capture_output=True,
            text=True,
            check=False,
        )
        assert ran.returncode == 0, ran.stderr
    kinds = [entry.body.kind for entry in read_record(tmp_path / "tug.toml").entries]
    assert kinds.count("paused") == 2
    assert "answered" in kinds


def heard(
    heelwise: Runner, monkeypatch: pytest.MonkeyPatch, file: Path, lines: list[object]
) -> list[dict[str, Any]]:
    typed = [line if isinstance(line, str) else json.dumps(line) for line in lines]
    monkeypatch.setattr(sys, "stdin", io.StringIO("".join(line + "\n" for line in typed)))
    ran = heelwise(file, "--plain", "--json")
    assert ran.code == 0, ran.err
    return [json.loads(line) for line in ran.out.splitlines()]


def test_a_build_is_begun_and_junk_is_refused(
    heelwise: Runner, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    setup = heelwise.setup(SETUP)
    begin: list[object] = [{"name": "a/b"}, "[]", {"name": "tug", "by": "MK", "job": "port\nside"}]
    told = heard(heelwise, monkeypatch, setup, begin)
    assert [next(iter(each)) for each in told[:5]] == [*("begin", "refused") * 2, "begin"]
    assert told[0]["begin"]["may_have"] == ["job"]
    assert set(told[5]["prompt"]) == PROMPT_KEYS
    file = tmp_path / "tug.toml"
    whose = read_record(file).head.setup.whose
    assert whose.startswith("port")
    assert "\n" not in whose
    before = len(read_record(file).entries)
    junk: list[object] = [
        *(
            "",
            "{",
            "3",
            '"y"',
            "[" * 5000,
            '{"answer": "\\udcff"}',
            '{"do": "note", "text": "\\ud800"}',
        ),
        *({}, {"do": "dance"}, {"do": "note"}, {"do": "note", "text": "x", "valve": "99E"}),
        *({"do": "cross out", "number": "1"}, {"do": "cross out", "number": 10**30}),
        *({"answer": None}, {"answer": "zz"}, {"answer": "y", "texts": 3}, {"do": "hand over"}),
    ]
    told = heard(heelwise, monkeypatch, file, junk)
    assert sum("refused" in each for each in told) >= len(junk) - 2
    assert record_faults(read_record(file)) == []
    assert len(read_record(file).entries) <= before + 4


def test_notes_crossing_out_and_a_pause(
    heelwise: Runner, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    setup = heelwise.setup(SETUP)
    heard(heelwise, monkeypatch, setup, [{"name": "tug", "by": "MK"}, {"answer": "y"}])
    acts: list[object] = [
        {"answer": "y"},
        {"do": "note", "text": "port side", "valve": "1I"},
        {"do": "cross out", "number": 2, "reason": "not so"},
        {"do": "hand over", "to": "JD"},
        {"do": "pause"},
    ]
    told = heard(heelwise, monkeypatch, tmp_path / "tug.toml", acts)
    kept = [number for each in told for number in each.get("kept", [])]
    entries = read_record(tmp_path / "tug.toml").entries
    assert [e.body.kind for e in entries[-4:]] == ["noted", "crossed out", "handed over", "paused"]
    assert kept[-1] == len(entries)
