"""The sheet in each form, of a record signed off and of one under way."""

import csv
import io
import json
import re
import tomllib
import xml.etree.ElementTree as ET
from html.parser import HTMLParser
from pathlib import Path

import pytest

from heelwise.documents.entries import CrossedOut
from heelwise.documents.record import Record, read_record
from heelwise.sheet.forms import FORMULA_SIGNS, Form, guarded, sheet
from heelwise.sheet.text import escaped
from tests.sheet.records import FORMS, HOSTILE, begun, hostile

VOID = {"meta", "br", "img", "link"}
PAGE_TAGS = "html head meta title style body h1 h2 h3 p table thead tbody tr th td div span section"
OTHER_TAGS = "ul li s details summary svg rect circle polygon line path text"
TAGS = {*PAGE_TAGS.split(), *OTHER_TAGS.split()}
POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
CONTROLS = re.compile(
    "[\x00-\x09\x0b\x0c\x0e-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff\ud800-\udfff]"
)


class Page(HTMLParser):
    """Reads a page: its tags balance, nothing runs, nothing is fetched."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.policy = ""
        self.struck: list[str] = []
        self.texts: list[str] = []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag in TAGS, tag
        for name, value in attrs:
            assert not name.startswith("on"), name
            assert name not in ("href", "src", "style", "action", "xlink:href")
            assert "url(" not in (value or "")
        found = dict(attrs)
        if found.get("http-equiv") == "Content-Security-Policy":
            assert self.open == ["html", "head"]
            self.policy = found.get("content") or ""
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.texts.append(data)
        if self.open and self.open[-1] == "s":
            self.struck.append(data)


@pytest.mark.parametrize("form", FORMS)
def test_each_form_names_every_valve_and_the_last_seal(signed: Record, form: Form) -> None:
    text = sheet(signed, form)
    assert signed.last_seal in text
    for valve in signed.head.setup.make_engine().valves:
        assert str(valve) in text


@pytest.mark.parametrize("form", FORMS)
def test_a_sheet_never_touches_the_record(going: Record, form: Form) -> None:
    folder = going.file.parent
    before = {p.name: (p.read_bytes(), p.stat().st_mtime_ns) for p in folder.iterdir()}
    sheet(read_record(going.file), form)
    assert {p.name: (p.read_bytes(), p.stat().st_mtime_ns) for p in folder.iterdir()} == before


def crossing(record: Record) -> tuple[int, int]:
    entry = next(e for entry in record.entries if (e := entry.when(CrossedOut)))
    return entry.body.of, entry.number


def test_text(signed: Record, going: Record) -> None:
    text = sheet(signed, "text")
    of, by = crossing(signed)
    assert re.search(rf"^ *{of} .* \[CROSSED OUT BY ENTRY {by}\] ", text, re.M)
    assert re.search(r"^● 1I +[\d /]+ turns? +─+\[═*[○◐]═*\]─+!─* +inside.* clicked +7", text, re.M)
    assert max(map(len, text.splitlines())) <= 100
    assert "STILL TO DO" in sheet(going, "text")


def test_markdown_tables_are_whole(signed: Record) -> None:
    lines = sheet(signed, "markdown").splitlines()
    assert lines[0] == "## block-12"
    width = 0
    for line in lines:
        if not line.startswith("|"):
            width = 0
            continue
        cells = len(re.findall(r"(?<!\\)\|", line))
        assert width in (0, cells), line
        width = cells
    of, by = crossing(signed)
    (struck,) = [line for line in lines if line.startswith(f"| {of} | ")]
    assert re.search(rf"\| ~~.*~~ \| read \| crossed out by entry {by} \|$", struck)


def test_markdown_escapes() -> None:
    assert escaped("a|b *c* _d_ `e` [f](g) <h> & i@j") == (
        r"a\|b \*c\* \_d\_ \`e\` \[f\](g) &lt;h&gt; &amp; i&#64;j"
    )
    assert escaped("1. x") == r"1\. x"
    assert escaped("- x") == r"\- x"
    assert escaped("7.375 in") == "7.375 in"
    assert "://" not in escaped("https://e.example")


def test_html_is_one_safe_page(signed: Record, going: Record) -> None:
    for record in (signed, going):
        text = sheet(record, "html")
        page = Page(text)
        assert page.policy == POLICY
        for svg in re.findall(r"<svg.*?</svg>", text, re.S):
            ET.fromstring(svg)
    text = sheet(signed, "html")
    page = Page(text)
    assert text.count("<svg") == 2 + 16
    assert any("inside" in struck for struck in page.struck)
    assert f"[crossed out by entry {crossing(signed)[1]}]" in page.texts


@pytest.mark.parametrize("form", ["text", "markdown", "html", "csv"])
def test_the_result_comes_first_and_checksums_last(signed: Record, form: Form) -> None:
    text = sheet(signed, form)
    places = [text.index(part) for part in ("16 proved", "8 cylinders", signed.last_seal)]
    assert places == sorted(places)
    digest = signed.head.build.procedure_digest
    assert text.count(signed.last_seal) == text.count(digest) == 1
    assert text.index(digest) > text.index(f"{signed.entries[-1].number}")


def test_csv_tables(signed: Record) -> None:
    rows = list(csv.reader(io.StringIO(sheet(signed, "csv"), newline="")))
    start = next(n for n, row in enumerate(rows) if row[:2] == ["bank", "valve"])
    valves = [dict(zip(rows[start], row, strict=True)) for row in rows[start + 1 : start + 17]]
    front_to_rear = "1I 1E 2I 2E 3I 3E 4I 4E 5E 5I 6E 6I 7E 7I 8E 8I"
    assert " ".join(v["valve"] for v in valves) == front_to_rear
    assert all(0.75 <= float(v["count decimal"]) <= 1.25 for v in valves)
    heads = ["entry", "at", "by", "what", "kind", "does not count", "valves"]
    start = rows.index(heads)
    entries = rows[start + 1 : start + 1 + len(signed.entries)]
    assert [row[heads.index("kind")] for row in entries] == [e.body.kind for e in signed.entries]


def test_guarded_cells() -> None:
    for sign in FORMULA_SIGNS:
        assert guarded(sign + "1") == f"'{sign}1"
    assert guarded("  =1") == "'  =1"
    assert guarded("1-3/4") == "1-3/4"
    assert guarded("") == ""


def test_json_holds_the_whole_record(signed: Record) -> None:
    found = json.loads(sheet(signed, "json"))
    raw = tomllib.loads(signed.file.read_text(encoding="utf-8"))
    assert {"setup", "build", "entries", "signoff", "last_seal", "valves"} <= set(found)
    assert len(found["entries"]) == len(raw["entry"])
    for got, kept in zip(found["entries"], raw["entry"], strict=True):
        for key, value in kept.items():
            assert got[key] == (value.isoformat() if key == "at" else value)
        assert all(not isinstance(value, dict) for value in got.values())
    assert found["last_seal"] == raw["entry"][-1]["seal"]
    assert found["signoff"] == raw["signoff"]
    assert found["build"]["name"] == "block-12"
    assert found["build"]["begun"] == raw["build"]["begun"].isoformat()
    assert found["setup"]["engine"]["firing_order"] == raw["engine"]["firing_order"]
    of, _ = crossing(signed)
    assert of in found["does_not_count"]
    assert found["replay_faults"] == []


def test_json_valves(signed: Record, going: Record) -> None:
    done = json.loads(sheet(signed, "json"))
    assert len(done["valves"]) == 16
    assert all(v["proved"] is True for v in done["valves"])
    assert {v["verdict"] for v in done["valves"]} == {"inside"}
    assert all(0.75 <= v["turns"] <= 1.25 for v in done["valves"])
    half = json.loads(sheet(going, "json"))
    assert half["signoff"] == []
    assert len(half["valves"]) == 16
    assert sum(v["turns"] is not None for v in half["valves"]) == 5
    assert all(v["proved"] is False for v in half["valves"])
    assert [v["verdict"] for v in half["valves"] if v["turns"] is None] == [None] * 11


@pytest.mark.parametrize("place", range(len(HOSTILE)))
def test_hostile_text_in_every_form(folder: Path, place: int) -> None:
    record = read_record(hostile(folder, HOSTILE[place]))
    written = {form: sheet(record, form) for form in FORMS}
    for form, text in written.items():
        assert not CONTROLS.search(text), form
        assert ("\r" in text) is (form == "csv")
        text.encode()
    page = Page(written["html"])
    assert page.policy == POLICY
    assert "<script" not in written["html"].lower()
    assert "<script" not in written["markdown"].lower()
    assert "<img" not in written["markdown"]
    assert not re.search(r"(?<!\\)\]\(", written["markdown"])
    for row in csv.reader(io.StringIO(written["csv"], newline="")):
        assert not any(cell.strip(" \xa0").startswith(tuple(FORMULA_SIGNS)) for cell in row)
    found = json.loads(written["json"])
    assert found["entries"][5]["text"] == HOSTILE[place]


def test_a_single_and_a_v12_are_laid_out_in_every_form(folder: Path) -> None:
    for number, card in enumerate(("single", "v12-1-12-5-8-3-10-6-7-2-11-4-9")):
        inside = folder / str(number)
        inside.mkdir()
        with begun(inside, card) as record:
            for form in FORMS:
                text = sheet(record.as_record(), form)
                assert "1I" in text
                assert text.endswith("\n")
