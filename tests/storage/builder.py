"""A builder at work: enters readings, and when one is not kept, tries again or goes elsewhere."""

import re
from dataclasses import dataclass, field
from pathlib import Path

from heelwise.storage.errors import StorageError
from heelwise.storage.files import Files
from heelwise.storage.journal import Journal
from heelwise.storage.seals import State, scan
from tests.storage.records import HEAD, entry

_TOKEN = re.compile(rb'^text = "token (.+)\."$', re.MULTILINE)


def tokens(data: bytes) -> list[str]:
    """The tokens of the sealed entries, which must be in order."""
    found = scan(data)
    assert found.state is not State.DAMAGED, found.fault
    return [token.decode() for token in _TOKEN.findall(data[: found.sealed_end])]


@dataclass
class Builder:
    """Enters tokens into one build, through whatever happens, and remembers what was kept."""

    files: Files
    path: Path
    elsewhere: Path
    kept: list[str] = field(default_factory=list)
    in_doubt: str = ""
    told: list[StorageError] = field(default_factory=list)

    def work(self) -> bool:
        """A whole walk: begin, two entries, a break, two entries. False where it had to end."""
        journal = self._begin("a")
        for group in ("bc", "de"):
            for token in group:
                journal = self._enter(journal, token) if journal is not None else None
            if journal is None:
                return False
            self.path = journal.path
            journal.close()
            if group == "bc":
                journal = self._reopen()
        return journal is not None

    def _begin(self, token: str) -> Journal | None:
        self.in_doubt = token
        for _ in range(2):
            try:
                journal = Journal.create(self.path, HEAD, entry(1, token), files=self.files)
            except StorageError as error:
                self.told.append(error)
            else:
                self.kept.append(token)
                return journal
        return None

    def _reopen(self) -> Journal | None:
        for _ in range(2):
            try:
                return Journal.open_for_work(self.path, files=self.files)
            except StorageError as error:
                self.told.append(error)
        return None

    def _enter(self, journal: Journal, token: str) -> Journal | None:
        self.in_doubt = token
        going: Journal | None = journal
        for _ in range(3):
            assert going is not None
            try:
                going.append(entry(going.count + 1, token))
            except StorageError as error:
                self.told.append(error)
                going = self._mended(going)
                if going is None:
                    journal.close()
                    return None
            else:
                self.kept.append(token)
                return going
        return None

    def _mended(self, journal: Journal) -> Journal | None:
        try:
            journal.recover_in_place()
        except StorageError as error:
            self.told.append(error)
        else:
            return journal
        try:
            going = journal.rescue(self.elsewhere)
        except StorageError as error:
            self.told.append(error)
            return None
        self.path = going.path
        return going
