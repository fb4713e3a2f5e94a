"""A folder of records as a table: what is read, found, passed over and told."""

from __future__ import annotations

from pathlib import Path

import pytest

from heelwise.commands.past import wrenches
from heelwise.documents.entries import Read
from heelwise.documents.record import read_record
from heelwise.documents.setup import BeforeTable
from heelwise.rehearsal.hands import sense
from heelwise.session import begin_session, to_begin
from heelwise.shop import builds
from heelwise.shop.builds import Folder, folder_of, own_travel, read_all, read_build, records_in
from heelwise.valvetrain.engine import ValveKind
from heelwise.walk.prove import outcomes
from heelwise.walk.scene import scene_of
from tests.commands.running import Runner
from tests.shop.folders import SAMPLE, another

OLD = Path(__file__).parents[1] / "old_records"


@pytest.mark.parametrize("path", [SAMPLE, *sorted(OLD.glob("*.toml"))], ids=lambda p: p.stem)
def test_a_row_says_what_the_whole_record_says(path: Path) -> None:
    """A closed record isn't read entry by entry: that must come to the same."""
    _as_the_whole_record(path)


def test_a_row_of_an_engine_whose_lengths_were_checked_does_too(
    tmp_path: Path, heelwise: Runner
) -> None:
    words = ("--engine", "single", "--procedure", "solid-checking-lifter", "--folder", tmp_path)
    assert heelwise("rehearse", "--hands-off", *words).code == 0
    _as_the_whole_record(next(tmp_path.glob("*.toml")))


def _as_the_whole_record(path: Path) -> None:
    row, record = read_build(path), read_record(path)
    assert isinstance(row, builds.PastBuild)
    scene = scene_of(record.head.setup, record.head.procedure, record.entries)
    assert row.travel == own_travel(record.head.setup, scene.trials)
    assert row.signed is (scene.state.closed is not None)
    assert row.by == scene.state.by
    assert row.last_seal == record.last_seal
    for kind in ValveKind:
        fitted = [o.pushrod for o in outcomes(scene.state) if o.pushrod and o.valve[-1] == kind]
        assert len(row.lengths.get(kind, ())) == len(fitted)


def test_trials_crossed_out_or_resting_on_what_is_do_not_count(tmp_path: Path) -> None:
    setup, procedures = to_begin(SAMPLE.parent / "harbor-launch-six.toml", tmp_path)
    setup = setup.model_copy(update={"before": BeforeTable(engine="virtual")})
    with begin_session(setup, procedures[0], tmp_path, "crossed", "AR") as session:
        walker, truth = session.walker, session.truth
        assert truth is not None
        struck: list[int] = []
        while not walker.closed:
            trials = [
                e for e in walker.state.entries if (r := e.when(Read)) and r.body.phase == "trial"
            ]
            if len(trials) in (1, 5) and len(struck) < len(trials) // 4 + 1:
                # The count itself; then what an earlier count rests on.
                struck.append(trials[-1].number if not struck else max(trials[-1].rests_on))
                walker.cross_out(struck[-1], "lost the count")
            seen = sense(walker.scene, walker.prompt, truth)
            walker.reply(seen.answer, seen.texts)
        scene, path = walker.scene, session.file
    counted = [n for n in scene.state.void if scene.state.entries[n - 1].when(Read)]
    assert len(struck) == 2
    assert len(counted) >= 2
    row = read_build(path)
    assert isinstance(row, builds.PastBuild)
    assert row.signed
    assert row.travel == own_travel(scene.build.setup, scene.trials)


def _known(folder: Path) -> Folder:
    return folder_of(read_all(records_in(folder), cores=1))


