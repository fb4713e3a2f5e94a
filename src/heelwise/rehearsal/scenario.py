"""The setups rehearsals are run on: invented figures for any engine card, no maker's."""

from __future__ import annotations

from heelwise.documents.setup import Setup, parse_setup

DEFAULT_CARD = "v8-15426378"

SHEET_TRAVEL = "0.052 in"
"""What the invented lifter sheet claims; the lever of this rocker moves half as much again."""


def setup_for(card: str) -> Setup:
    """A whole setup for an engine card.

    Args:
        card: The card's name.

    Returns:
        Bolt-down rockers on an invented engine. Its trial pushrods are too long and
        its sheet's travel per turn is not the engine's, so that trials have to find out.

    Raises:
        Faulty: If there is no such card.
    """
    raw: dict[str, object] = {
        "format": 1,
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
    return parse_setup(raw, f"the rehearsal's setup for {card}")
