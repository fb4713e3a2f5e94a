"""Setups of a folder that a form can take from."""

from __future__ import annotations

import shutil
from pathlib import Path

from heelwise.documents.form_check import MOST_FILES, sources_in

SAMPLES = Path(__file__).parents[2] / "sample_builds"


def files(folder: Path) -> list[Path]:
    for name in ("timber-hauler-eight", "grain-truck-six", "harbor-launch-six-port"):
        shutil.copy(SAMPLES / f"{name}.toml", folder)
    (folder / "only-a-sheet.toml").write_text(
        '[lifter]\nkind = "hydraulic flat tappet"\nleast_turns = "1/2"\nmost_turns = 1\n'
    )
    (folder / "upside-down.toml").write_text(
        '[lifter]\nkind = "hydraulic roller"\nleast_turns = 2\nmost_turns = 1\n'
    )
    (folder / "no-lifter.toml").write_text('format = 1\n[engine]\ncard = "i4-1342"\n')
    (folder / "another.toml").write_text('[project]\nname = "x"\n')
    (folder / "broken.toml").write_bytes(b"\xff[[[")
    return sorted(folder.glob("*.toml"))


def test_only_the_lifter_of_setups_that_have_one(tmp_path: Path) -> None:
    found = {source.path.stem: source for source in sources_in(files(tmp_path), "lifter")}
    assert {name: source.summary for name, source in found.items()} == {
        "grain-truck-six": "hydraulic roller, 0.9 mm to 1.9 mm",
        "timber-hauler-eight": "hydraulic roller, 3/8 to 7/8",
        "only-a-sheet": "hydraulic flat tappet, 1/2 to 1",
        "upside-down": "hydraulic roller, 2 to 1",
    }
    assert found["only-a-sheet"].typed == {
        "lifter.kind": "hydraulic flat tappet",
        "lifter.least_turns": "1/2",
        "lifter.most_turns": "1",
    }


def test_a_setup_to_begin_from_may_have_faults_to_mend(tmp_path: Path) -> None:
    found = {source.path.stem: source for source in sources_in(files(tmp_path))}
    assert {*found} == {
        *("grain-truck-six", "timber-hauler-eight", "only-a-sheet", "upside-down", "no-lifter"),
    }
    assert found["grain-truck-six"].summary.startswith("i6-153624, bolt-down, hydraulic roller")
    assert found["grain-truck-six"].left == ["reading"]
    assert found["no-lifter"].typed == {"engine.card": "i4-1342"}


def test_no_more_files_are_looked_at_than_is_no_wait(tmp_path: Path) -> None:
    sheet = tmp_path / "a.toml"
    sheet.write_text('[lifter]\nkind = "solid roller"\n')
    assert len(sources_in([sheet] * (MOST_FILES + 50))) == MOST_FILES
