"""What is typed on the setup form, kept as a draft while it is typed. Imports no Textual."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Mapping
from pathlib import Path

from heelwise.documents.form_fields import LONGEST_TYPED
from heelwise.documents.setup_fields import FIELD
from heelwise.storage.drafts import NEW_SETUP as NAME
from heelwise.storage.drafts import delete_draft, keep_draft, read_draft
from heelwise.storage.errors import StorageError

MOST_DRAFTS = 9
"""Drafts that can't be read are left alone, and the next name is taken, up to this many."""


class SetupDraft:
    """One draft. Writing goes on behind the typing; the latest text wins, none before it after."""

    def __init__(self, folder: Path, told: Callable[[StorageError], object]) -> None:
        """Look at the folder."""
        self._folder, self._told = folder, told
        self._wanted: list[str | None] = []
        self._lock = threading.Lock()
        self._writer: threading.Thread | None = None
        self.name, self.typed = _found(folder)

    def keep(self, typed: Mapping[str, str]) -> None:
        """Keep what stands in the fields from now on."""
        filled = {where: text for where, text in typed.items() if text}
        self._want(json.dumps({"format": 1, "typed": filled}, indent=1) if filled else None)

    def remove(self) -> None:
        """Let it go: it became a setup, or was given up."""
        self._want(None)

    def settle(self) -> None:
        """Wait until the latest text is kept or was told not to be."""
        writer = self._writer
        if writer is not None:
            writer.join()

    def _want(self, text: str | None) -> None:
        with self._lock:
            self._wanted = [text]
            if self._writer is None:
                self._writer = threading.Thread(target=self._write, name="draft")
                self._writer.start()

    def _write(self) -> None:
        while True:
            with self._lock:
                if not self._wanted:
                    self._writer = None
                    return
                text = self._wanted.pop()
            try:
                if text is None:
                    delete_draft(self._folder, self.name)
                else:
                    keep_draft(self._folder, self.name, text)
            except StorageError as error:
                self._told(error)


def _found(folder: Path) -> tuple[str, dict[str, str]]:
    """The draft to go on with: its name, and what was typed."""
    name = NAME
    for number in range(1, MOST_DRAFTS + 1):
        name = NAME if number == 1 else f"{NAME}-{number}"
        try:
            text = read_draft(folder, name)
        except StorageError:
            continue
        typed = {} if text is None else _typed_in(text)
        if typed is not None:
            return name, typed
    return name, {}


def _typed_in(text: str) -> dict[str, str] | None:
    """What a draft holds; None where it is no draft of ours."""
    try:
        document = json.loads(text)
    except (ValueError, RecursionError):
        return None
    typed = document.get("typed") if isinstance(document, dict) else None
    if not isinstance(typed, dict):
        return None
    return {
        where: value[:LONGEST_TYPED]
        for where, value in typed.items()
        if where in FIELD and isinstance(value, str)
    }
