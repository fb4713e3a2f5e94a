"""A whole rehearsal over any file layer, by someone who mends what fails or goes elsewhere."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

from heelwise.documents.entries import AnyEntry
from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import Procedure, load_procedure
from heelwise.documents.record import (
    OpenRecord,
    Record,
    Rehearsal,
    begin_record,
    open_record,
    record_of,
)
from heelwise.documents.setup import Setup
from heelwise.session import Session
from heelwise.storage.errors import StorageError
from heelwise.storage.files import Files
from heelwise.storage.seals import scan
from tests.rehearsal.setups import setup_for
from tests.storage.failing_files import FailingFiles

HERE = Path("/builds/block-1.toml")
ELSEWHERE = Path("/elsewhere")
BEGAN = datetime(2031, 5, 4, 9, 0, tzinfo=UTC)
BREAK_AT = 20
"""Entries after which the work is laid down and taken up again."""


@cache
def bolt_down() -> Procedure:
    """The usual procedure, read once."""
    return load_procedure(find_procedures()["bolt-down-rockers"])


@cache
def one_cylinder() -> Setup:
    """The setup with the shortest walk."""
    return setup_for("single")


def begun(path: Path, files: Files | None = None, setup: Setup | None = None) -> OpenRecord:
    """A rehearsal's record just made."""
    planted = Rehearsal(1, ("1E: bolt moves in the proof",))
    given = setup or one_cylinder()
    return begin_record(path, given, bolt_down(), "AR", BEGAN, planted, files)


def answered(sitting: Session) -> None:
    """Answer the question that stands as the virtual engine would."""
    found = sitting.sense()
    assert found is not None
    sitting.walker.reply(found.answer, found.texts)


def record_in(data: bytes, path: Path) -> Record:
    """A record of bytes."""
    return record_of(data, scan(data), path)


@dataclass
class Person:
    """Walks one rehearsal to sign-off through whatever fails, as far as that can be done."""

    files: FailingFiles
    elsewhere_is_well: bool = True
    path: Path = HERE
    shown: list[AnyEntry] = field(default_factory=list)
    told: list[StorageError] = field(default_factory=list)
    in_doubt: bool = False
    could_not_open: bool = False

    def walk(self) -> bool:
        """From the first question to sign-off; False where it had to be given up."""
        sitting = self._opened(lambda: Session(begun(self.path, self.files)))
        if sitting is None:
            return False
        sitting = self._through(sitting, BREAK_AT)
        if sitting is None:
            return False
        sitting.close()
        sitting = self._opened(self._again)
        if sitting is None:
            return False
        sitting = self._through(sitting, 10_000)
        if sitting is None:
            return False
        sitting.close()
        return True

    def _again(self) -> Session:
        sitting = Session(open_record(self.path, "AR", self.files))
        try:
            sitting.resume()
        except StorageError:
            sitting.close()
            raise
        return sitting

    def _opened(self, make: Callable[[], Session]) -> Session | None:
        for _ in range(3):
            try:
                sitting = make()
            except StorageError as error:
                self.told.append(error)
            else:
                self._note(sitting)
                return sitting
        self.could_not_open = True
        return None

    def _through(self, sitting: Session, entries: int) -> Session | None:
        while not sitting.walker.closed and len(sitting.record.entries) < entries:
            if not self._answered(sitting):
                sitting.close()
                return None
        return sitting

    def _answered(self, sitting: Session) -> bool:
        """Answer one question, mending what fails; False where that can't be done."""
        for _ in range(4):
            self.in_doubt = True
            try:
                answered(sitting)
            except StorageError as error:
                self.told.append(error)
                self._note(sitting)
                if not self._mended(sitting):
                    return False
            else:
                self._note(sitting)
                self.in_doubt = False
                return True
        return False

    def _mended(self, sitting: Session) -> bool:
        try:
            sitting.record.journal.recover_in_place()
        except StorageError as error:
            self.told.append(error)
        else:
            return True
        if self.elsewhere_is_well:
            self.files.mend()
        try:
            self.path = sitting.continue_in(ELSEWHERE)
        except StorageError as error:
            self.told.append(error)
            return False
        return True

    def _note(self, sitting: Session) -> None:
        now = list(sitting.record.entries)
        assert now[: len(self.shown)] == self.shown
        self.shown = now
