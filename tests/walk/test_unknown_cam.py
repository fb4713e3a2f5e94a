"""A cam that is not known: one cylinder at a time, or by eye; no margin is made up."""

import pytest

from heelwise.documents.entries import Crank, Proved, Read
from heelwise.documents.setup import Setup
from heelwise.valvetrain.engine import make_engine
from heelwise.walk.build import by_eye_plan
from heelwise.walk.scene import UNKNOWN_CAM
from tests.walk.driving import Drive, changed_setup


def _without_cam(card: str) -> Drive:
    raw = changed_setup(card).to_toml_dict()
    raw["cam"] = {"known": False}
    return Drive(card, 1, planted=(), setup=Setup.model_validate(raw))


@pytest.mark.parametrize("answer", ["1", "2"])
def test_a_walk_without_a_cam_card_comes_to_its_end(answer: str) -> None:
    drive = _without_cam("i4-1342")
    assert drive.prompt.id == UNKNOWN_CAM
    drive.step(answer)
    drive.to_the_end()
    assert all(o.proved for o in drive.outcome)
    readings = [e.body for e in drive.kept if isinstance(e.body, Read | Proved)]
    assert readings
    assert {r.margin_deg for r in readings} == {None}


def test_by_eye_the_intake_is_set_as_its_exhaust_opens() -> None:
    drive = _without_cam("i4-1342")
    drive.step("2")
    drive.until(lambda p: p.records == "count" and p.phase == "fit")
    valve, here = drive.prompt.valve, drive.walker.state.crank
    assert valve is not None
    assert here is not None
    assert isinstance(here.body, Crank)
    signs = {
        "I": f"{valve.cylinder}E just begins to open",
        "E": f"{valve.cylinder}I is almost closed",
    }
    assert here.body.seen == signs[valve.kind.value]


def test_the_order_by_eye_worked_by_hand_for_1342() -> None:
    """Even firing, 180° apart. Exhaust n opens 115° after its firing TDC, intake shuts at 585°."""
    plan = by_eye_plan(make_engine([1, 3, 4, 2]))
    worked = [
        (45.0, "3E"),  # 180 + 585 - 720
        (115.0, "1I"),
        (225.0, "4E"),  # 360 + 585 - 720
        (295.0, "3I"),
        (405.0, "2E"),  # 540 + 585 - 720
        (475.0, "4I"),
        (585.0, "1E"),
        (655.0, "2I"),
    ]
    assert [(p.crank_deg, str(p.valves[0].valve)) for p in plan.positions] == worked
