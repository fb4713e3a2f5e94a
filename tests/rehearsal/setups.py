"""Setups in inches by card and procedure, for tests that reckon by hand with round figures.

Windows and lengths as common practice has them; nothing of it is shipped.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from heelwise.documents.procedure import Procedure
from heelwise.documents.record import OpenRecord, Rehearsal, begin_record
from heelwise.documents.setup import Setup, parse_setup
from heelwise.rehearsal.rehearse import tried_in
from heelwise.rehearsal.scenario import (
    DEFAULT_PROCEDURE,
    TRIALS_SHORT,
    EngineFault,
    plant,
    procedure_called,
)
from heelwise.walk.build import Build

Tables = dict[str, dict[str, object]]


def begin_in_inches(
    path: Path,
    card: str,
    seed: int,
    procedure: Procedure,
    at: datetime,
    setup: Setup | None = None,
) -> OpenRecord:
    """A rehearsal with steady hands: trials too long on such a setup, too short on a given one."""
    trials = (TRIALS_SHORT,) if setup else ()
    setup = setup or setup_for(card, procedure.id)
    build = Build(setup, procedure)
    planted = plant(seed, build.engine.valves, tried_in(build), procedure.method.name)
    faults = tuple(str(p) for p in planted if isinstance(p.fault, EngineFault))
    return begin_record(path, setup, procedure, "AR", at, Rehearsal(seed, (*trials, *faults)))


def setup_for(card: str, name: str = DEFAULT_PROCEDURE) -> Setup:
    procedure = procedure_called(name)
    tables = _bolt_down(card)
    for table, keys in _CHANGES.get(procedure.method.name, {}).items():
        kept = {} if keys.get("anew") else tables.get(table, {})
        tables[table] = {**kept, **{k: v for k, v in keys.items() if k != "anew"}}
    tables["rocker"]["mount"] = procedure.for_mount[0]
    tables["lifter"]["kind"] = procedure.for_lifter[0]
    raw: dict[str, object] = {"format": 1, **tables}
    return parse_setup(raw, f"a test's setup for {card}")


def _bolt_down(card: str) -> Tables:
    return {
        "engine": {"card": card},
        "cam": {
            "intake_duration": 264.0,
            "exhaust_duration": 270.0,
            "lobe_separation": 112.0,
            "intake_centerline": 107.0,
            "at_lift": "0.006 in",
        },
        "rocker": {
            "mount": "bolt-down",
            "ratio": 1.7,
            "thread": "M8x1.25",
            "torque": "24 lbf ft",
        },
        "lifter": {
            "kind": "hydraulic roller",
            "least_turns": "3/4",
            "most_turns": "1 1/4",
            "travel_per_turn": "0.052 in",
            "plunger_travel": "0.200 in",
        },
        "pushrods": {
            "intake": "7.425 in",
            "exhaust": "7.450 in",
            "sold_from": "7.100 in",
            "sold_to": "7.700 in",
            "sold_step": "0.025 in",
        },
        "wrench": {
            "name": "rehearsal wrench",
            "least": "10 lbf ft",
            "most": "80 lbf ft",
        },
    }


_BY_PRELOAD: dict[str, object] = {
    "anew": True,
    "least_preload": "0.040 in",
    "most_preload": "0.080 in",
    "plunger_travel": "0.200 in",
}

_CHANGES: dict[str, Tables] = {
    "turns and lock": {
        "rocker": {"anew": True, "ratio": 1.5, "thread": "3/8-24"},
        "lifter": {
            "anew": True,
            "least_turns": "1/2",
            "most_turns": 1,
            "plunger_travel": "0.160 in",
        },
    },
    "lash and lock": {
        "rocker": {"anew": True, "ratio": 1.6, "thread": "7/16-20"},
        "lifter": {"anew": True},
        "lash": {
            "intake": "0.020 in",
            "exhaust": "0.022 in",
            "measured": "hot",
            "block": "gray iron",
            "block_length": "4.5 in",
            "heads": "aluminum 356.0",
            "heads_length": "3.6 in",
            "pushrod": "steel 4130",
        },
    },
    "checking pushrod": {"lifter": _BY_PRELOAD},
    "checking lifter": {"lifter": _BY_PRELOAD},
    "stands and gap": {"lifter": _BY_PRELOAD},
    "recheck": {"lifter": {"travel_per_turn": "0.078 in"}},
}
"""What differs from the bolt-down setup, by method; `anew`: nothing of that table is kept."""
