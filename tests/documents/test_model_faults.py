"""pydantic's findings in plain words."""

from typing import Annotated, Literal

import pytest
from pydantic import BaseModel, Field, ValidationError

from heelwise.documents.faults import did_you_mean, faults_of
from heelwise.documents.fields import Table


class _Inner(Table):
    name: Annotated[str, Field(min_length=2, max_length=4, pattern="^a")]
    other: Literal["red", "or blue"] = "red"


class _Outer(Table):
    number: Annotated[int, Field(ge=1, le=9)]
    inner: list[_Inner]
    is_: bool = Field(default=True, alias="is")


def _said(model: type[BaseModel], raw: dict[str, object], where: str = "") -> list[str]:
    with pytest.raises(ValidationError) as refused:
        model.model_validate(raw)
    return [str(fault) for fault in faults_of(refused.value, where, model)]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"number": 0}, "number: is 0; write at least 1"),
        ({"number": 10}, "number: is 10; write at most 9"),
        ({"number": 1.5}, "number: is 1.5; write a whole number"),
        ({"number": "1"}, 'number: "1" is text, not a number; write a number without quotes'),
        ({"number": True}, "number: is true; write a whole number"),
        ({"is": "yes"}, 'is: is "yes"; write true or false'),
        ({"iss": True}, "iss: there is no such key; did you mean is?"),
        ({"zzzz": 1}, "zzzz: there is no such key; the keys here are inner, is, number"),
        ({"inner": {}}, "inner: is a table; write an array: [[name]]"),
        ({"inner": [1]}, "inner 1: is 1; write a table"),
        ({"inner": [{"name": "aa"}, {}]}, "inner 2.name: is missing; add it"),
        ({"inner": [{"name": "a"}]}, "inner 1.name: is empty or too short; write at least 2"),
        ({"inner": [{"name": "aaaaa"}]}, "inner 1.name: is too long; write at most 4 characters"),
        ({"inner": [{"name": "bb"}]}, "inner 1.name: can't be written so; it must match ^a"),
        ({"inner": [{"name": 7}]}, "inner 1.name: is 7; write text in quotes"),
        ({"inner": [{"name": "aa", "nam": 1}]}, "inner 1.nam: there is no such key; did you mean"),
        ({"inner": [{"name": "aa", "other": "Re"}]}, 'inner 1.other: is "Re"; did you mean red'),
    ],
)  # fmt: skip
def test_in_words(change: dict[str, object], said: str) -> None:
    whole: dict[str, object] = {"number": 1, "inner": [{"name": "aa"}]}
    (fault,) = _said(_Outer, whole | change)
    assert fault.startswith(said)


def test_what_stands_before_comes_before() -> None:
    assert _said(_Outer, {"inner": []}, "entry 3") == ["entry 3.number: is missing; add it"]
    with pytest.raises(ValidationError) as refused:
        _Outer.model_validate(3)
    assert [fault.where for fault in faults_of(refused.value, "build")] == ["build"]
    assert [fault.where for fault in faults_of(refused.value)] == ["file"]


def test_a_long_list_of_words_is_cut() -> None:
    words = [f"w{n:02}" for n in range(40)]
    assert did_you_mean("zzz", words, "there are").endswith("w14 and 25 more")
    assert did_you_mean("zzz", []) == "leave it out"
    assert did_you_mean("x" * 2_000_000, words).startswith("the keys here are w00")
