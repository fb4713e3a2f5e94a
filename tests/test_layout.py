"""The layout keeps itself: imports point one way, and the sharp libraries stay in their places."""

import ast
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

import heelwise

SRC = Path(heelwise.__file__).parent

# Where a library outside the standard one may be imported.
HOMES = {
    "pint": {"documents/quantities.py"},
    "textual": {"screens/"},
    "pydantic": {"documents/"},
    "msgspec": {"documents/"},
    "tomli_w": {"documents/"},
    "filelock": {"storage/"},
}


def _files() -> list[Path]:
    return sorted(p for p in SRC.rglob("*.py") if p.parent != SRC)


def _imported(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            yield node.module
            if node.module == "heelwise":
                yield from (f"heelwise.{alias.name}" for alias in node.names)


def _ours(path: Path) -> set[str]:
    return {m.split(".")[1] for m in _imported(path) if m.startswith("heelwise.")}


def test_every_package_has_its_layer() -> None:
    """Which layer may import which stands once, in pyproject.toml; `lint-imports` keeps it."""
    project = tomllib.loads((SRC.parents[1] / "pyproject.toml").read_text())
    contracts = project["tool"]["importlinter"]["contracts"]
    layers = next(c["layers"] for c in contracts if c["type"] == "layers")
    named = {name.strip() for layer in layers for name in layer.split("|")}
    packages = {p.name for p in SRC.iterdir() if (p / "__init__.py").exists()}
    assert {f"heelwise.{name}" for name in packages} <= named


@pytest.mark.parametrize("library", sorted(HOMES))
def test_libraries_stay_where_they_belong(library: str) -> None:
    users = {
        p.relative_to(SRC).as_posix()
        for p in _files()
        if any(m.partition(".")[0] == library for m in _imported(p))
    }
    astray = {u for u in users if not any(u.startswith(home) for home in HOMES[library])}
    assert users, f"nothing imports {library}"
    assert astray == set()


def test_the_arithmetic_reads_no_file_and_asks_no_clock() -> None:
    banned = {"os", "io", "pathlib", "tomllib", "time", "sys", "socket", "subprocess"}
    for path in (SRC / "valvetrain").glob("*.py"):
        assert not {m.partition(".")[0] for m in _imported(path)} & banned, path.name


def test_files_are_short() -> None:
    lengths = {p.name: len(p.read_text(encoding="utf-8").splitlines()) for p in SRC.rglob("*.py")}
    assert {name: n for name, n in lengths.items() if n > 400} == {}
