"""Going round the crank: serve the valves that are on their heel here, then turn on. Fit is one."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace

from heelwise.documents.steps import Phase
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.positions import Plan, Position
from heelwise.walk.crank import free_here, turn_prompt, works_meanwhile
from heelwise.walk.prompts import Prompt
from heelwise.walk.scene import Scene, placed_at
from heelwise.walk.steps import step_prompt, steps_due
from heelwise.walk.troubles import valve_trouble_prompt
from heelwise.walk.valve_steps import settled, valve_prompt

Serve = Callable[[Valve, Position | None], Prompt]


def go_round(
    scene: Scene,
    phase: Phase,
    plan: Plan,
    needy: Collection[Valve],
    serve: Serve,
    go_on_here: Callable[[Valve], bool] = lambda valve: True,
) -> Prompt:
    """The next prompt of a round; `needy` are the valves that still need something.

    Valves already begun at this very place come first (those `go_on_here` agrees to), then
    those that belong to it, in the plan's order; then the crank is turned on. A valve without
    its margin here is never served, so it is met at a later position.
    """
    here = scene.position_here(plan)
    # A valve whose trouble was put off waits until nothing else is left to do.
    needy = [v for v in needy if not scene.state.valve(v).open_troubles] or needy

    def serve_or_mend(valve: Valve, at: Position | None) -> Prompt:
        return valve_trouble_prompt(scene, valve, phase) or serve(valve, at)

    for valve in sorted(needy):
        if _begun_here(scene, valve) and scene.on_heel(valve) and go_on_here(valve):
            return serve_or_mend(valve, here)
    placed = [p.valve for p in placed_at(here)]
    if phase == "fit" and works_meanwhile(scene):
        placed += free_here(scene)
    mine = [valve for valve in placed if valve in needy and scene.on_heel(valve)]
    if here is not None and mine:
        due = steps_due(scene, scene.build.steps(phase, "position"), scene.state.arrived)
        if due is not None:
            return step_prompt(scene, due, None, here, scene.crank_number)
        return serve_or_mend(mine[0], here)
    return turn_prompt(scene, phase, scene.next_position(plan, needy))


def _begun_here(scene: Scene, valve: Valve) -> bool:
    valve_state = scene.state.valve(valve)
    put_off = valve_state.loosened_for in ("come back later", "trial over")
    return valve_state.touched > scene.state.arrived and not put_off


def fit_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of Fit: every valve read with its own pushrod; None when all are settled."""
    state = scene.state
    needy = [v for v in state.valves if not settled(scene, v)]
    if not needy:
        return None
    later = [v for v in needy if state.valve(v).loosened_for == "come back later"]
    first = [v for v in needy if v not in later] or later

    def serve(valve: Valve, position: Position | None) -> Prompt:
        return valve_prompt(scene, valve, "fit", position)

    prompt = go_round(scene, "fit", scene.plan, first, serve)
    return counted_off(scene, prompt, "valve", len(state.valves) - len(needy))


def counted_off(scene: Scene, prompt: Prompt, what: str, done: int) -> Prompt:
    """A prompt with how far its round is: "valve 3 of 16, position 2 of 5"."""
    total = len(scene.state.valves)
    here = scene.position_here(scene.plan)
    place = f", position {here.number} of {len(scene.plan.positions)}" if here else ""
    progress = f"{what} {min(done + 1, total)} of {total}{place}"
    return replace(prompt, progress=progress, done=done, total=total)
