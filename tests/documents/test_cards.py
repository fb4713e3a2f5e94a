"""Engine cards found by typing a part of what is known of the engine."""

from __future__ import annotations

from pathlib import Path

import pytest

from heelwise.documents.library import find_cards, matching, read_cards

CARDS = read_cards(find_cards().values())


def named(typed: str) -> list[str]:
    return matching(CARDS, typed)


def test_every_card_of_ours_can_be_read() -> None:
    assert {*CARDS} == {*find_cards()}


@pytest.mark.parametrize(
    "typed",
    ["1-8-4-3", "1 8 4 3 6 5 7 2", "1,8,4,3", "1843", "8-4-3-6-5", "7-2-1-8", "v8-18436572"],
)
def test_by_firing_order_from_any_cylinder_on(typed: str) -> None:
    assert named(typed) == ["v8-18436572"]


def test_by_words_in_any_order() -> None:
    assert named("inline six") == ["i6-153624", "i6-142635"]
    assert named("4 CYLINDERS flat") == ["flat4-1324", "flat4-1432"]
    assert set(named("8 cylinders")) > {"v8-18436572", "i8-16258374"}
    assert named("six-legged") == []
    assert named("1-4-8") == []


def test_two_digits_are_no_firing_order_of_two() -> None:
    twelve = "v12-1-12-5-8-3-10-6-7-2-11-4-9"
    assert named("12") == [twelve, "flat2-12"]
    assert named("1-12-5") == [twelve]


def test_a_card_that_cannot_be_read_is_passed_over(tmp_path: Path) -> None:
    (tmp_path / "x1.toml").write_text("format = 1\n[card\n")
    good = find_cards()["i4-1342"]
    assert [*read_cards([tmp_path / "x1.toml", good])] == ["i4-1342"]


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("i6", ["i6-153624"]),
        ("v8", ["v8-18436572", "v8-18726543"]),
        ("i4", ["i4-1342"]),
        ("v8 left", ["v8-18436572", "v8-18726543"]),
    ],
)
def test_the_common_orders_come_first(typed: str, first: list[str]) -> None:
    assert named(typed)[: len(first)] == first
    assert len(named(typed)) > len(first)
