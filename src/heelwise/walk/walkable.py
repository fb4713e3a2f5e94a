"""Whether a setup can be walked by a procedure: found out before the first question."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from heelwise.documents.faults import Fault, Faulty
from heelwise.valvetrain.ceiling import out_of_reach, out_of_reach_said
from heelwise.valvetrain.valves import Kind
from heelwise.walk.build import Build
from heelwise.walk.limits import gauge_limits
from heelwise.walk.scene import Scene
from heelwise.walk.standing import fold

Check = tuple[str, Callable[[], object], str]


def unwalkable(build: Build) -> tuple[Fault, ...]:
    """Find what would stop the walk later: a table that is missing, figures that leave no way.

    Args:
        build: A setup with a procedure that serves its mount and lifter.

    Returns:
        The faults; none where the walk can begin.
    """
    try:
        build.setup.require(*build.procedure.form.needs)
    except Faulty as faulty:
        return tuple(faulty.faults)
    scene = Scene(build, fold(build.engine.valves, ()))
    found = []
    for where, check, instead in _checks(scene):
        try:
            check()
        except ValueError as error:
            found.append(Fault(where, str(error), instead))
    return tuple(dict.fromkeys(found))


def _checks(scene: Scene) -> Iterator[Check]:
    yield "cam", lambda: scene.plan, "a shorter cam, or known = false"
    reads = scene.build.way.reads
    if reads == "turns":
        yield "lifter.travel_per_turn", lambda: scene.travel, "give it, or rocker.thread"
        window = "least_turns and most_turns, or the preload"
        yield "lifter", lambda: scene.window, window
        travel = "the plunger's whole travel from the sheet; check the window and the thread"
        yield "lifter.plunger_travel", lambda: _must_be_in_reach(scene), travel
        return
    where = "lash" if reads == "lash" else "lifter"
    for kind in Kind:
        valve = next(v for v in scene.build.engine.valves if v.kind is kind)
        yield where, lambda valve=valve: gauge_limits(scene, valve), "check its figures"  # type: ignore[misc]


def _must_be_in_reach(scene: Scene) -> None:
    if out_of_reach(scene.window, scene.ceiling):
        raise ValueError(out_of_reach_said(scene.window, scene.ceiling))
