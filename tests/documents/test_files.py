"""Hostile and broken files become faults with a line, quickly; good ones come through."""

import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelwise.documents.faults import Faulty
from heelwise.documents.files import parse_toml, read_toml
from heelwise.storage.files import REAL

MANY = 100_000


def _case(name: str, data: bytes, where: str, said: str) -> object:
    return pytest.param(data, where, said, id=name)


@pytest.mark.parametrize(
    ("data", "where", "said"),
    [
        _case("arrays", b"\na=" + b"[" * MANY, "file", "nested too deep"),
        _case("closed", b"a=" + b"[" * 900 + b"]" * 900, "file", "nested too deep"),
        _case("tables", b"a=" + b"{a=" * MANY, "file", "nested too deep"),
        _case("quotes", b"a='''x'''''\nb=" + b"[" * MANY, "file", "nested too deep"),
        _case("key", b".".join([b"a"] * 20_000) + b"=1", "line 1", "more than 20 parts"),
        _case("header", b"[" + b".".join([b"a"] * 20_000) + b"]", "line 1", "20 parts"),
        _case("spaced", b" . ".join([b'"a"'] * 20_000) + b"=1", "line 1", "20 parts"),
        _case("digits", b"a=1\nb=" + b"9" * 5_000, "line 2", "out of all proportion"),
        _case("int", b"[a]\nb=" + b"9" * 4_000, "a.b", "too many digits"),
        _case("hex", b"a=0x" + b"f" * MANY, "a", "too many digits"),
        _case("nan", b"[[a]]\nb=1\n[[a]]\nb=[1, nan]", "a 2.b 2", "not a number"),
        _case("inf", b"a=-inf", "a", "not a number"),
        _case("1e400", b"a=1e400", "a", "not a number"),
        _case("mark", b"\xef\xbb\xbfformat=1", "line 1", "byte-order mark"),
        _case("utf-16", "format=1".encode("utf-16"), "line 1", "UTF-16"),
        _case("utf-16 le", "format=1".encode("utf-16-le"), "line 1", "UTF-16"),
        _case("latin-1", b"a=1\nb='\xb7'", "line 2", "0xb7"),
        _case("nul", b"a='\0'", "line 1", "isn't TOML"),
        _case("cr", b"a=1\rb=2", "line 1", "own line"),
        _case("twice", b"a=1\na=2\nb=3", "line 2", "each key once"),
        _case("table twice", b"[a]\n[a]\n", "line 2", "each table once"),
        _case("no quotes", b"a = 7.400 in", "line 1", "in quotes"),
        _case("no equals", b"a 7", "line 1", "write key = value"),
        _case("date", b"a=2026-02-31", "line 1", "no such date"),
        _case("escapes", b'a="""' + b'\\"""' * MANY, "end of file", "close the text"),
        _case("backslashes", b'a="' + b"x\\" * MANY, "line 1", "backslash"),
        _case("apostrophes", b"'" * MANY, "line 1", "key"),
    ],
)
def test_what_can_not_be_read(data: bytes, where: str, said: str) -> None:
    with pytest.raises(Faulty) as refused:
        parse_toml(data, "x.toml")
    (fault,) = refused.value.faults
    assert fault.where == where
    assert said in str(fault)


def test_every_odd_number_is_told() -> None:
    with pytest.raises(Faulty) as refused:
        parse_toml(b"a=nan\nb=[inf, 1]\nc=1e999", "x.toml")
    assert [fault.where for fault in refused.value.faults] == ["a", "b 1", "c"]


def test_brackets_and_dots_in_strings_comments_and_decimals_count_for_nothing() -> None:
    brackets, dots = b"[" * 200, b"." * 200
    text = b"# " + brackets + dots + b'\na="' + brackets + dots + b"\\\"[\"\r\nb='''\n"
    text += brackets + b"'''\nc = [" + b"1.5, " * 100 + b"]\nd = " + b"[" * 49 + b"]" * 49
    assert list(parse_toml(text, "x.toml")) == ["a", "b", "c", "d"]


@given(st.text())
def test_any_text_is_a_document_or_a_fault(text: str) -> None:
    _document_or_fault(text.encode("utf-8", "surrogatepass"))


@given(st.text(alphabet="ab.=[]{}\"'\\\n#,1 \t", max_size=60))
def test_any_mix_of_tomls_own_characters_is_a_document_or_a_fault(text: str) -> None:
    _document_or_fault(text.encode())


def _document_or_fault(data: bytes) -> None:
    try:
        found: object = parse_toml(data, "x.toml")
    except Faulty as refused:
        found = refused.faults
    assert isinstance(found, dict) or found


def test_paths_that_are_no_files(tmp_path: Path) -> None:
    fifo = tmp_path / "fifo"
    os.mkfifo(fifo)
    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * 2_000_000)
    for path, said in (
        (large, "larger than 1 MiB"),
        (tmp_path / "none.toml", "not there"),
        (tmp_path / "none" / "none.toml", "not there"),
        (tmp_path, "isn't an ordinary file"),
        (fifo, "isn't an ordinary file"),
        (Path("/dev/zero"), "isn't an ordinary file"),
        (tmp_path / ("x" * 300), "too long"),
        (tmp_path / "x\0y", "no file can have that name"),
    ):
        with pytest.raises(Faulty, match=said):
            read_toml(path)


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.toml"
    path.write_text("format = 1")

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(REAL, "open", refuse)  # root may read anything
    with pytest.raises(Faulty, match="isn't allowed"):
        read_toml(path)
