"""Names, exports, drafts and the words of errors."""

import errno
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelwise.storage.errors import (
    AlreadyThere,
    BadName,
    NotKept,
    TooLarge,
    Unreadable,
    storage_errors,
    system_words,
)
from heelwise.storage.files import Files
from heelwise.storage.names import inside, safe_name
from heelwise.storage.whole_files import (
    DRAFT_CAP,
    keep_draft,
    read_draft,
    write_whole,
)
from tests.storage.failing_files import FailingFiles, HowLong


@pytest.mark.parametrize("name", ["block-1", "A", "0", "x" * 64, "console", "com10", "a--b-"])
def test_names_that_are_fit(name: str) -> None:
    assert safe_name(name) == name


@pytest.mark.parametrize(
    "name",
    [
        *("", "x" * 65, "-x", "a b", "a.b", "../a", "a/b", "a\\b", "é", "a\n", "a\0", "٣", "a_b"),
        *("con", "CON", "Aux", "nul", "prn", "com1", "COM9", "lpt0", "LPT5"),
    ],
)
def test_names_that_are_not(name: str) -> None:
    with pytest.raises(BadName):
        safe_name(name)


@given(st.text("aZ09-_./\\ é\0\n", max_size=70))
def test_a_name_is_fit_just_when_all_its_characters_are(text: str) -> None:
    fit = 1 <= len(text) <= 64 and set(text) <= set("aZ09-") and not text.startswith("-")
    if fit:
        assert safe_name(text) == text
    else:
        with pytest.raises(BadName):
            safe_name(text)


def test_paths_stay_in_their_folder(tmp_path: Path) -> None:
    assert inside(tmp_path, "block-1.toml") == tmp_path / "block-1.toml"
    (tmp_path / "link.toml").symlink_to(tmp_path.parent / "outside.toml")
    for name in ("../x.toml", "a/b.toml", "..", ".", "", "/etc/x", "c:x", "a\\b", "link.toml"):
        with pytest.raises(BadName):
            inside(tmp_path, name)


def test_an_export_is_the_old_file_or_the_new(tmp_path: Path) -> None:
    path = tmp_path / "sheet.html"
    write_whole(path, b"old", replace=True)
    assert path.read_bytes() == b"old"
    calls = FailingFiles()
    write_whole(path, b"older", files=calls, replace=True)
    assert calls.calls > 5
    for at in range(1, calls.calls + 1):
        for how_long in HowLong:
            files = FailingFiles(at=at, error=errno.ENOSPC, how_long=how_long)
            with pytest.raises(NotKept) as told:
                write_whole(path, b"new", files=files, replace=True)
            assert "the disk is full" in told.value.problem
            assert path.read_bytes() in (b"older", b"new")
            write_whole(path, b"older", replace=True)
    assert path.read_bytes() == b"older"


def test_a_new_file_is_there_whole_or_not_at_all_and_replaces_none(tmp_path: Path) -> None:
    path = tmp_path / "block-12.toml"
    counted = FailingFiles()
    write_whole(path, b"first", files=counted)
    assert os.listdir(tmp_path) == ["block-12.toml"]
    with pytest.raises(AlreadyThere):
        write_whole(path, b"second")
    assert path.read_bytes() == b"first"
    assert os.listdir(tmp_path) == ["block-12.toml"]
    path.unlink()
    for at in range(1, counted.calls + 1):
        for how_long in HowLong:
            files = FailingFiles(at=at, error=errno.ENOSPC, how_long=how_long)
            with pytest.raises(NotKept) as told:
                write_whole(path, b"first", files=files)
            assert "the disk is full" in told.value.problem
            assert not path.exists() or path.read_bytes() == b"first"
            path.unlink(missing_ok=True)


def test_an_export_through_a_link_keeps_the_link(tmp_path: Path) -> None:
    (tmp_path / "real.txt").write_bytes(b"old")
    (tmp_path / "link.txt").symlink_to("real.txt")
    write_whole(tmp_path / "link.txt", b"new", replace=True)
    assert (tmp_path / "link.txt").is_symlink()
    assert (tmp_path / "real.txt").read_bytes() == b"new"


def test_pipes_and_folders_are_not_replaced(tmp_path: Path) -> None:
    # A pipe of our own stands for every device: a test must never aim at a real one.
    pipe, folder = tmp_path / "pipe", tmp_path / "folder"
    os.mkfifo(pipe)
    folder.mkdir()
    for path in (pipe, folder):
        with pytest.raises(Unreadable):
            write_whole(path, b"x", replace=True)
    assert pipe.is_fifo()
    assert sorted(os.listdir(tmp_path)) == ["folder", "pipe"]


class Scanned(Files):
    """A replacement that a scanner holds up a few times, as Windows shows it."""

    def __init__(self, times: int) -> None:
        self.times = times

    retry_waits_s = (0.0, 0.0, 0.0)

    def replace(self, source: Path, target: Path) -> None:
        if self.times > 0:
            self.times -= 1
            raise PermissionError(errno.EACCES, "Permission denied")
        super().replace(source, target)


def test_a_replacement_is_tried_a_bounded_number_of_times(tmp_path: Path) -> None:
    path = tmp_path / "sheet.csv"
    write_whole(path, b"old", files=Scanned(3), replace=True)
    assert path.read_bytes() == b"old"
    with pytest.raises(NotKept):
        write_whole(path, b"new", files=Scanned(4), replace=True)
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["sheet.csv"]


def test_drafts_are_kept_read_and_removed(tmp_path: Path) -> None:
    assert read_draft(tmp_path, "block-1") is None
    text = 'ratio = "1.6"\n\ud800 é'
    keep_draft(tmp_path, "block-1", text)
    assert read_draft(tmp_path, "block-1") == text
    keep_draft(tmp_path, "block-1", "later")
    assert read_draft(tmp_path, "block-1") == "later"
    assert os.listdir(tmp_path) == ["block-1.draft"]
    keep_draft(tmp_path, "block-1", None)
    keep_draft(tmp_path, "block-1", None)
    assert os.listdir(tmp_path) == []
    with pytest.raises(BadName):
        keep_draft(tmp_path, "../block-1", "x")


def test_drafts_that_are_none_are_told(tmp_path: Path) -> None:
    path = tmp_path / "block-1.draft"
    path.write_bytes(b"\xff")
    with pytest.raises(Unreadable):
        read_draft(tmp_path, "block-1")
    path.write_bytes(b"x" * (DRAFT_CAP + 1))
    with pytest.raises(TooLarge):
        read_draft(tmp_path, "block-1")


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EROFS, "the drive is read-only"),
        (errno.EACCES, "it isn't allowed here"),
        (errno.EIO, "the drive reported an error"),
        (errno.ENOENT, "the file or its folder is not there"),
        (errno.EXDEV, "the system says: invalid cross-device link"),
    ],
)
def test_errors_are_told_system_words(number: int, said: str) -> None:
    with pytest.raises(NotKept) as told, storage_errors("block-1.toml", "it was not written"):
        raise OSError(number, os.strerror(number))
    assert str(told.value).startswith(f"block-1.toml: it was not written: {said}; ")
    assert told.value.instead


def test_an_error_without_number_or_words_is_still_told() -> None:
    problem, instead = system_words(OSError())
    assert problem == "the system says: oserror"
    assert instead
