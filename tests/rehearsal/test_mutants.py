"""Six mistakes in the program, one at a time in a copy of it: each must fail the rehearsals' tests.

The virtual engine shares no arithmetic with the program, so none of them can hide in both.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).parents[2]

MUTANTS = {
    "pitch taken for the lever": (
        "valvetrain/travel.py",
        "def worked_out(pitch_mm, ratio):\n    return pitch_mm\n",
    ),
    "pitch times one plus the ratio": (
        "valvetrain/travel.py",
        "def worked_out(pitch_mm, ratio):\n    return pitch_mm * (1 + ratio)\n",
    ),
    "exhaust 60 degrees late": (
        "valvetrain/cam.py",
        "_right = lobe\n"
        "def lobe(cam, kind):\n"
        "    start, length = _right(cam, kind)\n"
        "    return (start + 60.0 if kind.value == 'E' else start), length\n",
    ),
    "intake lobe halved": (
        "valvetrain/cam.py",
        "_right = lobe\n"
        "def lobe(cam, kind):\n"
        "    start, length = _right(cam, kind)\n"
        "    return start, (length / 2 if kind.value == 'I' else length)\n",
    ),
    "firing order ignored": (
        "valvetrain/engine.py",
        "_right = make_engine\n"
        "def make_engine(firing_order, *rest, **more):\n"
        "    return _right(sorted(firing_order), *rest, **more)\n",
    ),
    "preload limits half as much again": (
        "valvetrain/window.py",
        "_right = WindowSheet.__init__\n"
        "def _init(self, *given, **named):\n"
        "    _right(self, *given, **named)\n"
        "    if self.preload_mm is not None:\n"
        "        limits = tuple(1.5 * each for each in self.preload_mm)\n"
        "        object.__setattr__(self, 'preload_mm', limits)\n"
        "WindowSheet.__init__ = _init\n",
    ),
}
"""By name: the file, and what is put at its end in place of what it had."""


def rehearsals_fail(folder: Path, file: str = "", code: str = "") -> bool:
    """Run the rehearsals' tests on a copy of the program; whether any of them fails."""
    source = folder / "src"
    shutil.copytree(TOP / "src", source, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(TOP / "procedures", folder / "procedures")
    environment = {**os.environ, "PYTHONPATH": f"{source}{os.pathsep}{TOP}"}
    if file:
        mutated = source / "heelwise" / file
        mutated.write_text(mutated.read_text(encoding="utf-8") + "\n\n" + code, encoding="utf-8")
    tests = TOP / "tests" / "rehearsal" / "test_truth.py"
    ran = subprocess.run(
        [
            sys.executable,
            "-m",
            "pytest",
            "-x",
            "-p",
            "no:cacheprovider",
            str(tests),
        ],
        cwd=TOP,
        env=environment,
        capture_output=True,
        text=True,
        timeout=900,
        check=False,
    )
    assert ran.returncode in (0, 1), ran.stdout + ran.stderr  # else the tests did not run
    return ran.returncode == 1


@pytest.mark.long
def test_the_program_as_it_is_passes(tmp_path: Path) -> None:
    assert not rehearsals_fail(tmp_path)


@pytest.mark.long
@pytest.mark.parametrize("name", MUTANTS)
def test_a_mistake_in_the_program_fails_the_rehearsals(name: str, tmp_path: Path) -> None:
    assert rehearsals_fail(tmp_path, *MUTANTS[name])
