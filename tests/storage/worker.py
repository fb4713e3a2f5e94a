"""A program that appends entries and says so, to be killed, raced or starved by the tests.

Usage: worker.py PATH NAME COUNT [LIMIT]. Prints `kept TOKEN` after each entry, flushed, and
`told WORDS` when one was not kept.
"""

import resource
import signal
import sys
import time
from pathlib import Path

from heelwise.storage.errors import AlreadyThere, Held, NotKept, StorageError, Unreadable
from heelwise.storage.journal import Journal
from tests.storage.records import HEAD, entry


def say(*words: object) -> None:
    print(*words, flush=True)


def opened(path: Path, name: str) -> Journal | None:
    """Make the record or open it, whichever is right at the moment; None while others have it."""
    try:
        return Journal.open_for_work(path, holder=name)
    except Held:
        return None
    except Unreadable:
        pass
    try:
        journal = Journal.create(path, HEAD, entry(1, f"{name}-0"), holder=name)
    except (Held, AlreadyThere):
        return None
    say("kept", f"{name}-0")
    return journal


def append(path: Path, name: str, count: int) -> None:
    """Append so many entries, giving the record up after each, as a fair rival would."""
    done = 0
    while done < count:
        journal = opened(path, name)
        if journal is None:
            time.sleep(0.001)
            continue
        with journal:
            done += 1
            token = f"{name}-{done}"
            journal.append(entry(journal.count + 1, token))
            say("kept", token)


def hold(path: Path, name: str) -> None:
    """Append without end."""
    with Journal.open_for_work(path, holder=name) as journal:
        say("open", journal.count)
        while True:
            token = f"{name}-{journal.count + 1}"
            journal.append(entry(journal.count + 1, token))
            say("kept", token)


def starve(path: Path, name: str, limit: int) -> None:
    """Append until the file may not grow, mend it, and go on elsewhere from memory."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, resource.RLIM_INFINITY))
    journal = Journal.open_for_work(path, holder=name)
    try:
        while True:
            token = f"{name}-{journal.count + 1}"
            journal.append(entry(journal.count + 1, token))
            say("kept", token)
    except NotKept as error:
        say("told", error)
    journal.recover_in_place()
    try:
        journal.append(entry(journal.count + 1, "again"))
    except NotKept as error:
        say("told", error)
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    with journal.rescue(path.with_name("elsewhere.toml")) as rescued:
        rescued.append(entry(rescued.count + 1, "rescued"))
        say("kept", "rescued")


def main() -> None:
    path, name, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
    try:
        if len(sys.argv) > 4:
            starve(path, name, int(sys.argv[4]))
        elif count:
            append(path, name, count)
        else:
            hold(path, name)
    except StorageError as error:
        say("told", error)


if __name__ == "__main__":
    main()
