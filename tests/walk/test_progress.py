"""How far it is told to be: counted from one, to all."""

from __future__ import annotations

from heelwise.walk.buying import RECEIVE
from tests.walk.driving import no_faults


def test_pushrods_received_are_counted_from_one_to_all() -> None:
    drive = no_faults("i4-1342")
    drive.to_the_end()
    told = [prompt.progress for prompt in drive.prompts if prompt.id == RECEIVE]
    assert told == [f"pushrod {number} of 8" for number in range(1, 9)]


def test_steps_of_prepare_are_told_by_their_place_among_all() -> None:
    drive = no_faults("i4-1342")
    drive.until(lambda prompt: prompt.phase != "prepare")
    steps = [step.id for step in drive.build.steps("prepare", "build")]
    for prompt in drive.prompts:
        assert prompt.progress == f"step {steps.index(prompt.id) + 1} of {len(steps)}"
    assert drive.prompts[0].id == steps[0]
