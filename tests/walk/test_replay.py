"""A record whose seals agree but that no walk could have made: its first impossible entry."""

from __future__ import annotations

import contextlib
import hashlib
import random
import re
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from heelwise.commands.records import check_file
from heelwise.documents.library import find_procedures
from heelwise.documents.record import read_record, record_faults
from heelwise.rehearsal.rehearse import begin_rehearsal, hands_off
from heelwise.rehearsal.scenario import procedure_called
from heelwise.session import Session
from heelwise.walk.prompts import Option, Refused
from heelwise.walk.replay import replay_faults

AT = datetime(2031, 5, 4, 9, tzinfo=UTC)
OLD = Path(__file__).parents[1] / "old_records"
TEXT = (OLD / "port.toml").read_text(encoding="utf-8")
SEAL = re.compile(rb'^seal = "[0-9a-f]{64}"\r?$', re.M)
NO_SEAL = f'seal = "{"0" * 64}"\n'


def resealed(text: str) -> bytes:
    """A record with every seal made anew, as someone would who knows how."""
    data, made, done = text.encode(), b"", 0
    for match in SEAL.finditer(data):
        made += data[done : match.start()]
        made += f'seal = "{hashlib.sha256(made).hexdigest()}"'.encode()
        done = match.end()
    return made + data[done:]


def upto(number: int) -> str:
    """The record to the end of an entry."""
    start = TEXT.index(f"\n[[entry]]\nnumber = {number}\n")
    return TEXT[: TEXT.index("\n\n", start + 2) + 1]


def added(text: str, *fields: str) -> str:
    """A record with one more entry, at the hour of its last one."""
    numbers = re.findall(r"^number = (\d+)$", text, re.M)
    at = re.findall(r"^at = (.*)$", text, re.M)[-1]
    lines = [f"number = {len(numbers) + 1}", f"at = {at}", 'by = "MK"', *fields]
    return f"{text.rstrip()}\n\n[[entry]]\n" + "\n".join(lines) + "\n" + NO_SEAL


def changed(key: str, value: str, after: str) -> str:
    """The record with the first line of a key changed that comes after some text."""
    start = TEXT.index(after)
    line = re.compile(rf"^{key} = .*$", re.M).search(TEXT, start)
    assert line is not None
    return TEXT[: line.start()] + f"{key} = {value}" + TEXT[line.end() :]


FIT = 'phase = "fit"\n'
LAST = 213
NONSENSE: dict[str, tuple[Callable[[], str], str]] = {
    "signed with nothing done": (
        lambda: added(upto(1), 'kind = "signed off"', 'person = "A"'),
        "entry 2",
    ),
    "proof before fitting": (
        lambda: added(
            upto(100),
            *('kind = "proved"', 'valve = "8E"', 'outcome = "clicked"', 'torque = "23 lbf ft"'),
            *("at_deg = 0.0", "margin_deg = 1.0"),
        ),
        "entry 101",
    ),
    "signed twice": (lambda: added(TEXT, 'kind = "signed off"', 'person = "B"'), "entry 214"),
    "a note after signing": (lambda: added(TEXT, 'kind = "noted"', 'text = "x"'), "entry 214"),
    "begun twice": (
        lambda: added(
            upto(20),
            *('kind = "begun"', 'procedure = "x"', f'procedure_digest = "{"0" * 64}"'),
            'program = "heelwise 0.1.0"',
        ),
        "entry 21",
    ),
    "the beginning crossed out": (
        lambda: added(upto(20), 'kind = "crossed out"', "of = 1", 'reason = "x"'),
        "entry 21",
    ),
    "years back": (lambda: changed("at", "2019-03-14 10:00:00+01:00", "number = 90\n"), "entry 90"),
    "a row for valve 99E": (lambda: changed("valve", '"99E"', "[[signoff]]"), f"entry {LAST}"),
    "a row that differs": (lambda: changed("turns", '"1"', "[[signoff]]"), f"entry {LAST}"),
    "turns 5 inside": (lambda: changed("turns", '"5"', _entry_of(FIT)), "read"),
    "a window upside down": (lambda: changed("least_turns", "99.0", _entry_of(FIT)), "read"),
    "a wider window": (lambda: changed("most_turns", "1.75", _entry_of(FIT)), "read"),
    "the torque of the head": (lambda: changed("torque", '"30 lbf ft"', "[rocker]"), "proof"),
    "the window of the head": (lambda: changed("most_turns", "1.0", "[lifter]"), "trial"),
    "another procedure": (
        lambda: changed("procedure_digest", f'"{"1" * 64}"', 'kind = "begun"'),
        "entry 1",
    ),
    "a table slipped in": (
        lambda: upto(30) + "\n[rocker.extra]\nx = 1\n" + TEXT[len(upto(30)) :],
        "rocker",
    ),
    "a crank elsewhere": (lambda: changed("at_deg", "5.0", _entry_of(FIT)), "read"),
    "another pushrod": (lambda: changed("pushrod", '"7.100 in"', _entry_of(FIT)), "read"),
}


