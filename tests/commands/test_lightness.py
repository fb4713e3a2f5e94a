"""Quick answers stay quick: no Textual, and no pint before a unit has to be read."""

import subprocess
import sys
from fnmatch import fnmatch
from pathlib import Path

import pytest

from heelwise.rehearsal.scenario import DEFAULT_CARD
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
    assert not _loaded(command, setup_file, *more) & {"textual", "rich", "pint"}


def test_torque_loads_no_textual() -> None:
    assert not _loaded("torque", "25 lb-ft") & {"textual", "rich", "pydantic"}


def test_the_walk_in_lines_loads_no_textual(setup_file: str, tmp_path: Path) -> None:
    words = ("rehearse", "--hands-off", "--engine", "single", "--folder", str(tmp_path))
    assert not _loaded(*words) & {"textual", "rich", "pint"}


def test_the_package_runs_as_a_module() -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "heelwise", "--version"],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert ran.stdout.startswith("heelwise ")


def test_git_ignores_the_rehearsal_that_the_first_command_of_the_readme_leaves() -> None:
    top = Path(__file__).parents[2]
    record = f"rehearsal-{DEFAULT_CARD}.toml"
    ignored = [line.strip("/\n") for line in (top / ".gitignore").open(encoding="utf-8")]
    assert any(fnmatch(record, pattern) for pattern in ignored)
