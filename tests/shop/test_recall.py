"""What earlier builds know as a build begins: of the rocker's travel, of the lengths fitted."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
import tomli_w

from heelwise.documents.entries import Read
from heelwise.documents.record import read_record
from heelwise.documents.setup import BeforeTable, Setup, load_setup, parse_setup
from heelwise.rehearsal.hands import sense
from heelwise.rehearsal.rehearse import hands_off
from heelwise.session import begin_session, to_begin
from heelwise.shop.begin import recall, setup_like
from heelwise.valvetrain.travel import Origin
from heelwise.walk.replay import replay_faults
from heelwise.walk.scene import scene_of
from tests.commands.running import Runner
from tests.shop.folders import SAMPLE, another

JOB = '[job]\ncasting = "HL-1"\nlifters = "roller 7"\nrockers = "arm 9"\n\n[wrench]'
REAL = "seed = 2\n"
"""A record without it is of a real engine."""


def _named(folder: Path, name: str, days: int, real: bool = True) -> Path:
    changes = {"[wrench]": JOB}
    text = SAMPLE.read_text(encoding="utf-8")
    if real:
        planted = text[text.index("planted = [") :].split("]\n", 1)[0] + "]\n"
        changes |= {REAL: "", planted: ""}
    return another(folder / f"{name}.toml", days, changes)


def _setup(*, lines: str = JOB) -> Setup:
    text = (SAMPLE.parent / "harbor-launch-six.toml").read_text(encoding="utf-8")
    return parse_setup(tomllib.loads(text.replace("[wrench]", lines)), "setup")


def _names(records: list[str]) -> list[str]:
    return [each.split()[0] for each in records]


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """Three real builds with one rocker and a rehearsal, one not signed off, one damaged."""
    for number in range(3):
        _named(tmp_path, f"build-{number}", number)
    _named(tmp_path, "rehearsed", 4, real=False)
    whole = _named(tmp_path, "open", 5).read_bytes()
    (tmp_path / "open.toml").write_bytes(whole[: whole.index(b"\n[[signoff]]")])
    broken = _named(tmp_path, "damaged", 6)
    broken.write_bytes(broken.read_bytes().replace(b"the ratchet", b"a ratchet"))
    return tmp_path


def test_travel_of_signed_builds_of_the_same_rocker_is_pooled_and_tells_whose(shop: Path) -> None:
    setup = recall(_setup(), shop)
    before = setup.before
    assert before is not None
    assert _names(before.travel_from) == ["build-2", "build-1", "build-0"]
    record = read_record(shop / "build-2.toml")
    assert before.travel_from[0].endswith(record.last_seal)
    own = scene_of(record.head.setup, record.head.procedure, record.entries).travel.used
    travel = setup.travel_in_play()
    assert travel.used.origin is Origin.BEFORE
    assert travel.used.mm == pytest.approx(own.mm, abs=6e-4)  # three times the same
    assert own.uncertainty_mm is not None
    assert travel.used.uncertainty_mm == pytest.approx(own.uncertainty_mm / 3**0.5, abs=6e-4)
    assert travel.measured


def test_what_is_not_used_is_told_with_why(shop: Path) -> None:
    before = recall(_setup(), shop).before
    assert before is not None
    told = " ".join(before.not_used)
    for name in ("rehearsed", "open", "damaged"):
        assert name in told
    assert "build" not in told


@pytest.mark.parametrize(
    "other",
    [
        JOB.replace("arm 9", "arm 8"),
        JOB.replace('rockers = "arm 9"\n', ""),
        "[wrench]",
    ],
)
def test_another_rocker_or_one_without_a_name_knows_of_none(shop: Path, other: str) -> None:
    before = recall(_setup(lines=other), shop).before
    assert before is None or before.travel is None


def test_one_build_alone_tells_no_scatter_and_is_not_used(tmp_path: Path) -> None:
    _named(tmp_path, "only", 0)
    before = recall(_setup(), tmp_path).before
    assert before is not None
    assert before.travel is None
    assert before.ended_text


def test_lengths_that_builds_of_the_engine_ended_with_are_told(shop: Path) -> None:
    before = recall(_setup(), shop).before
    assert before is not None
    assert _names(before.lengths_from) == ["build-2", "build-1", "build-0"]
    assert before.intake == ["219.00 mm"] * 3
    other = JOB.replace("roller 7", "roller 8")
    before = recall(_setup(lines=other), shop).before
    assert before is not None
    assert before.lengths_from == []


def test_a_rehearsal_knows_of_rehearsals_alone(shop: Path) -> None:
    _named(shop, "rehearsed-too", 9, real=False)
    setup = _setup().model_copy(update={"before": BeforeTable(engine="virtual")})
    before = recall(setup, shop).before
    assert before is not None
    assert _names(before.travel_from) == ["rehearsed-too", "rehearsed"]
    assert "build-0" in " ".join(before.not_used)


def test_a_setup_like_a_record_has_its_parts_and_the_lengths_it_ended_with(tmp_path: Path) -> None:
    record = read_record(_named(tmp_path, "first", 0))
    document = setup_like(record)
    setup = parse_setup(document, "like")
    assert setup.rocker == record.head.setup.rocker
    assert setup.lifter == record.head.setup.lifter
    assert setup.cam == record.head.setup.cam
    assert setup.wrench == record.head.setup.wrench
    assert setup.make_engine() == record.head.setup.make_engine()
    assert setup.pushrods is not None
    assert (setup.pushrods.intake, setup.pushrods.exhaust) == ("219.00 mm", "219.00 mm")
    assert setup.before == BeforeTable(record="first", last_seal=record.last_seal)


def test_the_command_writes_a_setup_and_nothing_over(tmp_path: Path, heelwise: Runner) -> None:
    new = tmp_path / "next.toml"
    told = heelwise("like", SAMPLE, new, "--json")
    assert told.code == 0
    assert told.json["last_seal"] == read_record(SAMPLE).last_seal
    assert told.json["intake"] == load_setup(new).pushrods.intake  # type: ignore[union-attr]
    written = new.read_bytes()
    assert heelwise("like", SAMPLE, new).code == 1
    assert new.read_bytes() == written
    assert heelwise("like", SAMPLE, tmp_path / "next").code == 2


def test_a_build_like_earlier_ones_begins_inside_by_what_they_measured(tmp_path: Path) -> None:
    for number in range(3):
        _named(tmp_path, f"rehearsed-{number}", number, real=False)
    document = setup_like(read_record(tmp_path / "rehearsed-2.toml"))
    (tmp_path / "fourth-setup.toml").write_text(tomli_w.dumps(document), encoding="utf-8")
    setup, procedures = to_begin(tmp_path / "fourth-setup.toml", tmp_path)
    with begin_session(setup, procedures[0], tmp_path, "fourth", "AR") as session:
        assert session.truth is not None
        walker, truth = session.walker, replace(session.truth, slips={})
        while walker.prompt.id != "walk/fit-trial":
            seen = sense(walker.scene, walker.prompt, truth)
            walker.reply(seen.answer, seen.texts)
        before = walker.scene.build.setup.before
        assert before is not None
        assert walker.prompt.suggested in before.intake
        sources = {fact.source for fact in walker.prompt.facts}
        assert walker.scene.travel.used.source in sources
        assert any(before.ended_text in source for source in sources)
        hands_off(walker, truth, lambda entry: None)
        reads = [read for entry in walker.state.entries if (read := entry.when(Read))]
        false = {str(valve) for valve in (*truth.planted, *truth.slips)}  # seeded by a seal
        first = next(read for read in reads if read.body.valve not in false)
        used = walker.scene.travel.used
    assert first.body.phase == "trial"
    assert first.body.verdict == "inside"
    assert reads[0].body.travel_from == Origin.BEFORE
    assert used.measured
    assert replay_faults(read_record(tmp_path / "fourth.toml")) == []
