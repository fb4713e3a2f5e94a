"""The setups rehearsals are run on: invented figures for any engine card, no maker's."""

from __future__ import annotations

from heelwise.documents.faults import Fault, Faulty, did_you_mean
from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import Procedure, load_procedure
from heelwise.documents.setup import Setup, parse_setup

DEFAULT_CARD = "i6-153624"
DEFAULT_PROCEDURE = "bolt-down-rockers"

_Tables = dict[str, dict[str, object]]


def procedure_called(name: str) -> Procedure:
    """A procedure by its file's name; raises Faulty if there is none, or it has faults."""
    found = find_procedures()
    if name not in found:
        instead = did_you_mean(name, found, "there are")
        raise Faulty("procedures", [Fault("procedure", f"there is no {name!r}", instead)])
    return load_procedure(found[name])


def setup_by(card: str, procedure: Procedure) -> Setup:
    """A whole setup for an engine card, fit for a procedure; raises Faulty without such a card.

    With bolt-down rockers its sheet's travel per turn is far from what the rocker's lever gives,
    so that trials have to find out.
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
            "intake_duration": 256.0,
            "exhaust_duration": 262.0,
            "lobe_separation": 110.5,
            "intake_centerline": 106.0,
            "at_lift": "0.15 mm",
        },
        "rocker": {
            "mount": "bolt-down",
            "ratio": 1.55,
            "thread": "M10x1.5",
            "torque": "42 N·m",
        },
        "lifter": {
            "kind": "hydraulic roller",
            "least_preload": "0.60 mm",
            "most_preload": "1.80 mm",
            "travel_per_turn": "1.60 mm",
            "plunger_travel": "4.6 mm",
            "seat_turns": 0.12,
        },
        "pushrods": {
            "intake": "218.0 mm",
            "exhaust": "218.0 mm",
            "sold_from": "214.0 mm",
            "sold_to": "226.0 mm",
            "sold_step": "0.5 mm",
        },
        "wrench": {"name": "rehearsal wrench", "least": "20 N·m", "most": "110 N·m"},
    }


_CHANGES: dict[str, _Tables] = {
    "turns and lock": {
        "rocker": {"anew": True, "ratio": 1.6, "thread": "3/8-24"},
        "lifter": {
            "anew": True,
            "least_turns": "3/8",
            "most_turns": "7/8",
            "plunger_travel": "0.170 in",
        },
        "pushrods": {
            "intake": "8.150 in",
            "exhaust": "8.150 in",
            "sold_from": "7.900 in",
            "sold_to": "8.400 in",
            "sold_step": "0.050 in",
        },
    },
    "lash and lock": {
        "rocker": {"anew": True, "ratio": 1.45, "thread": "M9x1.0"},
        "lifter": {"anew": True},
        "lash": {
            "intake": "0.36 mm",
            "exhaust": "0.46 mm",
            "measured": "hot",
            "block": "grey iron",
            "block_length": "118 mm",
            "heads": "aluminium 356.0",
            "heads_length": "84 mm",
            "pushrod": "steel 4130",
        },
    },
    "recheck": {"lifter": {"travel_per_turn": "2.47 mm"}},
}
"""What differs from the bolt-down setup, by method; `anew`: nothing of that table is kept."""
_CHANGES["pattern and lock"] = _CHANGES["turns and lock"]
