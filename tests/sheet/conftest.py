"""Records laid out once for all tests of the sheet."""

from pathlib import Path

import pytest

from heelwise.documents.record import Record, read_record
from tests.commands.conftest import heelwise as heelwise
from tests.sheet.records import corrected_and_signed, under_way


@pytest.fixture(scope="session")
def signed(tmp_path_factory: pytest.TempPathFactory) -> Record:
    """A rehearsal signed off, a reading crossed out on the way."""
    return read_record(corrected_and_signed(tmp_path_factory.mktemp("signed")))


@pytest.fixture(scope="session")
def going(tmp_path_factory: pytest.TempPathFactory) -> Record:
    """A rehearsal under way."""
    return read_record(under_way(tmp_path_factory.mktemp("going")))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder of its own."""
    return tmp_path
