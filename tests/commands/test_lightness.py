"""Quick answers stay quick: no Textual, and no pint before a unit has to be read."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.commands.running import SETUP

LOOK = """
import sys
from heelwise.commands.main import main
try:
    code = main(sys.argv[1:])
except SystemExit as left:
    code = left.code
print("LOADED", *sorted({m.partition(".")[0] for m in sys.modules}), file=sys.stderr)
sys.exit(code)
"""


def _loaded(*words: str, code: int = 0) -> set[str]:
    ran = subprocess.run(
        [sys.executable, "-c", LOOK, *words],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert ran.returncode == code, ran.stderr
    return set(ran.stderr.rpartition("LOADED")[2].split())


@pytest.fixture
def setup_file(tmp_path: Path) -> str:
    path = tmp_path / "setup.toml"
    path.write_text(SETUP, encoding="utf-8")
    return str(path)


@pytest.mark.parametrize("words", [("--version",), ("--help",), ("positions", "--help")])
def test_help_and_version_load_no_library(words: tuple[str, ...]) -> None:
    loaded = _loaded(*words)
    assert not loaded & {"textual", "rich", "pint"}
    if words == ("--version",):
        assert not loaded & {"pydantic", "tomllib", "tomli_w", "json"}


@pytest.mark.parametrize(
    ("command", "more"),
    [
        ("check", ()),
        ("positions", ()),
        ("where", ("--up", "1I")),
        ("pushrods", ()),
    ],
)
def test_commands_load_no_textual(setup_file: str, command: str, more: tuple[str, ...]) -> None:
    assert not _loaded(command, setup_file, *more) & {"textual", "rich"}


def test_torque_loads_no_textual() -> None:
    assert not _loaded("torque", "25 lb-ft") & {"textual", "rich", "pydantic"}


def test_the_walk_in_lines_loads_no_textual(setup_file: str, tmp_path: Path) -> None:
    words = ("rehearse", "--hands-off", "--engine", "single", "--folder", str(tmp_path))
    assert not _loaded(*words) & {"textual", "rich"}
