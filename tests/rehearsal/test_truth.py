"""What a rehearsal signs off is true of the virtual engine, whose arithmetic is its own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import pytest

from heelwise.documents.entries import Read
from heelwise.documents.library import find_procedures
from heelwise.documents.quantities import length_mm, turns
from heelwise.rehearsal.scenario import HandSlip
from heelwise.valvetrain.engine import Valve
from heelwise.walk.doubts import ODD_TRIAL
from tests.rehearsal.driving import no_faults, rehearsed, with_fault
from tests.walk.driving import Drive

HYDRAULIC = [name for name in sorted(find_procedures()) if name != "solid-lifters"]
HEEL_MM = 0.08
"""Lift that is still the heel."""
NEAR_TURNS = 1 / 16
"""Half an eighth, what a count in eighths may be off by."""


def run(card: str, seed: int, name: str) -> Drive:
    drive = rehearsed(card, seed, name=name)
    drive.to_the_end()
    return drive


def outside(drive: Drive) -> Iterator[str]:
    """Valves signed off as inside whose true preload isn't, and not accepted by name."""
    truth = drive.truth
    for row in drive.outcome:
        valve = Valve.parse(row.valve)
        if row.accepted_by is not None:
            continue
        if not drive.build.method.clicks and not drive.build.method.stands:
            given = turns(row.turns) if row.turns else 0.0
            if not truth.window[0] <= given <= truth.window[1]:
                yield f"{valve}: {given} turns given"
        elif row.pushrod:
            length = truth.true_length_mm(valve, length_mm(row.pushrod))
            last = drive.scene.state.valves[valve].reading
            # Said to be near a limit: eighths can't tell on which side of it.
            near = last is not None and last.body.near
            off = [-NEAR_TURNS, NEAR_TURNS] if near else [0.0]
            if not any(truth.inside(valve, length + turns * truth.travel_mm) for turns in off):
                yield f"{valve}: preload {truth.preload_mm(valve, length):.2f} mm"


def counted_on_a_lobe(drive: Drive) -> Iterator[str]:
    for entry in drive.kept:
        read = entry.when(Read)
        if read is not None:
            valve = Valve.parse(read.body.valve)
            lift = drive.truth.lift_mm(valve, read.body.at_deg)
            if lift > HEEL_MM:
                yield f"{valve} counted {lift:.2f} mm up its lobe"


@pytest.mark.parametrize("card", ["i6-153624", "v8-18726543", "v6-165432-odd-firing"])
def test_margins_are_the_lifters_own(card: str) -> None:
    """At the end of its margin a lifter stands at the lift the cam card is measured at."""
    drive = run(card, 1, "bolt-down-rockers")
    reads = [read.body for entry in drive.kept if (read := entry.when(Read))]
    assert reads
    for body in reads:
        valve, margin = Valve.parse(body.valve), body.margin_deg
        assert margin is not None
        ends = [drive.truth.lift_mm(valve, body.at_deg + way * margin) for way in (-1, 1)]
        assert max(ends) == pytest.approx(0.15, abs=0.01)
        for step in range(int(margin)):
            assert drive.truth.lift_mm(valve, body.at_deg + step) < 0.15
            assert drive.truth.lift_mm(valve, body.at_deg - step) < 0.15


@pytest.mark.parametrize("name", HYDRAULIC)
@pytest.mark.parametrize(("card", "seed"), [("i6-153624", 1), ("v8-18726543", 1), ("i4-1342", 3)])
def test_what_is_signed_off_is_truly_inside(name: str, card: str, seed: int) -> None:
    drive = run(card, seed, name)
    assert list(outside(drive)) == []
    assert list(counted_on_a_lobe(drive)) == []


@pytest.mark.long
@pytest.mark.parametrize("name", HYDRAULIC)
@pytest.mark.parametrize("card", ["i6-153624", "v8-15426378", "v6-142536", "single", "flat4-1432"])
def test_what_is_signed_off_is_truly_inside_with_many_seeds(name: str, card: str) -> None:
    for seed in range(10, 22):
        drive = run(card, seed, name)
        assert list(outside(drive)) == [], seed
        assert list(counted_on_a_lobe(drive)) == [], seed


@pytest.mark.parametrize("card", ["i6-153624", "v8-18726543"])
def test_travel_worked_out_is_what_the_rocker_does(card: str) -> None:
    drive = no_faults(card)
    raw = drive.setup.to_toml_dict()
    del raw["lifter"]["travel_per_turn"]
    drive = drive.on(raw)
    assert drive.scene.travel.used.mm == pytest.approx(drive.truth.travel_mm, rel=0.05)


@pytest.mark.parametrize("seed", range(4))
def test_a_count_never_bottoms_a_plunger(seed: int) -> None:
    drive = rehearsed("i6-153624", seed)
    while not drive.walker.closed:
        prompt = drive.prompt
        if prompt.records == "count":
            never = drive.scene.never_past * drive.truth.travel_mm
            assert never <= drive.truth.plunger_mm
            assert never >= drive.truth.plunger_mm / 3
        drive.step()


def test_a_first_trial_that_was_miscounted_is_questioned() -> None:
    # 1I is the first valve tried; its fellows come after it. A true one is counted but once more.
    drive = with_fault(HandSlip.HALF_TURN_MORE, "1I", "i6-153624", 5)
    drive.to_the_end()
    asked = Counter(str(prompt.valve) for prompt in drive.prompts if prompt.id == ODD_TRIAL)
    assert asked["1I"] == 1
    assert max(asked.values()) == 1
    assert list(outside(drive)) == []