def _entry_of(text: str) -> str:
    """The beginning of the first entry that holds a text."""
    start = TEXT.rindex("\n[[entry]]\n", 0, TEXT.index(text))
    return TEXT[start : start + 40]


def _number(kind: str) -> str:
    """The first reading in a trial or in Fit, the first proof, or the place itself."""
    text = {"trial": 'kind = "read"\n', "read": FIT, "proof": 'kind = "proved"\n'}.get(kind)
    found = re.search(r"number = (\d+)", _entry_of(text)) if text else None
    return f"entry {found[1]}" if found else kind


@pytest.mark.parametrize("what", NONSENSE)
def test_resealed_nonsense_is_named_by_its_first_entry(what: str, tmp_path: Path) -> None:
    make, where = NONSENSE[what]
    file = tmp_path / "nonsense.toml"
    file.write_bytes(resealed(make()))
    assert record_faults(read_record(file)) == []
    faults = replay_faults(read_record(file))
    assert [fault.where for fault in faults] == [_number(where)]
    assert check_file(file)[0] == faults


@pytest.mark.parametrize("file", sorted(OLD.glob("*.toml")), ids=lambda path: path.stem)
def test_records_of_earlier_versions_are_sound(file: Path) -> None:
    assert replay_faults(read_record(file)) == []


@pytest.mark.parametrize("name", sorted(find_procedures()))
def test_what_the_walk_makes_is_sound(name: str, tmp_path: Path) -> None:
    file = tmp_path / "r.toml"
    record = begin_rehearsal(file, "i4-1342", 3, procedure_called(name), AT)
    with Session(record) as session:
        assert session.truth is not None
        hands_off(session.walker, session.truth, lambda entry: None)
        session.walker.reply("r", ("A. Other", "a bolt was changed"))
    assert replay_faults(read_record(file)) == []


@pytest.mark.parametrize("name", sorted(find_procedures()))
@pytest.mark.parametrize("seed", range(2))
def test_what_a_hasty_person_makes_is_sound_too(name: str, seed: int, tmp_path: Path) -> None:
    """Wrong counts, any option, troubles and a solid crank among them."""
    chance = random.Random(f"{name} {seed}")
    file = tmp_path / "r.toml"
    record = begin_rehearsal(file, "i2-360", seed, procedure_called(name), AT)
    with Session(record) as session:
        walker = session.walker
        for _ in range(260):
            if walker.closed:
                break
            sensed = session.sense()
            assert sensed is not None
            answer, texts = sensed.answer, sensed.texts
            if walker.prompt.phase != "prepare" and chance.random() < 0.25:
                option = chance.choice(walker.prompt.options or (Option("1 3/8", ""),))
                answer, texts = option.key, tuple("1I" for _ in option.wants)
            with contextlib.suppress(Refused):
                walker.reply(answer, texts)
    assert replay_faults(read_record(file)) == []
