"""Each test of a screen begins with the same looks, whatever the environment and the last test."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

from heelwise.screens import theme


@pytest.fixture(autouse=True)
def _same_looks(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    for name in [*filter(lambda name: name.startswith("HEELWISE_"), os.environ), "NO_COLOR"]:
        monkeypatch.delenv(name, raising=False)
    theme.use(ascii_only=False)
    yield
    theme.use(ascii_only=False)
