"""What a folder can do to the bench: each is one line on it, and the other files still open."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

import pytest

from heelwise.documents.files import own_folder_fault
from heelwise.documents.library import find_procedures
from heelwise.screens.shelf import Row
from heelwise.storage.errors import StorageError
from heelwise.storage.whole_files import NEW_SETUP, has_draft, read_draft
from tests.faults.program import in_words, run
from tests.faults.terminal import Terminal

SETUP = Path(__file__).parents[2] / "sample_builds" / "grain-truck-six.toml"
F3, F5, F10 = "\x1bOR", "\x1b[15~", "\x1b[21~"
BOUND = ["setpriv", "--bounding-set=-dac_override,-dac_read_search"] if os.geteuid() == 0 else []
"""Root without the right to pass over a folder's rights."""
needs_rights = pytest.mark.skipif(
    bool(BOUND) and shutil.which("setpriv") is None, reason="root may do anything here"
)


@pytest.fixture
def builds(tmp_path: Path) -> Path:
    """A folder with two setups."""
    for name in ("one", "two"):
        shutil.copy(SETUP, tmp_path / f"{name}.toml")
    return tmp_path


@contextmanager
def bench(
    folder: Path, first: str = "", before: list[str] | None = None, **env: str
) -> Iterator[Terminal]:
    """The bench, its files read."""
    with Terminal("--folder", folder, first=first, before=before or [], env=env) as screen:
        screen.until("the bench", lambda: "one" in screen.shown and "two" in screen.shown)
        screen.until("its files", lambda: "still to be read" not in screen.shown)
        yield screen
        screen.type(F10)
        assert screen.ended() == 0


@pytest.mark.parametrize("seconds", [0.0, -1e11, 4e11, 1e18, -1e18])
def test_a_file_s_time_beyond_any_calendar_is_shown_all_the_same(seconds: float) -> None:
    touched = Row("a.toml", seconds).touched
    assert 1 < touched.year < 9999
    assert touched - timedelta(days=1) < touched


def test_a_bench_with_such_a_file_opens_the_others(builds: Path) -> None:
    if not os.path.ismount("/dev/shm"):
        pytest.skip("no file system here keeps such a time")
    far = Path("/dev/shm") / f"heelwise-{os.getpid()}"
    shutil.copytree(builds, far)
    try:
        os.utime(far / "one.toml", ns=(0, 400_000_000_000 * 10**9))
        with bench(far) as screen:
            screen.type("two\r")
            screen.until("the setup", lambda: "Name of the build" in screen.shown)
    finally:
        shutil.rmtree(far)


def test_a_draft_that_is_a_link_out_of_the_folder_is_told(builds: Path) -> None:
    (builds / f"{NEW_SETUP}.draft").symlink_to("/etc/hostname")
    assert not has_draft(builds, NEW_SETUP)
    with pytest.raises(StorageError):
        read_draft(builds, NEW_SETUP)
    with bench(builds) as screen:
        screen.type(F3)
        screen.until("it told", lambda: "is left alone" in screen.shown)


@pytest.mark.parametrize("data", [b"{}", b"\0" * 10])
def test_a_damaged_draft_is_told_and_left(data: bytes, builds: Path) -> None:
    draft = builds / f"{NEW_SETUP}.draft"
    draft.write_bytes(data)
    assert has_draft(builds, NEW_SETUP)
    with bench(builds) as screen:
        screen.type(F3)
        screen.until("it told", lambda: "is left alone" in screen.shown)
    assert draft.read_bytes() == data


@pytest.mark.parametrize("words", [(), ("--plain", "x.toml"), ("check", "x.toml")])
def test_a_working_folder_that_is_gone_is_told(words: tuple[str, ...], tmp_path: Path) -> None:
    gone = tmp_path / "gone"
    gone.mkdir()
    enter = f"import os; os.chdir({str(gone)!r}); os.rmdir({str(gone)!r})"
    with Terminal(*words, first=enter) as screen:
        assert screen.ended() in (1, 2)
        assert "Traceback" not in screen.out.decode()
        assert len(screen.shown.strip().splitlines()) == 1


def test_a_folder_that_goes_while_the_bench_stands_is_one_line(builds: Path) -> None:
    with bench(builds) as screen:
        shutil.rmtree(builds)
        screen.type(F5)
        screen.until("it told", lambda: "can't be read" in screen.shown)


@needs_rights
def test_a_folder_without_the_right_to_search_is_told(builds: Path) -> None:
    builds.chmod(0o644)
    with bench(builds, before=BOUND) as screen:
        screen.until("it told", lambda: "allowed here" in screen.shown)


@needs_rights
def test_a_folder_whose_right_to_search_goes_is_told_on_looking_again(builds: Path) -> None:
    with bench(builds, before=BOUND) as screen:
        builds.chmod(0)
        screen.type(F5)
        screen.until("it told", lambda: "can't be read" in screen.shown)


@needs_rights
@pytest.mark.parametrize("below", ["", "within"])
def test_procedures_that_can_t_be_read_are_one_line_on_the_bench(below: str, builds: Path) -> None:
    own = builds / "own"
    (own / "within").mkdir(parents=True)
    own.chmod(0)
    with bench(builds, before=BOUND, HEELWISE_PROCEDURES=str(own / below)) as screen:
        screen.until("it told", lambda: "HEELWISE_PROCEDURES" in screen.shown)
        screen.type("two\r")
        screen.until("the setup", lambda: "Name of the build" in screen.shown)


def test_a_folder_of_procedures_that_is_none_is_told_by_the_line_by_line_walk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    nowhere = str(tmp_path / "nowhere")
    ended = run("--plain", SETUP, "--folder", tmp_path, HEELWISE_PROCEDURES=nowhere)
    in_words(ended)
    assert ended.code == 0
    assert nowhere in ended.said
    monkeypatch.setenv("HEELWISE_PROCEDURES", nowhere)
    assert own_folder_fault() is not None
    assert "bolt-down-rockers" in find_procedures()
