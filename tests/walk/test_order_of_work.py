"""The order of work can be chosen, and changed where the crank is turned."""

from __future__ import annotations

import pytest

from heelwise.valvetrain.positions import EACH, FEWEST
from heelwise.walk.crank import ANOTHER_ORDER, TURN
from heelwise.walk.scene import ORDER_OF_WORK
from heelwise.walk.trials import trial_valves
from tests.walk.driving import Drive


@pytest.mark.parametrize("phase", ["trial", "fit"])
def test_another_order_is_chosen_at_a_turn_and_walked_to_the_end(phase: str) -> None:
    drive = Drive("v8-15426378", 2, planted=())
    drive.until(lambda p: p.id == TURN and p.phase == phase)
    assert drive.scene.plan.method == FEWEST
    tried = trial_valves(drive.scene)
    drive.step(ANOTHER_ORDER.key)
    assert drive.prompt.id == ORDER_OF_WORK
    assert len(drive.prompt.facts) >= len(drive.prompt.options) >= 2
    drive.step("2")
    assert drive.scene.plan.method == EACH
    assert trial_valves(drive.scene) == tried
    drive.to_the_end()
