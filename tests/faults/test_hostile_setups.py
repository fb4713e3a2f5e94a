"""Hostile text in every place of a setup and a procedure, through every command that reads one."""

from __future__ import annotations

import copy
import io
import sys
import tomllib
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import tomli_w

from heelwise.commands.main import main
from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import load_procedure
from tests.faults.hostile import MARKUP, ODD, ON_ONE_LINE, PAYLOAD, lines_are_plain
from tests.rehearsal.setups import setup_for

Place = tuple[str | int, ...]


def whole_setup() -> dict[str, Any]:
    """A setup with every table there is and most keys."""
    raw = setup_for("i4-1342").to_toml_dict()
    raw["engine"]["banks"] = {"front": [1, 2], "rear": [3, 4]}
    raw["engine"]["valve_rows"] = {
        "front": ["1I", "1E", "2I", "2E"],
        "rear": ["3I", "3E", "4I", "4E"],
    }
    raw["engine"]["damper_diameter"] = "6.5 in"
    raw["wrench"] |= {"calibrated": date(2026, 3, 2), "cycles": 100}
    raw["reading"] = [{"valve": "1I", "pushrod": "7.4 in", "turns": "1 3/8"}]
    return raw


def whole_procedure() -> dict[str, Any]:
    text = load_procedure(find_procedures()["bolt-down-rockers"]).text
    raw = tomllib.loads(text)
    kinds: dict[tuple[str, ...], dict[str, Any]] = {}
    for step in raw["step"]:  # one step of each kind is enough
        kinds.setdefault((*sorted(step), step["phase"], step["ask"]), step)
    return {**raw, "step": list(kinds.values())}


def places(value: Any, at: Place = ()) -> Iterator[Place]:
    """Every value that is no table, and every table, of a document."""
    if at:
        yield at
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from places(inner, (*at, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value[:2]):
            yield from places(inner, (*at, number))


def holder(document: dict[str, Any], at: Place) -> Any:
    found: Any = document
    for part in at[:-1]:
        found = found[part]
    return found


def with_value(document: dict[str, Any], at: Place, value: object) -> dict[str, Any]:
    changed = copy.deepcopy(document)
    holder(changed, at)[at[-1]] = value
    return changed


def with_key(document: dict[str, Any], at: Place, key: str) -> dict[str, Any]:
    changed = copy.deepcopy(document)
    inside = holder(changed, at)
    inside[key] = inside.pop(at[-1])
    return changed


class Commands:
    """Runs commands on one file and looks at all they print."""

    def __init__(
        self, folder: Path, out: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        self.path = folder / "s.toml"
        self._out, self._monkeypatch = out, monkeypatch

    def __call__(self, *words: str) -> tuple[int, str]:
        self._monkeypatch.setattr(sys, "stdin", io.StringIO("AB\nblock-1\n"))
        self._out.readouterr()
        code = main([*words])
        printed = self._out.readouterr()
        lines_are_plain(printed.out)
        lines_are_plain(printed.err)
        assert "Traceback" not in printed.err
        assert code in (0, 1)
        assert len(printed.out + printed.err) < 200_000
        return code, printed.err

    def on(self, document: dict[str, Any] | bytes, *kinds: str) -> None:
        data = document if isinstance(document, bytes) else tomli_w.dumps(document).encode()
        self.path.write_bytes(data)
        for kind in kinds:
            words = [kind, str(self.path)] if kind != "walk" else [str(self.path), "--plain"]
            words += ["--up", "1I"] if kind == "where" else []
            code, said = self(*words)
            if code and kind != "where":
                assert all(str(self.path) in line for line in said.splitlines()), said
            for made in self.path.parent.glob("*block-1*"):
                made.unlink()


@pytest.fixture
def commands(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Commands:
    return Commands(tmp_path, capsys, monkeypatch)


SETUP_COMMANDS = ("check", "positions", "where", "pushrods", "walk")


def test_the_whole_setup_is_in_order(commands: Commands) -> None:
    commands.path.write_text(tomli_w.dumps(whole_setup()))
    assert commands("check", str(commands.path)) == (0, "")


@pytest.mark.parametrize("text", [PAYLOAD, ON_ONE_LINE, MARKUP], ids=["all", "line", "markup"])
def test_in_every_value_of_a_setup(commands: Commands, text: str) -> None:
    for at in places(whole_setup()):
        commands.on(with_value(whole_setup(), at, text), *SETUP_COMMANDS)


def test_in_every_key_of_a_setup(commands: Commands) -> None:
    for at in places(whole_setup()):
        if isinstance(at[-1], str):
            commands.on(with_key(whole_setup(), at, PAYLOAD), *SETUP_COMMANDS)


def test_in_every_value_of_a_procedure(commands: Commands) -> None:
    for at in places(whole_procedure()):
        commands.on(with_value(whole_procedure(), at, PAYLOAD), "check")


def test_in_every_key_of_a_procedure(commands: Commands) -> None:
    for at in places(whole_procedure()):
        if isinstance(at[-1], str):
            commands.on(with_key(whole_procedure(), at, PAYLOAD), "check")


@pytest.mark.parametrize("name", ODD)
def test_odd_files_are_told_by_name(commands: Commands, name: str) -> None:
    for begins in (b"", b"[procedure]\n"):
        data = ODD[name].replace(b"format = 1\n", begins + b"format = 1\n", 1)
        commands.on(data, "check", "walk")
        assert commands("check", str(commands.path))[0] == 1
