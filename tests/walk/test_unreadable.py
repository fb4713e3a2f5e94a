"""Half a character, as a console that isn't UTF-8 sends it, is refused wherever a text is kept."""

from collections.abc import Callable

import pytest

from heelwise.walk.prompts import Refused
from tests.walk.driving import Drive

HALF = "quarter\udcb0"


def test_half_a_character_is_refused_and_nothing_is_kept() -> None:
    walker = Drive("i4-1342", 1).walker
    known = len(walker.state.entries)
    ways: tuple[Callable[[], object], ...] = (
        lambda: walker.reply(HALF),
        lambda: walker.note(HALF),
        lambda: walker.hand_over(HALF),
        lambda: walker.cross_out(1, HALF),
    )
    for way in ways:
        with pytest.raises(Refused):
            way()
    assert len(walker.state.entries) == known
