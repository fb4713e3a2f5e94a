"""Two records beside each other: what was planted stands out, plain noise doesn't."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from heelwise.documents.record import read_record
from heelwise.rehearsal.rehearse import hands_off
from heelwise.session import begin_session, to_begin
from heelwise.sheet.compare import Side, changes, comparison_json, pairs_of
from heelwise.sheet.contents import sheet_of
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.travel import Origin, Travel
from heelwise.walk.replay import replay_faults
from tests.commands.running import Runner
from tests.shop.folders import SAMPLE, another, sealed_anew

VALVES = [Valve(cylinder, kind) for cylinder in range(1, 7) for kind in ValveKind]
TRAVEL = Travel(2.4, Origin.MEASURED, 0.08, "a reading")
Truth = Callable[[Valve], float]


def _count(chance: random.Random, preload_mm: float) -> float:
    """Eighths as they are counted from a zero lash found by feel."""
    return round(8 * (preload_mm + chance.gauss(0, 0.025)) / TRAVEL.mm) / 8


def _sides(
    chance: random.Random, preload: Truth, pushrod: Truth = lambda v: 218.5, proof: str = "clicked"
) -> dict[Valve, Side]:
    sides = {}
    for valve in VALVES:
        count = _count(chance, preload(valve))
        sides[valve] = Side(pushrod(valve), count, step=0.125, verdict="inside", proofs=(proof,))
    return sides


@pytest.fixture
def chance() -> random.Random:
    return random.Random(7)


def test_plain_noise_hardly_ever_stands_out(chance: random.Random) -> None:
    heights = {valve: chance.gauss(1.2, 0.1) for valve in VALVES}
    odd = 0
    for _ in range(1000):
        found = changes(
            _sides(chance, heights.__getitem__), _sides(chance, heights.__getitem__), TRAVEL
        )
        odd += sum(bool(each.why) for each in found)
    assert odd / (1000 * len(VALVES)) < 0.002


def test_a_valve_whose_pushrod_is_another_than_written_stands_out(chance: random.Random) -> None:
    then = _sides(chance, lambda valve: 1.2)
    now = _sides(chance, lambda valve: 1.7 if valve == VALVES[3] else 1.2)
    found = changes(then, now, TRAVEL)
    assert [each.valve for each in found if each.why] == [str(VALVES[3])]
    assert found[3].change_turns is not None
    assert found[3].change_turns > 0


def test_another_pushrod_that_reads_as_it_should_does_not(chance: random.Random) -> None:
    then = _sides(chance, lambda valve: 0.8)
    now = _sides(chance, lambda valve: 1.8, lambda valve: 219.5)
    assert not any(each.why for each in changes(then, now, TRAVEL))


def _changed(folder: Path, name: str, valve: str, old: str, new: str) -> Path:
    """A record later than the sample, one text of a valve's last reading or proof changed."""
    path = another(folder / f"{name}.toml", 90)
    entries = path.read_text(encoding="utf-8").split("\n[[entry]]\n")
    own = [each.partition("[[signoff]]")[0] for each in entries]
    last = max(n for n, e in enumerate(own) if f'valve = "{valve}"' in e and old in e)
    entries[last] = re.sub(re.escape(old) + '[^"\n]*', new, entries[last], count=1)
    path.write_bytes(sealed_anew("\n[[entry]]\n".join(entries).encode()))
    return path


def _told(*paths: Path) -> dict[str, str]:
    (pair,) = pairs_of([read_record(path) for path in paths])
    return {str(each.valve): str(each.why) for each in pair.valves if each.why}


def test_records_with_nothing_changed_say_so(tmp_path: Path) -> None:
    assert _told(SAMPLE, another(tmp_path / "later.toml", 90)) == {}


def test_a_wrong_pushrod_and_a_loosened_bolt_stand_out_in_records(tmp_path: Path) -> None:
    wrong = _changed(tmp_path, "wrong", "2I", 'turns = "', 'turns = "1')
    assert list(_told(SAMPLE, wrong)) == ["2I"]
    loose = _changed(tmp_path, "loose", "5E", 'outcome = "', 'outcome = "moved')
    assert list(_told(SAMPLE, loose)) == ["5E"]
    both = comparison_json([read_record(path) for path in (SAMPLE, wrong, loose)])
    assert [pair["now"] for pair in both["pairs"]] == ["wrong", "loose"]


def test_two_engines_are_not_judged_by_each_other(tmp_path: Path) -> None:
    wrong = _changed(tmp_path, "wrong", "2I", 'turns = "', 'turns = "1')
    text = wrong.read_text(encoding="utf-8").replace("seed = 2\n", "seed = 3\n")
    wrong.write_bytes(sealed_anew(text.encode()))
    assert _told(SAMPLE, wrong) == {}


