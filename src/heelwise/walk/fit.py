"""Fit: position by position, every valve read with its own pushrod until it is settled."""

from __future__ import annotations

from dataclasses import replace

from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.valves import Valve
from heelwise.walk.chain import settled, valve_prompt
from heelwise.walk.prompts import Prompt
from heelwise.walk.rounds import go_round
from heelwise.walk.scene import Scene


def fit_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of Fit, or None when every valve is settled."""
    standing = scene.standing
    needy = [v for v in standing.valves if not settled(scene, v)]
    if not needy:
        return None
    later = [v for v in needy if standing.valve(v).loosened_for == "come back later"]
    first = [v for v in needy if v not in later] or later

    def serve(valve: Valve, position: Position | None) -> Prompt:
        return valve_prompt(scene, valve, "fit", position)

    prompt = go_round(scene, "fit", scene.plan, first, serve)
    total = len(standing.valves)
    number = min(total - len(needy) + 1, total)
    return replace(
        prompt,
        progress=f"valve {number} of {total}{position_said(scene)}",
        done=total - len(needy),
        total=total,
    )


def position_said(scene: Scene) -> str:
    """Which position the crank is at, in words for the progress line."""
    here = scene.position_here(scene.plan)
    return f", position {here.number} of {len(scene.plan.positions)}" if here else ""
