"""A blind hole against its bolt: what is to spare, how deep it holds, and a bolt that bottoms."""

import pytest

from heelwise.walk.prompts import Refused
from tests.walk.driving import Drive, no_faults


def _at_reach(depth: str) -> Drive:
    drive = no_faults()
    drive.until(lambda p: p.id == "through-bolts")
    drive.step("2")
    assert drive.prompt.records == "hole_depth"
    drive.step(depth)
    assert drive.prompt.records == "bolt_reach"
    return drive


def test_what_is_to_spare_and_how_deep_it_holds_is_told() -> None:
    drive = _at_reach("31 mm")
    reply = drive.prompt.reply("24 mm", (), drive.clock.now())
    for figure in ("7.00 mm", "24.00 mm", "3.0 bolt diameters", "19 threads"):
        assert figure in str(reply.text), reply.text  # M8x1.25


def test_a_bolt_that_bottoms_is_refused() -> None:
    drive = _at_reach("24 mm")
    for reach in ("24 mm", "1 in"):
        with pytest.raises(Refused):
            drive.prompt.reply(reach, (), drive.clock.now())
    assert drive.prompt.option("s") is not None


def test_holes_that_go_through_are_not_measured() -> None:
    drive = no_faults()
    drive.until(lambda p: p.id == "through-bolts")
    drive.step("1")
    assert drive.prompt.records == "seat_turns"
