"""The moment of a build: which position is next, and which phase it is in."""

from __future__ import annotations

from heelwise.valvetrain.positions import each_cylinder
from heelwise.walk.walker import phase_of
from tests.walk.driving import no_faults


def test_the_next_position_is_the_next_in_the_direction_of_rotation() -> None:
    drive = no_faults("v8-15426378")
    drive.until(lambda prompt: prompt.phase == "fit" and prompt.records == "count")
    scene = drive.scene
    at, plan = scene.crank_deg, each_cylinder(scene.build.engine, scene.build.cam)
    angles = [position.crank_deg for position in plan.positions]
    assert angles == [90.0 * number for number in range(8)]
    assert at in angles
    here = angles.index(at)
    for position in plan.positions:
        needy = [placed.valve for placed in position.valves]
        assert scene.next_position(plan, needy) == position
    # One already stood at is a whole cycle away, and not the next.
    found = scene.next_position(plan, scene.build.engine.valves)
    assert found.crank_deg == angles[(here + 1) % 8]
    behind = [p.valve for n in (here - 1, here) for p in plan.positions[n].valves]
    found = scene.next_position(plan, behind)
    assert found.crank_deg == angles[here - 1]


def test_the_phase_told_is_the_one_the_questions_are_of() -> None:
    drive = no_faults("i4-1342")
    phases: list[str] = []
    while not drive.walker.closed:
        told = phase_of(drive.scene)
        if told != (phases[-1] if phases else ""):
            phases.append(told)
        if drive.prompt.phase == "prepare" or drive.prompt.records in ("count", "proof"):
            assert told == drive.prompt.phase, drive.prompt
        drive.step()
    assert list(dict.fromkeys(phases)) == ["prepare", "trial", "fit", "prove", "sign off"]
    assert phase_of(drive.scene) == "sign off"