def _folder(folder: Path) -> Path:
    """Three finished builds of two days, and files that can't be used."""
    another(folder / "first.toml")
    another(folder / "second.toml", 40)
    another(folder / "third.toml", 80, {"i6-153624": "another-six"})
    data = SAMPLE.read_bytes()
    (folder / "cut.toml").write_bytes(data[:9000])
    (folder / "damaged.toml").write_bytes(data.replace(b"the ratchet", b"a ratchet", 1))
    (folder / "newer.toml").write_bytes(b"format = 2\n" + data[12:].split(b"[[entry]]")[0])
    (folder / "empty.toml").write_bytes(b"")
    (folder / "being-written.toml").write_bytes(data[:-40])
    (folder / "setup.toml").write_bytes((SAMPLE.parent / "harbor-launch-six.toml").read_bytes())
    (folder / "link.toml").symlink_to(folder / "nothing")
    (folder / "folder.toml").mkdir()
    return folder


def test_files_that_cannot_be_used_take_a_line_each_and_the_rest_is_read(tmp_path: Path) -> None:
    known = _known(_folder(tmp_path))
    assert [each.name for each in known.builds[:2]] == ["third", "second"]
    (torn,) = (each for each in known.builds if each.name == "being-written")
    assert not torn.signed
    bad = {Path(file).stem: why for file, why in known.not_read}
    assert set(bad) == {"cut", "damaged", "newer", "link", "folder"}
    assert all("\n" not in why for why in bad.values())


def test_many_files_are_read_by_other_processes_to_the_same_end(
    tmp_path: Path,
) -> None:
    paths = records_in(_folder(tmp_path))
    assert list(read_all(paths, cores=2)) == list(read_all(paths, cores=1))


def test_words_find_builds_and_each_must_be_there(tmp_path: Path, heelwise: Runner) -> None:
    _folder(tmp_path)
    finds = {("another-six", "SIGNED"): 1, ("signed", "i6-153624"): 2, ("signed", "nowhere"): 0}
    for words, count in finds.items():
        assert len(heelwise("past", tmp_path, *words, "--json").json["builds"]) == count


def test_a_copy_counts_once_and_two_names_for_one_engine_are_told(tmp_path: Path) -> None:
    serials = ("HL 42", "hl-42", "HL 43")
    for number, serial in enumerate(serials):
        job = {"[wrench]": f'[job]\nengine_serial = "{serial}"\n\n[wrench]'}
        another(tmp_path / f"b{number}.toml", number, job)
    (tmp_path / "copy.toml").write_bytes((tmp_path / "b2.toml").read_bytes())
    known = _known(tmp_path)
    assert len(known.builds) == 3
    copy, names = known.notes
    assert "copy.toml" in copy
    assert "HL 42" in names
    assert "hl-42" in names


def test_a_wrench_is_told_that_two_builds_used_past_its_due_date(tmp_path: Path) -> None:
    for name, days in (("a", 0), ("b", 360), ("c", 370), ("d", 380)):
        another(tmp_path / f"{name}.toml", days)
    (use,) = wrenches(_known(tmp_path).builds)
    assert use["past_due"] == ["b", "c", "d"]
    another(tmp_path / "e.toml", 375, {"calibrated = 2026-02-10": "calibrated = 2027-03-15"})
    (use,) = wrenches(_known(tmp_path).builds)
    assert use["past_due"] == ["b"]  # the others came after a calibration that e tells of
    assert use["calibrated"] == "2027-03-15"


def test_the_command_prints_a_table_csv_and_json(tmp_path: Path, heelwise: Runner) -> None:
    _folder(tmp_path)
    table = heelwise("past", tmp_path, "signed")
    assert table.code == 0
    assert "third" in table.out
    lines = heelwise("past", tmp_path, "signed", "--as", "csv").out.splitlines()
    assert lines[0].startswith("name,state,engine")
    told = heelwise("past", tmp_path, "third", "--json").json
    assert [each["name"] for each in told["builds"]] == ["third"]
    assert told["builds"][0]["travel_per_turn_mm"] > 0
    assert len(told["not_read"]) == 5
    nothing = heelwise("past", tmp_path, "nowhere")
    assert nothing.code == 1
    assert "nowhere" in nothing.err
