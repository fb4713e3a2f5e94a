"""In the walk: a wrench that will not do, an adapter, limited stock, repeats, preload hot."""

from __future__ import annotations

from collections import Counter
from datetime import date

import pytest

from heelwise.documents.entries import Drawn, Proved, Skipped
from heelwise.documents.quantities import length_mm, show_length
from heelwise.valvetrain.engine import ValveKind
from heelwise.valvetrain.torque import NM_PER_LBF_FT
from heelwise.walk.buying import ORDER, lengths_by, ordered_lengths
from heelwise.walk.prompts import Refused
from heelwise.walk.trials import FIT_TRIAL, choices
from tests.walk.driving import Drive, changed_setup, no_faults

GOOD = {"name": "click", "least": "8 lbf ft", "most": "60 lbf ft", "calibrated": date(2031, 1, 2)}


def with_tables(**tables: dict[str, object]) -> Drive:
    return no_faults().on(changed_setup("i4-1342", **tables).to_toml_dict())


def at_the_wrench(drive: Drive) -> Drive:
    drive.until(lambda prompt: prompt.id == "wrench")
    return drive


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"least": "30 lbf ft", "most": "150 lbf ft"}, "outside the wrench's range"),
        ({"calibrated": date(2029, 1, 2)}, "12 months are over"),
        ({"cycles": 5000}, "5,000 cycles"),
    ],
)
def test_a_wrench_that_will_not_do_is_refused(changed: dict[str, object], why: str) -> None:
    drive = at_the_wrench(with_tables(wrench={**GOOD, **changed}))
    assert any(why in fact.text for fact in drive.prompt.facts)
    with pytest.raises(Refused, match="another wrench") as refused:
        drive.step("y")
    assert why in str(refused.value)
    drive.step("s", ("the long one from bay 3, in date",))
    assert isinstance(drive.kept[-1].body, Skipped)
    assert drive.prompt.id != "wrench"


def test_a_wrench_in_range_and_date_is_taken() -> None:
    drive = at_the_wrench(with_tables(wrench=dict(GOOD)))
    assert any("due on 2032-01-02" in fact.text for fact in drive.prompt.facts)
    drive.step("y")
    assert drive.prompt.id != "wrench"


def test_with_an_adapter_the_record_keeps_setting_and_torque() -> None:
    """T·L/(L+E): the setup's torque by 18/20; both in the record, and the setting before use."""
    drive = with_tables(wrench={**GOOD, "length": "18 in", "adapter": "2 in"})
    rocker = drive.setup.rocker
    assert rocker is not None
    torque_nm = rocker.figure("torque")
    assert torque_nm is not None
    setting = drive.setup.setting_nm()
    assert setting is not None
    assert setting == pytest.approx(torque_nm * 18 / 20)
    drive.to_the_end()
    proofs = [e.body for e in drive.kept if isinstance(e.body, Proved)]
    assert proofs
    pounds = setting / NM_PER_LBF_FT
    assert all(p.torque == rocker.torque for p in proofs)
    assert all(p.setting.startswith(f"{pounds:.1f} ") for p in proofs)
    for fills in ("count", "proof"):
        asked = [p for p in drive.prompts if p.records == fills]
        assert asked
        for prompt in asked:
            assert any(f.text.startswith(f"set {pounds:.1f}") for f in prompt.facts), fills


def test_without_an_adapter_they_are_the_same() -> None:
    drive = no_faults(name="shaft-rockers")
    drive.to_the_end()
    proofs = [e.body for e in drive.kept if isinstance(e.body, Proved | Drawn)]
    assert proofs
    assert all(p.setting == p.torque for p in proofs)


def test_the_set_is_shared_out_among_what_is_on_hand() -> None:
    """Fewer of the commonest length than are wanted, and plenty of the others: all there are of the
    first are ordered, the rest another length. With one of each only, the rest are to be got."""
    free = no_faults()
    free.until(lambda prompt: prompt.id == ORDER)
    count = Counter(lengths_by(free.scene, choices(free.scene)[0]).values())
    best, most = count.most_common(1)[0]
    there = most - 1
    plenty = f"{there} of {show_length(best, 'in')}"
    sold = [mm for mm in free.setup.lengths() if abs(mm - best) > 0.01]
    others = [show_length(mm, "in") for mm in sold]
    none = {"sold_from": None, "sold_to": None, "sold_step": None}
    drive = with_tables(pushrods={**none, "on_hand": [plenty, *others]})
    drive.until(lambda prompt: prompt.id == ORDER)
    drive.step("y")
    ordered = Counter(ordered_lengths(drive.scene).values())
    assert ordered[show_length(best, "in")] <= there
    assert sum(ordered.values()) == 8
    short = with_tables(
        pushrods={
            **none,
            "on_hand": [f"1 of {length}" for length in (show_length(best, "in"), *others)],
        }
    )
    short.until(lambda prompt: prompt.id == ORDER)
    told = [fact.text for fact in short.prompt.facts]
    assert any(" wanted, 1 on hand" in text for text in told), told


def test_a_count_made_again_is_set_against_the_first() -> None:
    drive = no_faults()
    drive.until(lambda prompt: prompt.phase == "fit" and prompt.records == "count")
    valve = drive.prompt.valve
    drive.step("2")  # long: outside
    drive.step("1")  # count again
    drive.until(lambda prompt: prompt.records == "count" and prompt.valve == valve)
    drive.step()
    assert drive.said[-1].endswith(": 2.")


def test_preload_hot_is_told_with_the_verdict_and_lowers_never_past() -> None:
    iron = {
        "block": "gray iron",
        "block_length": "3 in",
        "heads": "gray iron",
        "heads_length": "4 in",
        "pushrod": "stainless steel 304",
    }
    drive = with_tables(growth=dict(iron))
    drive.until(lambda prompt: prompt.records == "count")
    assert any("hot, preload gains" in fact.text for fact in drive.prompt.facts)
    drive.step()
    assert " Hot, about " in drive.said[-1]
    plain = no_faults().scene.ceiling.exact_turns
    hot = drive.scene.ceiling.exact_turns
    assert plain is not None
    assert hot is not None
    assert drive.setup.pushrods is not None
    longest = max(drive.setup.pushrods.length(kind) for kind in ValveKind)
    gained = 70e-6 * (17.2 * longest - 11.4 * length_mm("7 in"))
    largest = with_tables().scene.travel.largest_mm
    first = with_tables(growth=dict(iron)).scene.ceiling.exact_turns
    assert first is not None
    assert plain - first == pytest.approx(gained / largest)
    assert "gained hot" in drive.scene.ceiling.source


def test_what_was_settled_untried_takes_from_the_stock_too() -> None:
    """1I settles at 7.375 and takes one of the five: no more than four others can have it."""
    none = {"sold_from": None, "sold_to": None, "sold_step": None}
    sold = [show_length(mm, "in") for mm in no_faults().setup.lengths()]
    others = [length for length in sold if length not in ("7.375 in", "7.400 in")]
    on_hand = ["5 of 7.375 in", "0 of 7.400 in", *others]
    drive = with_tables(pushrods={**none, "on_hand": on_hand})
    drive.until(lambda p: p.id == FIT_TRIAL and str(p.valve) == "1I" and p.option("s") is not None)
    drive.step("s", ("not to be had",))
    drive.until(lambda prompt: prompt.id == ORDER)
    wanted = lengths_by(drive.scene, choices(drive.scene)[0])
    count = Counter(show_length(mm, "in") for mm in wanted.values())
    assert count["7.375 in"] == 5
    assert sum(count.values()) == 8
    assert not count["7.400 in"]
