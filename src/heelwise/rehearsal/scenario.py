"""The setups rehearsals are run on: invented figures for any engine card, no maker's."""

from __future__ import annotations

from heelwise.documents.faults import Fault, Faulty, did_you_mean
from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import Procedure, load_procedure
from heelwise.documents.setup import Setup, parse_setup

DEFAULT_CARD = "v8-15426378"
DEFAULT_PROCEDURE = "bolt-down-rockers"

SHEET_TRAVEL = "0.052 in"
"""What the invented lifter sheet claims; the lever of this rocker moves half as much again."""

_Tables = dict[str, dict[str, object]]


def procedure_called(name: str) -> Procedure:
    """A procedure by its file's name.

    Raises:
        Faulty: If there is none of that name, or it has faults.
    """
    found = find_procedures()
    if name not in found:
        instead = did_you_mean(name, found, "there are")
        raise Faulty("procedures", [Fault("procedure", f"there is no {name!r}", instead)])
    return load_procedure(found[name])


def setup_by(card: str, procedure: Procedure) -> Setup:
    """A whole setup for an engine card, fit for a procedure.

    Args:
        card: The card's name.
        procedure: The procedure; its method, mount and lifter say what the setup is like.

    Returns:
        An invented engine. With bolt-down rockers its trial pushrods are too long and
        its sheet's travel per turn is not the engine's, so that trials have to find out.

    Raises:
        Faulty: If there is no such card.
    """
    tables = _bolt_down(card)
    changes = _CHANGES.get(procedure.method.name, {})
    for name, keys in changes.items():
        kept = {} if keys.get("anew") else tables.get(name, {})
        tables[name] = {**kept, **{k: v for k, v in keys.items() if k != "anew"}}
    tables["rocker"]["mount"] = procedure.for_mount[0]
    tables["lifter"]["kind"] = procedure.for_lifter[0]
    raw: dict[str, object] = {"format": 1, **tables}
    return parse_setup(raw, f"the rehearsal's setup for {card}")


def _bolt_down(card: str) -> _Tables:
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
            "travel_per_turn": SHEET_TRAVEL,
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

_CHANGES: dict[str, _Tables] = {
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
            "block": "grey iron",
            "block_length": "4.5 in",
            "heads": "aluminium 356.0",
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
