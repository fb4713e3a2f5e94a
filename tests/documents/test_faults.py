"""Faults: one line each, plain, in the order of the document."""

from hypothesis import given
from hypothesis import strategies as st

from heelwise.documents.faults import Fault, Faulty, in_order, quoted, where_text


def test_a_fault_is_one_line_with_file_place_problem_and_remedy() -> None:
    faulty = Faulty("a.toml", [Fault("lifter.kind", 'is "hydro"', "write a kind")])
    assert str(faulty) == 'a.toml: lifter.kind: is "hydro"; write a kind'


@given(st.text(), st.text(), st.text())
def test_whatever_it_quotes_it_stays_one_plain_line(file: str, where: str, problem: str) -> None:
    faulty = Faulty(file, [Fault(where, problem, "x"), Fault(where, problem, "y")])
    assert len(str(faulty).split("\n")) == 2
    assert "\x1b" not in str(faulty)


def test_places_are_counted_from_one() -> None:
    assert where_text(("reading", 2, "turns")) == "reading 3.turns"
    assert where_text(("engine", "firing_order", 0)) == "engine.firing_order 1"
    assert where_text(()) == "file"


def test_values_are_shown_as_toml_writes_them_and_cut() -> None:
    values = (True, 7.5, [1], {"a": 1}, "x" * 2_000_000, 10**5000)
    shown = [quoted(value) for value in values]
    assert shown[:4] == ["true", "7.5", "an array", "a table"]
    assert len(shown[4]) == 42
    assert shown[5] == "a huge number"


def test_faults_follow_their_document_and_are_told_once() -> None:
    late, early = Fault("step 10.say", "p", "i"), Fault("step 2.say", "p", "i")
    head, unknown = Fault("procedure.title", "p", "i"), Fault("zzz", "p", "i")
    ordered = in_order([unknown, late, early, head, early], ["format", "procedure", "step"])
    assert ordered == [head, early, late, unknown]


def test_of_very_many_faults_the_first_are_told_and_the_rest_counted() -> None:
    ordered = in_order([Fault(f"step {n}.say", "p", "i") for n in range(5_000)], ["step"])
    assert len(ordered) == 201
    assert ordered[0].where == "step 0.say"
    assert str(ordered[-1]) == "file: has 4,800 more faults; fix these first"
