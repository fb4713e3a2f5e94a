"""A small record cut at every byte, with every bit flipped, or copied with other line ends."""

from __future__ import annotations

from pathlib import Path

import pytest

from heelwise.commands.main import main
from heelwise.documents.entries import Recovered
from heelwise.documents.faults import Faulty
from heelwise.documents.record import Record, open_record, read_record, record_faults, record_of
from heelwise.session import Session, open_session
from heelwise.storage.seals import scan, seal_line
from tests.faults.small_records import BODIES, small, small_bytes
from tests.storage.records import sealed

PATH = Path("small.toml")
SEAL = len(seal_line("0" * 64))


def ends() -> list[int]:
    """The offset after each seal."""
    return [block.end for block in scan(small_bytes()).blocks]


def read(data: bytes) -> Record:
    return record_of(data, scan(data), PATH)


def test_the_record_is_what_was_kept() -> None:
    record = read(small_bytes())
    assert [entry.body for entry in record.entries[1:]] == list(BODIES)
    assert len(small_bytes()) < 5000


def test_cut_at_every_byte_it_gives_its_last_sealed_entry() -> None:
    data = small_bytes()
    whole = read(data)
    for cut in range(ends()[0], len(data)):
        # The last seal's closing line end is no part of it.
        sealed = sum(end <= cut or end - 1 == cut for end in ends())
        found = read(data[:cut])
        assert found.entries == whole.entries[:sealed]
        assert found.torn == (cut not in (*ends(), *(end - 1 for end in ends())))


def test_cut_before_its_first_seal_it_is_no_record_to_go_on_with() -> None:
    data = small_bytes()
    for cut in range(0, ends()[0] - 1, 7):
        with pytest.raises(Faulty) as told:
            read(data[:cut])
        assert told.value.faults[0].where in ("file", "entry 1")


def test_cut_within_its_head_it_is_a_damaged_record_and_no_setup(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data, path = small_bytes(), tmp_path / "small.toml"
    begins = data.index(b"\n[engine]")
    for cut in (begins, data.index(b"\n[cam]"), data.index(b"\n[build]"), ends()[0] - 80):
        path.write_bytes(data[:cut])
        assert main(["check", str(path)]) == 1
        assert "entry 1" in capsys.readouterr().err
        assert main([str(path), "--plain"]) == 1


def test_a_byte_that_is_not_text_in_a_sealed_entry_is_a_fault() -> None:
    data = small_bytes()
    bodies = [data[block.start : block.end - SEAL] for block in scan(data).blocks]
    bodies[-1] = bodies[-1].replace(b"photograph", b"photo\xff")
    with pytest.raises(Faulty):
        read(sealed(bodies))


def test_reading_a_cut_record_changes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data, path = small_bytes(), tmp_path / "small.toml"
    for cut in range(ends()[-2] + 1, len(data) - 1, 23):
        path.write_bytes(data[:cut])
        read_record(path)
        assert [fault.where for fault in record_faults(read_record(path))] == ["entry 4"]
        assert main(["check", str(path)]) == 1
        assert "entry 4: it was cut short" in capsys.readouterr().err
        assert main(["sheet", str(path)]) == 0
        assert "the end is torn" in capsys.readouterr().err
        assert main(["pushrods", str(path)]) in (0, 1)
        assert path.read_bytes() == data[:cut]
        assert [p.name for p in tmp_path.iterdir()] == ["small.toml"]


def test_opening_a_cut_record_for_work_sets_the_rest_aside_and_enters_it(tmp_path: Path) -> None:
    data = small_bytes()
    for cut in range(ends()[-2] + 1, len(data) - 1):
        folder = tmp_path / str(cut)
        folder.mkdir()
        path = folder / "small.toml"
        path.write_bytes(data[:cut])
        open_session(path).close()
        kept = path.read_bytes()
        assert kept.startswith(data[: ends()[-2]])
        assert (folder / "small.toml.torn-1").read_bytes() == data[ends()[-2] : cut]
        entries = read_record(path).entries
        assert [entry.body.kind for entry in entries[-2:]] == ["recovered", "resumed"]
        body = entries[-2].body
        assert isinstance(body, Recovered)
        assert (body.bytes_set_aside, body.aside) == (cut - ends()[-2], "small.toml.torn-1")
        assert record_faults(read_record(path)) == []
        assert [p.name for p in folder.glob("*.toml")] == ["small.toml"]


def test_a_torn_end_set_aside_by_a_killed_program_is_entered_by_the_next(tmp_path: Path) -> None:
    path = tmp_path / "small.toml"
    path.write_bytes(small_bytes()[:-30])
    for _ in range(2):
        open_record(path).close()  # as far as a program came that was killed before it could enter
    path.write_bytes(path.read_bytes() + b"\n[[entry]]\nnumber = 4\n")
    with Session(open_record(path)) as sitting:
        sitting.resume()
        bodies = [entry.body for entry in sitting.record.entries[3:]]
    assert [body.kind for body in bodies] == ["recovered", "recovered", "resumed"]
    asides = [body.aside for body in bodies if isinstance(body, Recovered)]
    assert asides == ["small.toml.torn-1", "small.toml.torn-2"]
    with Session(open_record(path)) as sitting:
        sitting.resume()
        assert [e.body.kind for e in sitting.record.entries[6:]] == ["resumed"]


def told(data: bytes) -> tuple[str, Record | None]:
    """Where the first fault is, or the record."""
    try:
        return "", read(data)
    except Faulty as faulty:
        return faulty.faults[0].where, None


def number_at(place: int) -> int:
    return next(number for number, end in enumerate(ends(), start=1) if place < end)


def test_every_flipped_bit_is_found_and_named() -> None:
    data = small_bytes()
    last_seal = data.rindex(b"\nseal = ")
    for place in range(len(data)):
        for bit in range(8):
            flipped = bytearray(data)
            flipped[place] ^= 1 << bit
            named, record = told(bytes(flipped))
            if record is None:
                newer = place == len("format = ") and named == "format"
                assert newer or named == f"entry {number_at(place)}", (place, bit)
            else:
                # A last seal line that is no seal line any more is what a cut leaves.
                assert place >= last_seal, (place, bit)
                assert record.torn
                assert len(record.entries) == 3


def test_a_flipped_bit_is_told_and_the_record_left_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data, path = small_bytes(), tmp_path / "small.toml"
    for place in range(5, len(data) - 80, 97):
        flipped = bytearray(data)
        flipped[place] ^= 1
        path.write_bytes(flipped)
        named = f"entry {number_at(place)}: "
        for words in (["check"], ["sheet"], ["pushrods"]):
            assert main([*words, str(path)]) == 1
            assert named in capsys.readouterr().err
        with pytest.raises(Faulty, match=named):
            open_session(path)
        assert path.read_bytes() == flipped


def test_a_copy_with_other_line_ends_is_the_same_record(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "small.toml"
    small(path).close()
    whole = read_record(path)
    capsys.readouterr()
    assert main(["sheet", str(path)]) == 0
    laid_out = capsys.readouterr().out
    crlf = path.read_bytes().replace(b"\n", b"\r\n")
    path.write_bytes(crlf)
    assert read_record(path) == whole
    assert read_record(path).last_seal == whole.last_seal
    assert main(["check", str(path)]) == 0
    capsys.readouterr()
    assert main(["sheet", str(path)]) == 0
    assert capsys.readouterr().out == laid_out
    assert path.read_bytes() == crlf
    open_session(path).close()
    assert path.read_bytes().startswith(crlf)
    assert record_faults(read_record(path)) == []
    assert read_record(path).entries[:4] == whole.entries