@pytest.mark.parametrize(("serial", "judged"), [("hl-42", True), ("HL 43", False)])
def test_one_serial_written_in_two_ways_is_one_engine(
    tmp_path: Path, serial: str, judged: bool
) -> None:
    one, other = (f'[job]\nengine_serial = "{each}"\n\n[wrench]' for each in ("HL 42", serial))
    first = another(tmp_path / "first.toml", 0, {"[wrench]": one})
    wrong = _changed(tmp_path, "wrong", "2I", 'turns = "', 'turns = "1')
    second = another(tmp_path / "second.toml", 0, {"[wrench]": other}, wrong)
    assert list(_told(first, second)) == (["2I"] if judged else [])


def test_the_command_goes_on_without_what_cannot_be_read(tmp_path: Path, heelwise: Runner) -> None:
    damaged, newer = tmp_path / "damaged.toml", tmp_path / "newer.toml"
    damaged.write_bytes(SAMPLE.read_bytes().replace(b"the ratchet", b"a ratchet"))
    newer.write_bytes(b"format = 2\n[build]\n")
    later = another(tmp_path / "later.toml", 90)
    ran = heelwise("compare", SAMPLE, damaged, newer, later, "--json")
    assert ran.code == 1
    assert len(ran.err.splitlines()) == 2
    assert len(ran.json["pairs"]) == 1
    for form in ("text", "markdown", "csv"):
        assert "later" in heelwise("compare", SAMPLE, later, "--as", form).out
    assert heelwise("compare", SAMPLE).code == 1


def test_engines_that_differ_are_compared_by_their_setups(tmp_path: Path) -> None:
    other = Path(__file__).parents[1] / "old_records" / "port.toml"
    (pair,) = pairs_of([read_record(path) for path in (SAMPLE, other)])
    assert pair.valves == []
    assert pair.notes
    assert any(row["where"] == "rocker.ratio" for row in pair.setup)


def test_a_re_check_shows_then_and_now_and_compares_with_its_record(tmp_path: Path) -> None:
    first = another(tmp_path / "first.toml")
    setup, procedures = to_begin(first, tmp_path, again=True)
    procedure = next(each for each in procedures if each.id == "recheck-running-engine")
    with begin_session(setup, procedure, tmp_path, "again", "AR") as session:
        assert session.truth is not None
        (moves,) = session.truth.planted
        hands_off(session.walker, session.truth, lambda entry: None)
        made = session.record.as_record()
    shown = sheet_of(made).section("then and now")
    assert shown is not None
    assert [row.valves for row in shown.rows if row.cells[-1]] == [(str(moves),)]
    assert len(shown.rows) == 12
    before, travel = made.head.setup.before, made.head.setup.travel_in_play().used
    assert before is not None
    assert (before.record, before.last_seal) == ("first", read_record(first).last_seal)
    assert travel.origin is Origin.BEFORE
    assert list(_told(first, tmp_path / "again.toml")) == [str(moves)]
    # Looked at once more, what the first re-check didn't count is known from the build.
    once_more, _ = to_begin(tmp_path / "again.toml", tmp_path, again=True)
    assert len(once_more.reading) == 12
    assert replay_faults(read_record(tmp_path / "again.toml")) == []


@pytest.mark.parametrize(("gap_mm", "stands_out"), [(0.41, False), (0.51, True), (0.31, True)])
def test_a_gap_changes_where_two_gauges_could_not_hide_it(gap_mm: float, stands_out: bool) -> None:
    """In steps of 0.05 mm: three standard uncertainties of two readings are 0.061 mm."""
    then, now = (
        {VALVES[0]: Side(gap_mm=mm, step=0.05, verdict="inside", proofs=("held",))}
        for mm in (0.41, gap_mm)
    )
    (change,) = changes(then, now, None)
    assert change.allowed_mm == pytest.approx(0.061237, abs=1e-6)
    assert change.change_mm == pytest.approx(gap_mm - 0.41)
    assert change.stands_out is bool(change.why) is stands_out


def test_gauged_records_are_judged_too(tmp_path: Path) -> None:
    solid = Path(__file__).parents[1] / "old_records" / "solid-lifters.toml"
    later = tmp_path / "later.toml"
    later.write_bytes(solid.read_bytes())
    (pair,) = pairs_of([read_record(solid), read_record(later)])
    assert {each.change_mm for each in pair.valves} == {0.0}
    assert all(each.allowed_mm for each in pair.valves)
    assert not any(each.stands_out for each in pair.valves)
