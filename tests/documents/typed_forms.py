"""What stands in the fields of whole setups, as typed."""

from __future__ import annotations

from heelwise.documents.setup_engine import NO_CARD

BOLT_DOWN = {
    "file.name": "block-12",
    "engine.card": "v8-18436572",
    "cam._form": "timing",
    "cam.intake_duration": "262",
    "cam.exhaust_duration": "267°",
    "cam.lobe_separation": "111.5",
    "cam.intake_centerline": "107.5",
    "cam.at_lift": "0.006 in",
    "rocker.mount": "bolt-down",
    "rocker.ratio": "1.6",
    "rocker.thread": "M8x1.25",
    "rocker.torque": "23 lb-ft",
    "lifter.kind": "hydraulic roller",
    "lifter.least_turns": "3/4",
    "lifter.most_turns": "450°",
    "pushrods.intake": '7.400"',
    "pushrods.exhaust": "187.96 mm",
    "pushrods.on_hand": "7.375 in, 7.400 in; 188.6 mm",
    "wrench.name": "bench click wrench",
    "wrench.calibrated": "2026-03-02",
}

SOLID = {
    **{w: t for w, t in BOLT_DOWN.items() if w.partition(".")[0] in ("file", "engine", "rocker")},
    "rocker.mount": "stud",
    "cam._form": "not known",
    "lifter.kind": "solid roller",
    "lash.intake": "0.020 in",
    "lash.exhaust": "0.022 in",
    "lash.measured": "hot",
    "lash.chart": "iron block, iron heads",
    "pushrods.intake": "7.4 in",
    "pushrods.exhaust": "7.4 in",
}

STUD = {**BOLT_DOWN, "rocker.mount": "stud"}
SHAFT = {**BOLT_DOWN, "rocker.mount": "shaft", "lifter.plunger_travel": "0.185 in"}
OWN_ORDER = {**BOLT_DOWN, "engine.card": NO_CARD, "engine.firing_order": "1 3 4 2"}
SOLID_BY_MATERIALS = {
    **SOLID,
    "lash.block": "gray iron",
    "lash.block_length": "9 in",
    "lash.heads": "aluminum 356.0",
    "lash.heads_length": "4 in",
    "lash.pushrod": "steel 4130",
}
