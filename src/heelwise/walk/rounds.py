"""Going round the crank: serve the valves that are on their heel here, then turn on."""

from __future__ import annotations

from collections.abc import Callable, Collection

from heelwise.documents.entries import Phase
from heelwise.valvetrain.positions import Plan, Position
from heelwise.valvetrain.valves import Valve
from heelwise.walk.prompts import Prompt
from heelwise.walk.scene import Scene, placed_at
from heelwise.walk.steps import step_prompt, steps_due
from heelwise.walk.turning import turn_prompt

Serve = Callable[[Valve, Position | None], Prompt]


def go_round(
    scene: Scene,
    phase: Phase,
    plan: Plan,
    needy: Collection[Valve],
    serve: Serve,
    go_on_here: Callable[[Valve], bool] = lambda valve: True,
) -> Prompt:
    """The next prompt of a round.

    Valves already begun at this very place come first, then those that belong to
    it, in the plan's order; then the crank is turned on. A valve without its
    margin here is never served, so it is met at a later position.

    Args:
        scene: The moment of the build; the crank's place is known.
        phase: The phase the round belongs to.
        plan: The positions.
        needy: The valves that still need something; not empty.
        serve: Gives the prompt for one valve.
        go_on_here: Whether a valve begun at this place is gone on with here.
    """
    here = scene.position_here(plan)
    begun = [
        v for v in sorted(needy) if _begun_here(scene, v) and scene.on_heel(v) and go_on_here(v)
    ]
    if begun:
        return serve(begun[0], here)
    mine = [p.valve for p in placed_at(here) if p.valve in needy and scene.on_heel(p.valve)]
    if here is not None and mine:
        due = _position_step(scene, phase, here)
        return due if due is not None else serve(mine[0], here)
    target = scene.next_position(plan, needy)
    assert target is not None, "every valve belongs to a position"
    return turn_prompt(scene, phase, target)


def _begun_here(scene: Scene, valve: Valve) -> bool:
    """Whether the valve was touched since the crank came to this place, and not put off."""
    one = scene.standing.valve(valve)
    arrived = scene.standing.crank.number if scene.standing.crank else 0
    return one.touched > arrived and one.loosened_for not in ("come back later", "trial over")


def _position_step(scene: Scene, phase: Phase, position: Position) -> Prompt | None:
    """The first step asked once at each position, if one is still due here."""
    arrived = scene.standing.crank.number if scene.standing.crank else 0
    due = steps_due(scene, scene.build.steps(phase, "position"), arrived)
    if due is None:
        return None
    return step_prompt(scene, due, None, position, scene.crank_number)
