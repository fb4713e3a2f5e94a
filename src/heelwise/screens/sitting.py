"""A sitting: one record open for work, its walker, and the virtual engine of a rehearsal.

Shared by the full screen and the line-by-line walk; imports no Textual.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

from heelwise.documents.entries import AnyEntry, Draft
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.library import find_procedures
from heelwise.documents.methods import METHODS
from heelwise.documents.procedure import Procedure, load_procedure
from heelwise.documents.record_reading import Head
from heelwise.documents.record_writing import OpenRecord, begin_record, open_record
from heelwise.documents.setup import Setup
from heelwise.storage.names import inside, safe_name
from heelwise.walk.build import Build
from heelwise.walk.clock import Clock, RealClock
from heelwise.walk.sign_off import Outcome, rows_of
from heelwise.walk.standing import fold
from heelwise.walk.walkable import unwalkable
from heelwise.walk.walker import Walker

if TYPE_CHECKING:  # the virtual engine is imported only for a rehearsal
    from heelwise.rehearsal.hands import Sensed
    from heelwise.rehearsal.truth import Truth


@dataclass(frozen=True)
class Method:
    """A procedure that serves a setup, with the text a record keeps of it."""

    procedure: Procedure
    text: str


class Sitting:
    """A record open for work. Close it, or use it with `with`."""

    def __init__(self, record: OpenRecord, clock: Clock | None = None) -> None:
        self.record = record
        self.truth = _truth(record.head)
        build = Build(record.head.setup, record.head.procedure)
        standing = fold(build.engine.valves, record.entries)
        self.walker = Walker(build, standing, self._keep, clock or self._clock())

    def _clock(self) -> Clock:
        if self.truth is None:
            return RealClock()
        from heelwise.rehearsal.clock import RehearsalClock

        return RehearsalClock(self.record.entries[-1].at)

    def _keep(
        self, draft: Draft, at: datetime, by: str, outcome: tuple[Outcome, ...] | None
    ) -> AnyEntry:
        return self.record.keep(draft, at, by, rows_of(outcome))

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

    def take_up_again(self) -> None:
        """Keep what opening found and that work goes on; a closed record is left as it is."""
        if self.walker.closed:
            return
        for aside in self.record.asides_to_enter():
            self.walker.recovered(aside.size, aside.file)
        if len(self.record.entries) > 1:
            self.walker.resume()

    def go_on_in(self, folder: Path) -> Path:
        """After a failure: put every kept entry in a new file in another folder and go on there.

        Returns:
            The new file.

        Raises:
            StorageError: If that can't be done either.
        """
        path = inside(folder, self.file.name)
        self.record.go_on_elsewhere(path)
        return path

    def try_again(self) -> None:
        """After a failure: go on in the same file, if all that was kept is there.

        Raises:
            StorageError: If it is not.
        """
        self.record.try_again_here()

    def close(self) -> None:
        """Give the record back."""
        self.record.close()

    def __enter__(self) -> Sitting:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def _truth(head: Head) -> Truth | None:
    if not is_rehearsal(head):
        return None
    from heelwise.rehearsal.rehearse import truth_of

    return truth_of(head)


def is_rehearsal(head: Head) -> bool:
    """Whether a record is of the virtual engine."""
    return head.build.seed is not None


def open_sitting(path: Path, by: str = "") -> Sitting:
    """Open a record for work and keep that it was taken up again.

    Args:
        path: The record.
        by: Initials of whoever goes on; the last person's by default.

    Raises:
        StorageError: If it is held by another or damaged, or this could not be kept.
        Faulty: If it can't be understood.
    """
    sitting = Sitting(open_record(path, by))
    try:
        sitting.take_up_again()
        if by and by != sitting.walker.by and not sitting.walker.closed:
            sitting.walker.hand_over(by)
    except BaseException:
        sitting.close()
        raise
    return sitting


def begin_sitting(setup: Setup, method: Method, folder: Path, name: str, by: str) -> Sitting:
    """Begin a build of a setup.

    Args:
        setup: The setup.
        method: The procedure to build by.
        folder: Where the record goes.
        name: Its name: letters, digits and dashes.
        by: Initials of whoever begins.

    Raises:
        StorageError: If the name won't do, is taken, or the record can't be made.
    """
    clock = RealClock()
    path = inside(folder, safe_name(name) + ".toml")
    made = begin_record(path, setup, method.procedure, method.text, by, clock.now())
    return Sitting(made, clock)


def methods_for(setup: Setup, file: str) -> list[Method]:
    """The procedures a setup can be walked by; a faulty one is passed over, never half-run.

    Returns:
        At least one; the most usual method first.

    Raises:
        Faulty: If the setup lacks what a walk needs, nothing serves it, or its figures
            allow no plan or window.
    """
    setup.require("rocker", "lifter", file=file)
    serving = _serving(setup)
    if not serving:
        assert setup.rocker is not None
        assert setup.lifter is not None
        problem = f"no procedure serves {setup.rocker.mount} rockers with a "
        problem += f"{setup.lifter.kind} lifter"
        raise Faulty(file, [Fault("rocker.mount", problem, f"one of {_served()}")])
    faults = [unwalkable(Build(setup, method.procedure)) for method in serving]
    found = [m for m, wrong in zip(serving, faults, strict=True) if not wrong]
    if not found:
        raise Faulty(file, faults[0])
    return found


def _serving(setup: Setup) -> list[Method]:
    rocker, lifter = setup.rocker, setup.lifter
    assert rocker is not None
    assert lifter is not None
    found = []
    for path in find_procedures().values():
        try:
            procedure = load_procedure(path)
        except Faulty:
            continue
        if procedure.serves(rocker.mount, lifter.kind):
            found.append(Method(procedure, path.read_text(encoding="utf-8")))
    return sorted(found, key=lambda method: METHODS.index(method.procedure.method))


def _served() -> str:
    served: Mapping[str, None] = {}
    for path in find_procedures().values():
        try:
            served = {**served, **dict.fromkeys(load_procedure(path).for_mount)}
        except Faulty:
            continue
    return ", ".join(served) or "a mount some procedure is for"
