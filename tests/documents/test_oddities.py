"""Figures that can't be are refused in a file; odd ones are noted, with what is usual."""

from __future__ import annotations

import copy
from datetime import date
from typing import Any

import pytest

from heelwise.documents.faults import Faulty, QuantityFault
from heelwise.documents.oddities import (
    RANGES,
    doubt_length,
    notes,
    pushrod_mm,
    thread_torques_nm,
)
from heelwise.documents.setup import parse_setup

SIX: dict[str, Any] = {
    "format": 1,
    "engine": {"card": "i6-153624"},
    "cam": {
        "intake_duration": 256.0,
        "exhaust_duration": 262.0,
        "lobe_separation": 110.5,
        "intake_centerline": 106.0,
        "at_lift": "0.15 mm",
    },
    "rocker": {"mount": "bolt-down", "ratio": 1.55, "thread": "M10x1.5", "torque": "42 N·m"},
    "lifter": {
        "kind": "hydraulic roller",
        "least_preload": "0.60 mm",
        "most_preload": "1.80 mm",
        "plunger_travel": "4.6 mm",
        "travel_per_turn": "1.60 mm",
    },
    "pushrods": {
        "intake": "218.0 mm",
        "exhaust": "218.0 mm",
        "sold_from": "214.0 mm",
        "sold_to": "226.0 mm",
        "sold_step": "0.5 mm",
    },
    "wrench": {
        "name": "click wrench",
        "least": "20 N·m",
        "most": "110 N·m",
        "calibrated": date(2026, 3, 2),
    },
}


def changed(where: str, value: object) -> dict[str, Any]:
    raw = copy.deepcopy(SIX)
    table, _, key = where.partition(".")
    raw[table][key] = value
    return raw


def test_a_sound_setup_has_no_note() -> None:
    assert notes(parse_setup(SIX, "s.toml"), date(2026, 11, 26)) == []


@pytest.mark.parametrize(
    ("where", "value"),
    [
        ("cam.exhaust_duration", 1e-14),
        ("rocker.torque", "7000 lbf ft"),
        ("rocker.ratio", 0.001),
        ("lifter.plunger_travel", "9 in"),
        ("pushrods.intake", "73 in"),
        ("pushrods.exhaust", "0 in"),
        ("wrench.calibrated", date(9999, 1, 1)),
        ("wrench.most", "7000 N·m"),
    ],
)
def test_nonsense_is_refused_in_a_file_and_only_noted_in_a_record(
    where: str, value: object
) -> None:
    with pytest.raises(Faulty) as refused:
        parse_setup(changed(where, value), "s.toml")
    assert [fault.where for fault in refused.value.faults] == [where]
    if value != "0 in":
        raw = changed(where, value)
        raw["engine"] = {"firing_order": [1, 5, 3, 6, 2, 4]}
        parse_setup(raw, "r.toml", resolve=False)


@pytest.mark.parametrize(
    ("where", "value"),
    [
        ("cam.lobe_separation", 11.5),
        ("cam.intake_duration", 26.2),
        ("rocker.torque", "230 lbf ft"),
        ("lifter.plunger_travel", "0.0185 in"),
        ("lifter.travel_per_turn", "1.0 mm"),
        ("pushrods.intake", "7.325 mm"),
        ("pushrods.intake", "190 mm"),
        ("wrench.calibrated", date(2027, 1, 1)),
    ],
)
def test_an_odd_figure_is_noted_with_what_is_usual(where: str, value: object) -> None:
    raw = changed(where, value)
    if where == "lifter.plunger_travel":
        del raw["lifter"]["least_preload"], raw["lifter"]["most_preload"]
        raw["lifter"] |= {"least_turns": 0.1, "most_turns": 0.2}
    odd = notes(parse_setup(raw, "s.toml"), date(2026, 11, 26))
    assert where in [note.where for note in odd]
    assert all(note.instead.startswith("look again") for note in odd)


def test_torque_by_thread_and_class() -> None:
    """M10x1.5 has 58.0 mm² (ISO 898-1); class 12.9 at 75 % of 970 MPa, K = 0.2: 84.4 N·m."""
    least, most = thread_torques_nm("M10x1.5")
    assert most == pytest.approx(0.2 * 0.010 * 0.75 * 970 * 58.0, rel=0.002)
    assert least == pytest.approx(0.2 * 0.010 * 0.75 * 225 * 58.0, rel=0.002)


def test_what_is_usual_lies_within_what_is_possible() -> None:
    for where, ((low, high), (least, most)) in RANGES.items():
        assert low <= least < most <= high, where


@pytest.mark.parametrize("typed", ["0 in", "73 in", "7.3", "x", None])
def test_what_no_pushrod_is_long_is_refused(typed: object) -> None:
    with pytest.raises(QuantityFault):
        pushrod_mm(typed)


def test_a_length_far_from_the_setups_or_beyond_those_sold_is_doubted() -> None:
    setup = parse_setup(SIX, "s.toml")
    assert doubt_length(setup, pushrod_mm("219.5 mm")) == ""
    assert doubt_length(setup, pushrod_mm("226.2 mm")) == ""
    assert "226.0 mm" in doubt_length(setup, pushrod_mm("228 mm"))
    unsold = {**SIX, "pushrods": {"intake": "7.30 in", "exhaust": "7.35 in"}}
    setup = parse_setup(unsold, "s.toml")
    assert "0.997 in" in doubt_length(setup, pushrod_mm("6.303 in"))
