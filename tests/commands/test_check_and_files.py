"""`check`, and what every command does with a file that is not right."""

import io
from pathlib import Path

import pytest

from heelwise.commands.main import main
from heelwise.documents.library import find_cards, find_procedures
from tests.commands.running import SETUP, Runner

BAD = {
    "engine.firing_order": ('card = "v8-18436572"', "firing_order = [1, 3, 3, 2]"),
    "engine.firing_gaps": (
        'card = "v8-18436572"',
        "firing_order = [1, 2]\nfiring_gaps = [300, 300]",
    ),
    "lifter.least_turns": ("least_turns = 0.5", "least_turns = 1.5"),
    "rocker.thread": ('thread = "5/16-18"', 'thread = "M8"'),
    "rocker.torque": ('torque = "20 lbf ft"', 'torque = "20"'),
    "pushrods.intake": ('intake = "7.000 in"', "intake = 7.0"),
    "cam.intake_opens_btdc": ("intake_opens_btdc = 20.0", "intake_opens_btdc = nan"),
    "format": ("format = 1", "format = 2"),
    "rocker.moutn": ("mount = ", "moutn = "),
}


@pytest.mark.parametrize("where", sorted(BAD))
def test_one_line_a_fault_with_file_and_key(heelwise: Runner, where: str) -> None:
    setup = heelwise.setup(SETUP.replace(*BAD[where]))
    before = sorted(p.name for p in heelwise.folder.iterdir())
    for words in (("check", setup), ("positions", setup), (setup, "--plain")):
        ran = heelwise(*words)
        assert ran.code == 1
        lines = ran.err.splitlines()
        assert any(line.startswith(f"{setup}: {where}:") for line in lines), ran.err
        assert "Traceback" not in ran.err
    assert sorted(p.name for p in heelwise.folder.iterdir()) == before


def test_check_json_and_codes(heelwise: Runner) -> None:
    good, bad = heelwise.setup(name="good"), heelwise.setup(drop="mount", name="bad")
    (sound,) = heelwise("check", good, "--json").json
    assert (sound["file"], sound["faults"]) == (str(good), [])
    assert [note["where"] for note in sound["notes"]] == ["lifter.travel_per_turn"]
    ran = heelwise("check", good, bad, "--json")
    assert ran.code == 1
    assert [f["file"] for f in ran.json] == [str(good), str(bad)]
    fault = ran.json[1]["faults"][0]
    assert set(fault) == {"where", "problem", "instead"}
    assert fault["where"] == "rocker.mount"
    assert heelwise("check").code == 2


def test_everything_shipped_is_clean(heelwise: Runner) -> None:
    shipped = [*find_cards().values(), *find_procedures().values()]
    samples = sorted((Path(__file__).parents[2] / "sample_builds").glob("*.toml"))
    assert len(shipped) > 16
    assert len(samples) >= 4
    assert heelwise("check", *shipped, *samples).code == 0


@pytest.mark.parametrize("command", ["check", "positions", "where", "pushrods", "sheet"])
def test_a_file_that_is_not_there(heelwise: Runner, command: str) -> None:
    ran = heelwise(command, heelwise.folder / "nothing.toml")
    assert ran.code == 1
    assert "nothing.toml: file:" in ran.err


def test_a_damaged_record_is_named_by_entry_and_never_written(heelwise: Runner) -> None:
    assert (
        heelwise("rehearse", "--hands-off", "--folder", heelwise.folder, "--engine", "single").code
        == 0
    )
    record = heelwise.folder / "rehearsal-single.toml"
    whole = record.read_bytes()
    at = whole.index(b"number = 9\n")
    record.write_bytes(whole[:at] + whole[at:].replace(b'by = "AR"', b'by = "XX"', 1))
    for command in ("check", "sheet", "pushrods"):
        ran = heelwise(command, record)
        assert ran.code == 1
        assert "entry 9" in ran.err
    record.write_bytes(whole[:-10])
    ran = heelwise("check", record)
    assert ran.code == 1
    assert "torn" in ran.err or "not finished" in ran.err or "seal" in ran.err
    assert heelwise("sheet", record).code == 0
    assert record.read_bytes() == whole[:-10]


def test_procedures_and_cards_are_not_opened(heelwise: Runner) -> None:
    for path in (find_cards()["single"], find_procedures()["bolt-down-rockers"]):
        ran = heelwise(path, "--plain")
        assert ran.code == 1
        assert "a record to open, or a setup to start from" in ran.err


def test_line_by_line_a_setup_is_told_before_it_is_begun(
    heelwise: Runner, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Never past: 4.572 mm / 2.293 less a quarter, 1.744, in eighths 1 5/8."""
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    ran = heelwise(heelwise.setup(), "--plain")
    for figure in ("1-8-4-3-6-5-7-2", "1/2 to 1", "0.050 in (1.27 mm)", "1 5/8"):
        assert figure in ran.out
    assert "Nothing was begun" in ran.out


@pytest.mark.parametrize("seed", ["1" * 23, "9" * 5000, "²", "1.5", "", "1_0"])
def test_a_seed_that_no_record_can_hold_is_refused(seed: str, tmp_path: Path) -> None:
    words = ["rehearse", "--hands-off", "--engine", "single", "--folder", str(tmp_path)]
    assert main([*words, f"--seed={seed}"]) == 2
    assert list(tmp_path.iterdir()) == []


def test_the_longest_seed_makes_a_record_that_is_in_order(tmp_path: Path) -> None:
    words = ["rehearse", "--hands-off", "--engine", "single", "--folder", str(tmp_path)]
    assert main([*words, f"--seed={'9' * 18}"]) == 0
    assert main(["check", *map(str, tmp_path.glob("*.toml"))]) == 0
