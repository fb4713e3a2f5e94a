"""The README keeps up with the program: setup, commands, procedures, and its sentences."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from heelwise.commands.main import COMMANDS, SHEETS
from heelwise.documents.library import find_procedures
from heelwise.documents.oddities import notes
from heelwise.documents.setup import load_setup
from tests.commands.running import Runner
from tests.sheet.records import FORMS

TOP = Path(__file__).parents[2]
README = (TOP / "README.md").read_text(encoding="utf-8")
MOST_WORDS = 35


def fenced(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)


def sentences(text: str) -> list[str]:
    """Running text, its code fences and tables left out, list items apart."""
    text = re.sub(r"```.*?```", "\n\n", text, flags=re.DOTALL)
    text = re.sub(r"^\|.*$|<[^>]+>|!\[.*?\]\(.*?\)", "", text, flags=re.MULTILINE)
    blocks = re.split(r"\n\s*\n|\n(?=[-\d>#])", text)
    return [s for block in blocks for s in re.split(r"(?<=[.:;?!])[\s*]+", block) if s.strip()]


def test_no_sentence_is_longer_than_can_be_read_aloud() -> None:
    longest = max(sentences(README), key=lambda s: len(s.split()))
    assert len(longest.split()) <= MOST_WORDS, longest


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_named(command: str) -> None:
    assert f"`heelwise {command}" in README


def test_every_form_of_a_sheet_can_be_asked_for() -> None:
    assert SHEETS == FORMS


def test_every_procedure_is_named() -> None:
    assert [name for name in find_procedures() if f"`{name}`" not in README] == []


def test_its_setup_has_no_fault_and_nothing_odd(tmp_path: Path, heelwise: Runner) -> None:
    (text,) = fenced("toml")
    file = tmp_path / "setup.toml"
    file.write_text(text, encoding="utf-8")
    assert heelwise("check", file).code == 0
    assert notes(load_setup(file)) == []
    assert heelwise("pushrods", file).code == 0


def test_two_commands_do_all_there_is_to_set_up() -> None:
    assert len(fenced("sh")) == 2


def test_every_file_it_points_to_is_there() -> None:
    named = re.findall(r"\]\(([^)]+)\)|(?:^|[ `(])((?:sample_builds|procedures)/[\w./-]+)", README)
    paths = {a or b.rstrip(".") for a, b in named}
    assert [path for path in paths if not (TOP / path).exists()] == []


def test_every_file_that_the_developers_page_names_is_there() -> None:
    text = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = re.findall(r"`((?:\w+/)+[\w-]+\.\w+)`", text)
    assert named
    gone = [
        n for n in named if not any((base / n).exists() for base in (TOP, TOP / "src/heelwise"))
    ]
    assert gone == []
