from pathlib import Path

import pytest

from tests.commands.running import Runner


@pytest.fixture
def heelwise(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Runner:
    return Runner(capsys, tmp_path)
