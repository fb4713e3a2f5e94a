"""Every kind of entry is written, sealed, read again, checked and printed."""

import tomllib
import types
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelwise.documents import entries as e
from heelwise.documents.entry_base import Body, Entry, NotKnown, PhotoName, ReadBy, reads_of
from heelwise.documents.entry_text import (
    KINDS,
    entry_faults,
    entry_text,
    one_line_pair,
    parse_entry,
)
from heelwise.documents.faults import Faulty
from heelwise.documents.files import own_tables
from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import load_procedure
from heelwise.documents.record import begin_record, read_record, record_faults
from heelwise.rehearsal.scenario import setup_by
from heelwise.sheet.forms import sheet
from heelwise.valvetrain.engine import Valve
from tests.sheet.records import FORMS

AT = datetime(2031, 5, 4, 9, 0, tzinfo=UTC)
EXAMPLES = ("218.5 mm", "7/8", "1I")
"""A text for each way a text is read."""


def _example(annotation: Any, marks: tuple[object, ...] = ()) -> object:
    """A value that a key of an entry may have, made of its type."""
    marks = (*marks, *getattr(annotation, "__metadata__", ()))
    if hasattr(annotation, "__metadata__"):
        return _example(annotation.__origin__, marks)
    reader = next((mark.read for mark in marks if isinstance(mark, ReadBy)), None)
    if reader is not None and annotation is str:
        return next(text for text in EXAMPLES if _readable(reader, text))
    kind = get_origin(annotation)
    if kind is Literal:
        return get_args(annotation)[0]
    if kind is list:
        return [_example(get_args(annotation)[0])]
    if kind in (Union, types.UnionType):
        return _example(get_args(annotation)[0], marks)
    return {str: "plain words", int: 1, float: 1.0, bool: True}[annotation]


def _readable(reader: Any, text: str) -> bool:
    try:
        reader(text, ["1I"], 7)
    except ValueError:
        return False
    return True


def _body(kind: type[Body]) -> Any:
    fields = {
        key: _example(get_type_hints(kind, include_extras=True)[key])
        for key in kind.__struct_fields__
    }
    fixed = {"photo": "IMG_0042.JPG"} | ({"reading": "8 mm"} if kind is e.Measured else {})
    return kind(**{**fields, **{key: text for key, text in fixed.items() if key in fields}})


BODIES = [_body(kind) for kind in KINDS.values()]


@pytest.mark.parametrize("body", BODIES, ids=lambda body: str(body.kind))
def test_an_entry_comes_back_as_it_was(body: Any) -> None:
    entry = Entry(7, AT, "T1", body, (2, 5))
    (raw,) = tomllib.loads(entry_text(entry))["entry"]
    assert parse_entry(raw, 7, "r.toml") == entry


def test_every_kind_is_written_sealed_opened_again_checked_and_printed(tmp_path: Path) -> None:
    path = tmp_path / "r.toml"
    procedure = load_procedure(find_procedures()["bolt-down-rockers"])
    setup = setup_by("i4-1342", procedure)
    with begin_record(path, setup, procedure, "T1", AT) as record:
        for body in BODIES[1:]:
            record.keep(e.Draft(body), AT, "T1", [{"valve": "1I"}])
    read = read_record(path)
    assert [entry.body.kind for entry in read.entries] == ["begun", *(b.kind for b in BODIES[1:])]
    assert set(KINDS) == {entry.body.kind for entry in read.entries}
    assert record_faults(read_record(path)) == []
    for form in FORMS:
        assert sheet(read, form)


OLD = sorted((Path(__file__).parents[1] / "old_records").glob("*.toml"))


@pytest.mark.parametrize("path", OLD, ids=lambda path: path.stem)
def test_the_quick_reader_reads_as_the_parser_does(path: Path) -> None:
    data = path.read_bytes()
    assert own_tables(data) == tomllib.loads(data.decode())


@given(st.text(), st.floats(allow_nan=False, allow_infinity=False), st.lists(st.text()))
def test_the_quick_reader_reads_any_value_or_leaves_it_to_the_parser(
    text: str, number: float, texts: list[str]
) -> None:
    lines = [one_line_pair("a", text), one_line_pair("b", number), one_line_pair("c", texts)]
    document = "[[entry]]\n" + "\n".join(lines) + "\n"
    tables = own_tables(document.encode())
    assert tables is None or tables["entry"] == tomllib.loads(document)["entry"]


@pytest.mark.parametrize(
    "line",
    [
        *("a.b = 1", "a = nan", "a = NaN", "a = 1E400", "a = [Infinity]", "a = 1 2", "a = 01"),
        *("a = 1\na = 2", 'a = "x', "x", "[entry]\na = 1", "[a]\n[[a]]", "[b]]", "[[b]"),
    ],
)
def test_the_quick_reader_leaves_what_is_not_of_our_form(line: str) -> None:
    assert own_tables(f"[[entry]]\n{line}\n".encode()) is None


