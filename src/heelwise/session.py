"""A record open for work: its walker, its virtual engine in a rehearsal, and saving again.

Shared by the full screen and the line-by-line walk; imports no Textual.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from heelwise.documents.entries import Recovered
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.library import find_procedures
from heelwise.documents.methods import METHODS
from heelwise.documents.procedure import Procedure, load_procedure
from heelwise.documents.record import Head, OpenRecord, begin_record, open_record, read_record
from heelwise.documents.setup import Setup, load_setup
from heelwise.storage.errors import StorageError
from heelwise.storage.names import initials, inside, safe_name
from heelwise.walk.build import Build
from heelwise.walk.limits import unwalkable
from heelwise.walk.scene import scene_of
from heelwise.walk.walker import Clock, Feedback, Walker

if TYPE_CHECKING:  # the virtual engine is imported only for a rehearsal
    from heelwise.rehearsal.engine import Truth
    from heelwise.rehearsal.hands import Sensed


class Session:
    """A record open for work. Close it, or use it with `with`."""

    def __init__(self, record: OpenRecord, clock: Clock | None = None) -> None:
        self.record = record
        self.truth: Truth | None = None
        if is_rehearsal(record.head):
            from heelwise.rehearsal.rehearse import RehearsalClock, truth_of

            self.truth = truth_of(record.head)
            clock = clock or RehearsalClock(record.entries[-1].at)
        scene = scene_of(record.head.setup, record.head.procedure, record.entries)
        self.walker = Walker(scene, record, clock or Clock())

    @property
    def file(self) -> Path:
        """Where the record is."""
        return self.record.file

    def sense(self) -> Sensed | None:
        """In a rehearsal, what hands and eyes report at the prompt; else None."""
        if self.truth is None:
            return None
        from heelwise.rehearsal.hands import sense

        return sense(self.walker.scene, self.walker.prompt, self.truth)

    def resume(self) -> None:
        """Keep what opening found and that work goes on; a closed record is left as it is."""
        if self.walker.closed:
            return
        named = {e.body.aside for entry in self.record.entries if (e := entry.when(Recovered))}
        for aside in self.record.journal.asides():
            if aside.file not in named:
                self.walker.recovered(aside.size, aside.file)
        if len(self.record.entries) > 1:
            self.walker.resume()

    def continue_in(self, folder: Path) -> Path:
        """After a failed save: go on in a new file of a folder, with every entry; StorageError."""
        path = inside(folder, self.file.name)
        self.record.journal = self.record.journal.rescue(path)
        return path

    def write_lacking(self) -> list[str]:
        """Write what the record lacks elsewhere, if anything; lines that say where, or hold it."""
        try:
            written = self.record.journal.write_unkept()
        except StorageError as error:
            told = f"It can't be written anywhere else either ({error.problem})."
            paste = "Copy what follows into a file, or it is lost:"
            return [told, paste, "", *self.record.journal.unkept_text().splitlines()]
        if written is None:
            return []
        return [f"NOT in the record: what was entered last. It is in {written}: keep that file."]

    def close(self) -> None:
        """Give the record back."""
        self.record.close()

    def __enter__(self) -> Session:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


PARTLY_KEPT = "Only part of that answer was kept. Read on here: the rest is asked again."


def attempt(session: Session, act: Callable[[], Feedback]) -> Callable[[], Feedback]:
    """Something that keeps entries, to be done again after a failed save.

    Where a part of it was kept it is not done again: another question may stand by now. Raises
    Refused where the answer can't be taken, StorageError where it could not be kept.
    """
    known = len(session.record.entries)

    def run() -> Feedback:
        part = tuple(session.record.entries[known:])
        return Feedback(PARTLY_KEPT, "warn", part) if part else act()

    return run


def is_rehearsal(head: Head) -> bool:
    """Whether a record is of the virtual engine."""
    return head.build.seed is not None


def open_session(path: Path, by: str = "") -> Session:
    """Open a record for work and keep that work was resumed, by whoever goes on.

    Raises StorageError if it is held by another, damaged, or this could not be kept; or Faulty.
    """
    by = initials(by) if by else ""
    session = Session(open_record(path, by))
    try:
        session.resume()
        if by and by != session.walker.by and not session.walker.closed:
            session.walker.hand_over(by)
    except BaseException:
        session.close()
        raise
    return session


JOB_ASKED = "Customer, job or serial"
"""What is asked at the start of a build whose setup has none: it goes on the sheet."""


def begin_session(
    setup: Setup, procedure: Procedure, folder: Path, name: str, by: str, job: str = ""
) -> Session:
    """Begin a build of a setup; StorageError if the name won't do, is taken, or it can't be.

    `job`: whose engine it is, for a setup that doesn't say so.
    """
    clock, by, setup = Clock(), initials(by), setup.named(job)
    path = inside(folder, safe_name(name) + ".toml")
    before = setup.before
    if before is not None and before.engine == "virtual":
        from heelwise.rehearsal.rehearse import begin_like

        return Session(begin_like(path, setup, procedure, by, clock.now()))
    made = begin_record(path, setup, procedure, by, clock.now())
    return Session(made, clock)


def to_begin(path: Path, folder: Path, again: bool = False) -> tuple[Setup, list[Procedure]]:
    """What to begin a build by: a setup file, with what the records of the folder know.

    `again`: the file is a finished record, to be looked at again by its own setup and the
    procedures for that. Faulty where it can't be used, or no procedure serves it.
    """
    if again:
        from heelwise.shop.begin import setup_again

        setup = setup_again(read_record(path))
        return setup, procedures_for(setup, str(path), again=True)
    from heelwise.shop.begin import recall  # only where a build begins

    setup = load_setup(path)
    with suppress(OSError):  # no record can be made there either, and that says why
        setup = recall(setup, folder)
    return setup, procedures_for(setup, str(path))


def procedures_for(setup: Setup, file: str, again: bool = False) -> list[Procedure]:
    """The procedures a setup can be walked by, at least one; the most usual method first.

    `again`: those that look at an engine that has run. A faulty one is passed over, never
    half-run. Raises Faulty if the setup lacks what a walk needs, nothing serves it, or its
    figures allow no plan or window.
    """
    setup.require("rocker", "lifter", file=file)
    mount = setup.rocker.mount if setup.rocker else ""
    lifter = setup.lifter.kind if setup.lifter else ""
    loaded = []
    for path in find_procedures().values():
        with suppress(Faulty):
            loaded.append(load_procedure(path))
    usable = [each for each in loaded if not again or each.method.name == "recheck"]
    serving = [each for each in usable if each.serves(mount, lifter)]
    if not serving:
        problem = f"no procedure {'re-checks' if again else 'serves'} {mount} rockers"
        served = ", ".join(dict.fromkeys(each for by in usable for each in by.for_mount))
        fault = Fault("rocker.mount", f"{problem} with a {lifter} lifter", f"one of {served}")
        raise Faulty(file, [fault])
    faults = [unwalkable(Build(setup, each)) for each in serving]
    walkable = [each for each, wrong in zip(serving, faults, strict=True) if not wrong]
    if not walkable:
        raise Faulty(file, faults[0])
    rank = list(METHODS).index
    return sorted(walkable, key=lambda each: (each.based_on is None, rank(each.method.name)))
