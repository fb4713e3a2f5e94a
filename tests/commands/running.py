"""Commands run in this process, with what they printed."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from heelwise.commands.main import main

SETUP = """\
format = 1
[engine]
card = "v8-18436572"
[cam]
intake_opens_btdc = 20.0
intake_closes_abdc = 60.0
exhaust_opens_bbdc = 60.0
exhaust_closes_atdc = 20.0
at_lift = "0.006 in"
[rocker]
mount = "bolt-down"
ratio = 1.6
thread = "5/16-18"
torque = "20 lbf ft"
[lifter]
kind = "hydraulic roller"
least_turns = 0.5
most_turns = 1.0
travel_per_turn = "0.050 in"
plunger_travel = "0.180 in"
[pushrods]
intake = "7.000 in"
exhaust = "7.000 in"
sold_from = "6.800 in"
sold_to = "7.200 in"
sold_step = "0.025 in"
"""


@dataclass(frozen=True)
class Ran:
    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


class Runner:
    """Runs `heelwise WORDS` and catches what it printed."""

    def __init__(self, capsys: pytest.CaptureFixture[str], folder: Path) -> None:
        self.capsys, self.folder = capsys, folder

    def __call__(self, *words: str | Path) -> Ran:
        self.capsys.readouterr()
        try:
            code = main([str(w) for w in words])
        except SystemExit as left:
            code = int(left.code or 0)
        printed = self.capsys.readouterr()
        return Ran(code, printed.out, printed.err)

    def setup(self, text: str = SETUP, *, drop: str = "", add: str = "", name: str = "s") -> Path:
        """Write a setup file, with one line dropped or some added."""
        lines = [line for line in text.splitlines() if not drop or not line.startswith(drop)]
        path = self.folder / f"{name}.toml"
        path.write_text("\n".join(lines) + "\n" + add, encoding="utf-8")
        return path
