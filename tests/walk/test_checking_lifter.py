"""Lengths by a solid checking lifter, and by a checking pushrod's turns out."""

import pytest

from heelwise.documents.entries import AnyEntry, Checked, NotYet, Ordered
from heelwise.walk.crank import BACK_OFF, TURN
from heelwise.walk.finding import FIND_MARK, WATCH_ONE
from heelwise.walk.prepare import cup_above_mm
from heelwise.walk.prompts import Refused
from tests.walk.driving import Drive, inches_in, no_faults

LIFTER, PUSHROD = "solid-checking-lifter", "adjustable-checking-pushrod"
INCH = 25.4


def _to_the_lash(hydraulic: str, solid: str, pushrod: str = "7.300 in") -> Drive:
    drive = no_faults(name=LIFTER)
    drive.until(lambda p: p.records == "cup_hydraulic")
    drive.step(hydraulic)
    drive.step(solid)
    drive.until(lambda p: p.records == "checking_length")
    drive.step(pushrod)
    drive.step("y")
    assert drive.prompt.records == "lash_checked"
    return drive


def _number(drive: Drive, step: str) -> int:
    return [e.number for e in drive.kept if getattr(e.body, "step", "") == step][-1]


def _last_checked(drive: Drive) -> tuple[AnyEntry, Checked]:
    entry = next(e for e in reversed(drive.kept) if isinstance(e.body, Checked))
    assert isinstance(entry.body, Checked)
    return entry, entry.body


@pytest.mark.parametrize(
    ("hydraulic", "solid", "zero_lash", "wanted"),
    [
        # Ratio 1.7: .051 of lash is .030 at the pushrod; preload in the middle of .040 and .080.
        ("2.000 in", "2.000 in", 7.330, 7.390),
        # A hydraulic cup .030 higher asks for a pushrod shorter by as much.
        ("2.000 in", "1.970 in", 7.300, 7.360),
        ("50.8 mm", "2.030 in", 7.360, 7.420),
    ],
)
def test_the_length_by_hand(hydraulic: str, solid: str, zero_lash: float, wanted: float) -> None:
    drive = _to_the_lash(hydraulic, solid)
    drive.step("0.051 in")
    body = _last_checked(drive)[1]
    assert (body.length, body.lash) == ("7.300 in", "0.051 in")
    assert body.zero_lash_mm == pytest.approx(zero_lash * INCH)
    assert body.wanted_mm == pytest.approx(wanted * INCH)
    assert body.preload_mm == pytest.approx(0.060 * INCH)
    assert inches_in(drive.said[-1])[-2:] == [zero_lash, wanted]


def test_the_cups_are_said_and_every_figure_says_where_it_comes_from() -> None:
    drive = _to_the_lash("2.000 in", "1.970 in")
    assert [0.030] in [inches_in(text) for text in drive.said]
    facts = drive.prompt.facts
    assert all(fact.source for fact in facts)
    assert {0.030, 7.300, 0.060} <= {inch for fact in facts for inch in inches_in(fact.text)}


@pytest.mark.parametrize(
    ("typed", "problem"),
    [
        ("0 in", "0.250 in"),
        ("0.300 in", "0.250 in"),
        ("0.015", "has no unit"),
    ],
)
def test_a_lash_that_can_not_be(typed: str, problem: str) -> None:
    drive = _to_the_lash("2.000 in", "2.000 in")
    before = len(drive.kept)
    with pytest.raises(Refused) as refused:
        drive.step(typed)
    assert problem in refused.value.problem
    assert len(drive.kept) == before


def test_with_no_lash_a_shorter_pushrod_comes_first() -> None:
    drive = _to_the_lash("2.000 in", "2.000 in", "7.400 in")
    drive.step("p")
    assert "too long: a shorter one first" in drive.said[-1]
    assert (drive.prompt.id, drive.prompt.valve) == ("trial-lifter", drive.prompts[-1].valve)
    drive.step("y")
    assert drive.prompt.records == "checking_length"
    drive.step("7.300 in")
    drive.step("y")
    drive.step("0.017 in")
    entry, body = _last_checked(drive)
    assert body.wanted_mm == pytest.approx(7.370 * INCH)
    assert _number(drive, "trial-pushrod") in entry.rests_on


def test_a_pushrod_that_goes_tight_on_the_way_down_is_measured_anew() -> None:
    drive = no_faults(name=LIFTER)
    drive.until(lambda p: p.records == "checking_length")
    drive.step("7.425 in")
    drive.step("n")
    kinds = [e.body.kind for e in drive.kept[-2:]]
    assert kinds == [NotYet(step="", said="").kind, "backed off"]
    drive.step("y")
    assert drive.prompt.records == "checking_length"
    with pytest.raises(Refused, match=r"far from the setup's 7\.425 in"):
        drive.step("9.425 in")


def test_the_hydraulic_lifter_goes_back_before_the_crank_turns_on() -> None:
    drive = _to_the_lash("2.000 in", "2.000 in")
    valve = drive.prompt.valve
    drive.step("0.051 in")
    assert drive.prompt.id == BACK_OFF
    drive.step("y")
    assert (drive.prompt.records, drive.prompt.valve) == ("lifter_back", valve)
    assert drive.prompt.caution is not None
    drive.until(lambda p: p.id == TURN)
    lashes = [e for e in drive.kept if isinstance(e.body, Checked)]
    back = [e for e in drive.kept if getattr(e.body, "fills", "") == "lifter_back"]
    assert len(back) == len(lashes) > 0