@pytest.mark.parametrize(
    ("keys", "where"),
    [
        ({"kind": "noted", "text": "x", "photo": "../x.jpg"}, "entry 7.photo"),
        ({"kind": "noted", "text": "x", "photo": "x"}, "entry 7.photo"),
        ({"kind": "proved apart", "valve": "1I", "outcome": "fine", "torque": "t", "at_deg": 0.0},
         "entry 7.outcome"),
        ({"kind": "drawn down", "valves": ["1I"], "stand": "s", "torque": "t", "at_deg": 720.0},
         "entry 7.at_deg"),
        ({"kind": "gauged", "valve": "1I"}, "entry 7.reading"),
        ({"text": "x"}, "entry 7.kind"),
        ({"kind": "paused", "holding": "x", "number": 8}, "entry 7.number"),
        ({"kind": "paused", "holding": "x", "rests_on": [7]}, "entry 7.rests_on"),
        ({"kind": "paused", "holding": "x", "by": ""}, "entry 7.by"),
        ({"kind": "paused", "holding": "x", "at": "noon"}, "entry 7.at"),
        ({"kind": "paused", "holding": "x", "at": "2031-05-04T09:00:00Z"}, "entry 7.at"),
    ],
)  # fmt: skip
def test_what_an_entry_may_not_say(keys: dict[str, object], where: str) -> None:
    raw = {"number": 7, "at": AT, "by": "T1", **keys}
    with pytest.raises(Faulty) as refused:
        parse_entry(raw, 7, "r.toml")
    assert where in [fault.where for fault in refused.value.faults]


@pytest.mark.parametrize(
    ("body", "key"),
    [
        (e.Felt(valve="9I", state="up"), "valve"),
        (e.Fitted(valve="1I", pushrod="218.5", phase="fit"), "pushrod"),
        (e.Measured(step="s", reading="7/8", what="length"), "reading"),
        (e.Ordered(valves=["1I", "1E"], pushrods=["218.5 mm"]), "pushrods"),
        (e.Ordered(valves=["1I"], pushrods=["long"]), "pushrods"),
        (e.CrossedOut(of=7, reason="x"), "of"),
        (e.NoClick(valve="1I", phase="fit", pushrod="218.5 mm", never_past_turns=2.0, turns="q"),
         "turns"),
        (e.Drawn(valves=["1I"], stand="1", torque="t", at_deg=0.0, on_lobe=["x"]), "on_lobe"),
    ],
)  # fmt: skip
def test_a_text_work_can_t_go_on_from_is_read_all_the_same(body: e.AnyBody, key: str) -> None:
    entry = Entry(7, AT, "T1", body)
    (raw,) = tomllib.loads(entry_text(entry))["entry"]
    assert parse_entry(raw, 7, "r.toml").body == body
    assert [f.where for f in entry_faults([entry], [Valve.parse("1I"), Valve.parse("1E")])] == [
        f"entry 7.{key}"
    ]


def test_what_this_version_doesn_t_know_is_kept_as_it_stands() -> None:
    raw = {"number": 7, "at": AT, "by": "T1", "kind": "weighed", "grams": 4.5}
    entry = parse_entry(raw, 7, "r.toml")
    assert entry.body == NotKnown(named="weighed")
    assert entry.unknown == {"grams": 4.5}
    known = parse_entry({**raw, "kind": "paused", "holding": "x"}, 7, "r.toml")
    assert (known.body.kind, known.unknown) == ("paused", {"grams": 4.5})


PLAIN_WORDS = {
    *("procedure", "procedure_digest", "program", "step", "answer", "said", "fills", "reason"),
    *("text", "photo", "holding", "aside", "to", "person", "seen", "rule", "stand", "what"),
    *("travel_from", "limits_from", "preload_from", "words", "cause"),
}
"""Keys whose text is only words: a new key is read by its type, or is named here."""
PLAIN_NUMBERS = {"position", "bytes_set_aside"}


@pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))
def test_every_text_and_number_of_an_entry_carries_how_it_is_read(kind: type[Body]) -> None:
    hints = get_type_hints(kind, include_extras=True)
    bare = set(kind.__struct_fields__) - set(reads_of(kind))
    texts = {key for key in bare if hints[key] in (str, str | None, list[str], PhotoName)}
    numbers = {key for key in bare if hints[key] in (int, int | None, list[int])}
    assert texts <= PLAIN_WORDS
    assert numbers <= PLAIN_NUMBERS
