"""Fit: position by position, every valve counted from zero lash with its own pushrod."""

from __future__ import annotations

from dataclasses import replace

from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.valves import Valve
from heelwise.walk.counting import count_chain, outside_prompt
from heelwise.walk.prompts import Prompt
from heelwise.walk.rounds import go_round
from heelwise.walk.scene import Scene


def fit_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of Fit, or None when every count is settled."""
    standing = scene.standing
    needy = [v for v, one in standing.valves.items() if not one.settled_count]
    if not needy:
        return None
    later = [v for v in needy if standing.valve(v).loosened_for == "come back later"]
    first = [v for v in needy if v not in later] or later

    def serve(valve: Valve, position: Position | None) -> Prompt:
        return counted_or_settled(scene, valve, position)

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


def counted_or_settled(scene: Scene, valve: Valve, position: Position | None) -> Prompt:
    """A valve's count, or the question what to do with one that is outside."""
    one = scene.standing.valve(valve)
    outside = one.last_count is not None and one.last_count.number >= one.touched
    if outside:
        return outside_prompt(scene, valve, "fit")
    return count_chain(scene, valve, "fit", position)
