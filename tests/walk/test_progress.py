"""How far it is told to be: counted from one, to all."""

from __future__ import annotations

import re

from heelwise.walk.buying import RECEIVE
from heelwise.walk.recount import LOOSEN
from heelwise.walk.walker import phase_of
from tests.walk.driving import no_faults


def test_pushrods_received_are_counted_from_one_to_all() -> None:
    drive = no_faults("i4-1342")
    drive.to_the_end()
    told = [p.progress for p in drive.prompts if p.id == RECEIVE]
    numbers = [list(map(int, re.findall(r"\d+", each))) for each in told]
    firsts, lasts = [each[0] for each in numbers], [each[-2] for each in numbers]
    assert firsts == [1, *(last + 1 for last in lasts[:-1])]
    assert lasts[-1] == 8


def test_steps_of_prepare_are_counted_from_one_to_all_without_a_gap() -> None:
    drive = no_faults("i4-1342")
    drive.until(lambda prompt: prompt.phase != "prepare")
    steps = [prompt for prompt in drive.prompts if prompt.phase == "prepare"]
    assert [prompt.done for prompt in steps] == list(range(len(steps)))
    assert steps[-1].total == len(steps)


def test_a_valve_of_the_sample_is_counted_again_before_sign_off_is_told() -> None:
    drive = no_faults("i4-1342")
    asked = drive.until(lambda prompt: prompt.id == LOOSEN)
    assert asked.phase == phase_of(drive.scene) == "prove"
    assert asked.option("t") is not None  # the way to say that something is wrong
