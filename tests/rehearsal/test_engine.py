"""The virtual engine's mechanics against what can be reckoned by hand."""

from __future__ import annotations

import ast
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from heelwise import rehearsal
from heelwise.documents.faults import Faulty
from heelwise.documents.setup_engine import CamTable, EngineTable
from heelwise.rehearsal.engine import Rocker, dead_centers, lobes, make_truth
from heelwise.rehearsal.rehearse import begin_rehearsal, truth_of
from heelwise.rehearsal.scenario import procedure_called, setup_by
from heelwise.valvetrain.engine import Valve, ValveKind

ARITHMETIC = "heelwise.valvetrain"
LEVEL = Rocker(40.0, 25.0, 0.0, 0.0, 0.0, 200.0)
"""Ratio 1.6, both arms level, the pushrod upright."""


@pytest.mark.parametrize("slants", [(0.0, 0.0), (0.12, -0.1), (-0.08, 0.1)])
def test_the_cup_goes_down_by_the_lever(slants: tuple[float, float]) -> None:
    """Valve end held: with the fulcrum down by p, the pushrod end is down by p·(1 + 1/ratio)."""
    rocker = Rocker(40.0, 25.0, *slants, 6.0, 200.0)
    for p in (0.2, 1.0, 1.5):
        down = rocker.preload(201.0) - rocker.preload(201.0, rise=p)
        assert down == pytest.approx(p * (1 + 1 / 1.6), rel=0.03)


def test_more_pushrod_is_as_much_more_preload_and_zero_lash_comes_earlier() -> None:
    assert LEVEL.preload(200.0) == pytest.approx(0.0, abs=1e-9)
    assert LEVEL.preload(201.3) == pytest.approx(1.3, abs=1e-9)
    assert LEVEL.preload(201.3, lift=0.2) == pytest.approx(1.5, abs=1e-9)
    assert LEVEL.preload(199.5) == pytest.approx(-0.5, abs=1e-9)
    rise = LEVEL.rise_at(201.3, 0.0)
    assert rise == pytest.approx(1.3 / 1.625, rel=0.01)
    assert LEVEL.preload(201.3, rise=rise) == pytest.approx(0.0, abs=1e-6)


def test_gaps_at_the_valve_are_the_ratio_times_what_lacks_at_the_pushrod() -> None:
    assert LEVEL.gap(199.0, 0.0) == pytest.approx(1.6, rel=0.01)
    assert LEVEL.gap(201.0, -3.0) == pytest.approx(1.6 * 2.0, rel=0.01)
    assert LEVEL.gap(201.0, 0.0) < 0


def test_a_lobe_opens_and_closes_at_the_card_s_figures() -> None:
    timed = CamTable(
        intake_duration=256, exhaust_duration=262, lobe_separation=110.5, intake_centerline=106
    )
    events = CamTable(
        intake_opens_btdc=22, intake_closes_abdc=54, exhaust_opens_bbdc=66, exhaust_closes_atdc=16
    )
    for cam in (timed, events):
        intake, exhaust = (lobes(cam, 0.15)[kind] for kind in (ValveKind.INTAKE, ValveKind.EXHAUST))
        for lobe, at in ((intake, (338, 594)), (exhaust, (114, 376))):
            for deg in at:
                assert lobe.lift_mm(deg) == pytest.approx(0.15, abs=0.01)
        assert intake.lift_mm(466) == pytest.approx(8.0)
        assert intake.lift_mm(0) == exhaust.lift_mm(0) == 0.0
        assert exhaust.lift_mm(360) > 0.15 < intake.lift_mm(360)


def test_an_advanced_cam_opens_earlier() -> None:
    cam = CamTable(duration=256, lobe_separation=110, intake_centerline=106, advance=4)
    assert lobes(cam, 0.15)[ValveKind.INTAKE].nose_deg == pytest.approx(462)
    assert lobes(cam, 0.15)[ValveKind.EXHAUST].nose_deg == pytest.approx(242)


def test_cylinders_come_to_tdc_in_their_order() -> None:
    six = dead_centers(EngineTable(firing_order=[5, 3, 6, 2, 4, 1]))
    assert six == {1: 0, 5: 120, 3: 240, 6: 360, 2: 480, 4: 600}
    odd = dead_centers(EngineTable(firing_order=[2, 1], firing_gaps=[315.0, 405.0]))
    assert odd == {1: 0, 2: 405}


def test_the_first_trial_is_short_and_every_valve_differs() -> None:
    procedure = procedure_called("bolt-down-rockers")
    setup = setup_by("i6-153624", procedure)
    for seed in range(20):
        truth = make_truth(setup, seed, ())
        preloads = [truth.preload_mm(valve, 218.0) for valve in truth.rockers]
        assert all(-0.1 < preload < 0.7 for preload in preloads)
        assert len({round(preload, 9) for preload in preloads}) == 12
        assert truth.travel_mm == pytest.approx(1.5 * (1 + 1 / 1.55), rel=0.04)
        valve = Valve.parse("3E")
        assert truth.turns(valve, 218.0) > truth.seat_turns
        assert truth.inside(valve, 218.9)
        assert not truth.inside(valve, 218.0)


def test_turns_of_an_adjuster_set_the_preload() -> None:
    for name, card in (("stud-rockers", "v8-18436572"), ("shaft-adjusters", "i4-1342")):
        procedure = procedure_called(name)
        truth = make_truth(setup_by(card, procedure), 3, (), procedure.method.name)
        valve = Valve.parse("2I")
        none, half, one = (truth.preload_after_mm(valve, 207.0, each) for each in (0.0, 0.5, 1.0))
        assert none == pytest.approx(0.0, abs=1e-6)
        least = truth.pitch_mm * (0.97 if truth.screws else 1.5) / 2
        assert least < half < one - half + 0.05 < truth.pitch_mm * 1.8


def test_a_record_that_plants_what_nobody_knows_is_at_fault(tmp_path: Path) -> None:
    by, at = procedure_called("bolt-down-rockers"), datetime(2026, 3, 2, tzinfo=UTC)
    with begin_rehearsal(tmp_path / "build.toml", "i4-1342", 1, by, at) as record:
        head = record.head
    assert truth_of(head).planted
    odd = replace(head, build=head.build.model_copy(update={"planted": ["1I: gremlins"]}))
    with pytest.raises(Faulty) as raised:
        truth_of(odd)
    assert [fault.where for fault in raised.value.faults] == ["build.planted"]


def test_oil_keeps_a_plunger_down_for_a_while() -> None:
    setup = setup_by("i6-153624", procedure_called("bolt-down-rockers"))
    by_lifters = {truth.lifters: truth for truth in (make_truth(setup, s, ()) for s in range(4))}
    soon, later = timedelta(seconds=10), timedelta(minutes=1)
    assert by_lifters["pumped"].still_down_mm(1.0, soon) > 0.4
    assert by_lifters["pumped"].still_down_mm(1.0, later) < 0.05
    assert by_lifters["dry"].still_down_mm(1.0, soon) < 0.001


def test_the_virtual_engine_takes_nothing_of_the_arithmetic_but_the_valves_names() -> None:
    taken = set()
    for file in Path(rehearsal.__path__[0]).glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith(ARITHMETIC):
                taken |= {alias.name for alias in node.names}
            elif isinstance(node, ast.Import):
                assert not any(alias.name.startswith(ARITHMETIC) for alias in node.names)
    assert taken == {"Valve", "ValveKind"}
