"""Builds answered by chance and with junk: an entry or a refusal comes of it, and no crash."""

from __future__ import annotations

import pytest

from heelwise.documents.library import find_procedures
from tests.faults.random_walking import RandomWalker


@pytest.mark.parametrize("name", sorted(find_procedures()))
def test_junk_in_a_third_of_all_answers_is_refused(name: str) -> None:
    walker = RandomWalker(name, "single", 3)
    walker.walk(most=120)
    assert walker.counts["refused"] > 5
    assert walker.counts["kept"] > 20


@pytest.mark.long
@pytest.mark.parametrize("name", sorted(find_procedures()))
@pytest.mark.parametrize("card", ["i2-360", "i4-1342", "v8-15426378"])
def test_junk_is_refused_on_larger_engines(name: str, card: str) -> None:
    for seed in range(5):
        RandomWalker(name, card, seed).walk()
