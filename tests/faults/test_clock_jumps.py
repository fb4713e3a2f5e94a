"""The machine's clock jumps, forward and back, during a hold and between sittings."""

from __future__ import annotations

import random
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from heelwise.commands.records import check_file
from heelwise.documents.entries import Resumed
from heelwise.documents.record import open_record
from heelwise.session import Session
from heelwise.walk.walker import Clock
from tests.faults.walking import BEGAN, answered, begun

JUMPS = [timedelta(hours=1), timedelta(days=30), timedelta(days=3650)]
LONGEST_WAIT = timedelta(hours=3)


class JumpingClock(Clock):
    """A second goes by whenever it is looked at; it can be set to anything."""

    def __init__(self) -> None:
        self.at = BEGAN

    def now(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at

    def reach(self, until: datetime | None) -> None:
        self.at = max(self.at, until or self.at)


def walked(path: Path, clock: JumpingClock, chance: random.Random) -> bool:
    """One sitting with a jump in it; whether the build is signed off."""
    with Session(open_record(path), clock) as session:
        if chance.random() < 0.5:
            clock.at += chance.choice(JUMPS) * chance.choice([1, -1])
        session.resume()
        holds = 0
        for _ in range(chance.randint(5, 40)):
            if session.walker.closed:
                return True
            wait = session.walker.prompt.wait_until
            if wait is not None:
                holds += 1
                clock.at += chance.choice(JUMPS) * chance.choice([0, 1, -1])
                if clock.at >= BEGAN - timedelta(days=1):
                    assert wait - max(clock.at, session.record.entries[-1].at) <= LONGEST_WAIT
            answered(session)
    return False


@pytest.mark.parametrize("seed", range(6))
def test_a_build_is_signed_off_and_in_order_whatever_the_clock_does(
    seed: int, tmp_path: Path
) -> None:
    path, clock, chance = tmp_path / "block-1.toml", JumpingClock(), random.Random(seed)
    begun(path).close()
    for _ in range(200):
        if walked(path, clock, chance):
            break
    else:
        raise AssertionError("it never came to its end")
    assert check_file(path)[0] == []


def test_a_clock_set_back_by_years_is_entered_before_the_answer(tmp_path: Path) -> None:
    path, clock = tmp_path / "block-1.toml", JumpingClock()
    with Session(begun(path), clock) as session:
        for _ in range(6):
            answered(session)
        clock.at -= timedelta(days=3650)
        count = len(session.record.entries)
        answered(session)
        body = session.record.entries[count].body
        assert isinstance(body, Resumed)
        assert body.clock_went_back
    assert check_file(path)[0] == []
