"""What a procedure's defaults leave out of the walk, and what the sheet says of it."""

import pytest

from heelwise.documents.entries import Received
from heelwise.walk.buying import RECEIVE, RECEIVE_ALL
from tests.walk.driving import Drive, no_faults


def _received(drive: Drive) -> list[Received]:
    return [e.body for e in drive.kept if isinstance(e.body, Received)]


@pytest.mark.parametrize(
    ("rule", "prompts"), [("every one", 8), ("one of each length", None), ("none", 1)]
)
def test_new_pushrods_are_measured_as_the_procedure_wants(rule: str, prompts: int | None) -> None:
    drive = no_faults().following(receive=rule)
    drive.to_the_end()
    asked = [p for p in drive.prompts if p.id in (RECEIVE, RECEIVE_ALL)]
    lengths = {body.ordered for body in _received(drive)}
    assert len(asked) == (len(lengths) if prompts is None else prompts)
    assert len(_received(drive)) == 8
    measured = sum(body.measured for body in _received(drive))
    assert measured == {"every one": 8, "none": 0}.get(rule, len(lengths))
    assert len(drive.build.procedure.omissions) == (rule != "every one")


@pytest.mark.parametrize(("rule", "counted"), [("none", 0), ("one a bank", 1), ("all", 8)])
def test_the_recount_is_as_large_as_the_procedure_wants(rule: str, counted: int) -> None:
    drive = no_faults().following(recount=rule)
    drive.to_the_end()
    asked = [p for p in drive.prompts if p.id == "walk/recount-loosen"]
    assert len(asked) == counted
    assert bool(drive.build.procedure.omissions) is (rule == "none")
