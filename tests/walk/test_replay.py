"""A record whose seals agree but that no walk could have made: its first impossible entry."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from heelwise.documents.library import find_procedures, load_procedure_named
from heelwise.documents.record import read_record
from heelwise.walk.replay import replay_faults

OLD = Path(__file__).parents[1] / "old_records"
PORT = OLD / "port.toml"
SEAL = re.compile(rb'^seal = "[0-9a-f]{64}"\r?$', re.M)


def resealed(data: bytes) -> bytes:
    """The bytes with every seal made anew, as someone would who knows how."""
    made, done = b"", 0
    for match in SEAL.finditer(data):
        made += data[done : match.start()]
        seal = hashlib.sha256(made.replace(b"\r\n", b"\n")).hexdigest()
        made += f'seal = "{seal}"'.encode()
        done = match.end()
    return made + data[done:]
