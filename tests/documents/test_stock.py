"""What is on hand: a length, or so many of one."""

import pytest

from heelwise.documents.fields import on_hand
from heelwise.documents.setup_lifters import PushrodsTable

INCH = 25.4


def test_so_many_of_a_length() -> None:
    mm, count = on_hand("8 of 6.850 in")
    assert mm == pytest.approx(6.850 * INCH)
    assert count == 8
    assert on_hand("174 mm") == (174.0, None)


def test_the_same_length_twice_adds_up_and_is_free_where_it_once_stands_alone() -> None:
    texts = ["2 of 174 mm", "3 of 174 mm", "4 of 175 mm", "175 mm", "176 mm", "0 of 177 mm"]
    pushrods = PushrodsTable(intake="174 mm", exhaust="174 mm", on_hand=texts)
    assert pushrods.stock() == {174.0: 5, 177.0: 0}