def test_a_lash_read_anew_puts_the_lifter_back_anew() -> None:
    drive = no_faults(name=LIFTER)
    drive.until(lambda p: p.phase == "fit")
    entry = next(e for e in drive.kept if isinstance(e.body, Checked))
    back = _number(drive, "lifter-back")
    valve = str(getattr(drive.kept[back - 1].body, "valve", ""))
    checked = [e for e in drive.kept if isinstance(e.body, Checked) and e.body.valve == valve][-1]
    drive.walker.cross_out(checked.number, "gauge bent")
    assert back in drive.walker.state.void
    drive.until(lambda p: p.records == "lifter_back")
    assert str(drive.prompt.valve) == valve
    assert entry.number not in drive.walker.state.void or entry == checked
    drive.to_the_end()
    assert {row.verdict for row in drive.outcome} == {"inside"}


def test_the_back_off_crossed_out_takes_the_lifter_s_return_with_it() -> None:
    drive = _to_the_lash("2.000 in", "2.000 in")
    drive.step("0.051 in")
    drive.step("y")
    off = drive.kept[-1].number
    drive.step("y")
    drive.walker.cross_out(off, "not this one")
    assert _number(drive, "lifter-back") in drive.walker.state.void
    assert drive.prompt.id == BACK_OFF


@pytest.mark.parametrize("step", ["cup-hydraulic", "cup-solid"])
def test_crossing_out_a_cup_height_takes_every_length_with_it(step: str) -> None:
    drive = no_faults(name=LIFTER)
    drive.until(lambda p: p.phase == "fit")
    number = _number(drive, step)
    checked = [e for e in drive.kept if isinstance(e.body, Checked)]
    ordered = [e.number for e in drive.kept if isinstance(e.body, Ordered)]
    assert checked
    assert all(number in e.rests_on for e in checked)
    drive.walker.cross_out(number, "gauge not zeroed")
    assert {*ordered, *(e.number for e in checked)} <= drive.walker.state.void
    assert drive.prompt.id == step
    drive.step()
    drive.until(lambda p: p.records == "lash_checked")
    drive.to_the_end()
    assert {row.verdict for row in drive.outcome} == {"inside"}


@pytest.mark.parametrize(
    ("typed", "problem"),
    [("0 in", "0 in isn't a height"), ("3.100 in", "1.100 in")],
)
def test_a_cup_height_that_can_not_be(typed: str, problem: str) -> None:
    drive = no_faults(name=LIFTER)
    drive.until(lambda p: p.records == "cup_hydraulic")
    drive.step("2.000 in")
    with pytest.raises(Refused) as refused:
        drive.step(typed)
    assert problem in refused.value.problem
    assert cup_above_mm(drive.scene) is None
    drive.step("2.000 in")
    assert "equally high" in drive.said[-1]


def test_a_checking_pushrod_by_its_turns_out() -> None:
    """7.100 and 3 1/4 turns of .050 is 7.2625; the middle of .040 and .080 makes it 7.3225."""
    drive = no_faults(name=PUSHROD)
    prompt = drive.until(lambda p: p.records == "checked")
    assert "+ 3 1/2" in prompt.example
    assert [0.050] in [inches_in(f.text) for f in prompt.facts if f.source.startswith("two makers")]
    drive.step("7.100 in + 3 1/4")
    body = _last_checked(drive)[1]
    assert body.length == "7.100 in + 3 1/4"
    assert body.zero_lash_mm == pytest.approx(7.2625 * INCH)
    assert body.wanted_mm == pytest.approx(7.3225 * INCH)
    assert inches_in(drive.said[-1]) == pytest.approx([7.2625, 7.3225], abs=0.001)


@pytest.mark.parametrize(
    ("typed", "problem"),
    [("7.100 + 3", "has no unit"), ("3.000 in + 3", "3.000 in + 3 is far from the setup's 7.425")],
)
def test_turns_out_that_can_not_be(typed: str, problem: str) -> None:
    drive = no_faults(name=PUSHROD)
    drive.until(lambda p: p.records == "checked")
    with pytest.raises(Refused) as refused:
        drive.step(typed)
    assert problem in refused.value.problem


def test_lengths_by_turns_out_are_bought_by_what_they_come_to() -> None:
    """Typed as a base and turns or as one length, the same set is bought."""
    bought = []
    for typed in ("7.100 in + 4 1/2", "7.325 in"):
        drive = no_faults(name=PUSHROD)
        for _ in range(2):
            drive.until(lambda p: p.records == "checked")
            drive.step(typed)
        drive.until(lambda p: p.id == "walk/order")
        drive.step()
        body = drive.kept[-1].body
        assert isinstance(body, Ordered)
        bought.append(body.pushrods)
    assert bought[0] == bought[1]
    assert set(bought[0]) <= {"7.375 in", "7.400 in"}


def test_a_rocker_down_on_the_solid_lifter_comes_off_before_a_lost_crank_is_turned() -> None:
    """Nothing was read yet: the rocker is at its torque all the same, and may hold a valve open."""
    drive = _to_the_lash("2.000 in", "2.000 in")
    valve = drive.prompt.valve
    drive.walker.lose_crank("bumped")
    drive.until(lambda p: p.id in (BACK_OFF, FIND_MARK, WATCH_ONE, TURN))
    assert drive.prompt.id == BACK_OFF
    assert drive.prompt.valve == valve
    drive.step()
    drive.until(lambda p: p.id in (FIND_MARK, WATCH_ONE))
    drive.to_the_end()


def test_a_checking_pushrods_own_pitch_is_the_procedures() -> None:
    """Four turns of 0.040 in on 7.200: 7.360, where 0.050 would make 7.400."""
    drive = no_faults(name="adjustable-checking-pushrod").following(checking_pitch="0.040 in")
    drive.until(lambda p: p.records == "checked")
    drive.step("7.200 in + 4")
    assert _last_checked(drive)[1].zero_lash_mm == pytest.approx(7.360 * INCH)
