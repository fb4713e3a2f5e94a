"""The kill driver: starts the rehearsal, kills it at a random moment, goes on, until signed off."""

from __future__ import annotations

import random
import signal
import subprocess
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from heelwise.commands.records import check_file
from tests.faults.program import command, environment, in_words, run, told
from tests.faults.watched import Watched

CARDS = ("single", "i2-180", "i4-1342", "v8-15426378")


@dataclass
class Counts:
    """What was done and seen, to be reported."""

    kills: int = 0
    before_the_record: int = 0
    torn: int = 0
    told: int = 0
    entries: int = 0
    signed_off: int = 0
    recovered: int = 0
    by_way: dict[str, int] = field(default_factory=dict)

    def __str__(self) -> str:
        ways = ", ".join(f"{count} {way}" for way, count in sorted(self.by_way.items()))
        return (
            f"{self.kills} kills ({ways}); {self.signed_off} builds signed off; "
            f"{self.told} entries told as kept, {self.entries} in the records; "
            f"{self.torn} ends torn besides, {self.recovered} set aside and entered; "
            f"{self.before_the_record} kills before there was a record"
        )


def killed(words: Sequence[object], chance: random.Random, longest_s: float) -> bytes:
    """Start it and kill it at any moment, or soon after some entry is told. Give its output."""
    process = subprocess.Popen(
        command(*words), stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment()
    )
    assert process.stdout is not None
    assert process.stderr is not None
    out = b""
    if chance.random() < 0.25:
        time.sleep(chance.uniform(0, longest_s))
    else:
        for _ in range(chance.randint(1, 40)):
            out += process.stdout.readline()
        time.sleep(chance.uniform(0, 0.008))
    process.kill()
    rest, said = process.communicate()
    assert process.returncode in (-signal.SIGKILL, 0), said.decode()
    assert b"Traceback" not in said, said.decode()
    return out + rest


def tear(watched: Watched, chance: random.Random) -> bool:
    """Leave the beginning of one more entry behind, as a power cut within a write does."""
    if watched.path is None or watched.path.read_bytes() != watched.known:
        return False  # whoever opens it mends it before writing on, so there is one at a time
    number = watched.count + 1
    entry = f'\n[[entry]]\nnumber = {number}\nat = 2026-03-02T10:00:00+01:00\nby = "AR"\n'
    entry += 'kind = "noted"\ntext = "never told"\nseal = "0123'
    with watched.path.open("ab") as file:
        file.write(entry.encode()[: chance.randint(1, len(entry))])
    return True


class HandsOff:
    """`rehearse --hands-off --tell` on one folder, killed again and again."""

    def __init__(self, folder: Path, card: str, seed: int, counts: Counts) -> None:
        folder.mkdir()
        words = ["rehearse", "--hands-off", "--tell", "--folder", folder]
        self.words = [*words, "--engine", card, "--seed", seed]
        self.watched = Watched(folder)
        self.counts = counts

    def kill_once(self, chance: random.Random) -> bool:
        """Start it and kill it; False once the build is signed off."""
        out = killed(self.words, chance, 0.6)
        self.counts.kills += 1
        self.counts.by_way["hands off"] = self.counts.by_way.get("hands off", 0) + 1
        self.watched.look(told(out))
        self.counts.before_the_record += self.watched.path is None
        if b'\nkind = "signed off"\n' in self.watched.known:
            return False
        if chance.random() < 0.2:
            self.counts.torn += tear(self.watched, chance)
        return True

    def finish(self) -> None:
        """Let it run to its end and look at all of it."""
        ended = run(*self.words)
        in_words(ended)
        assert ended.code == 0, ended.said
        self.watched.look(ended.told)
        finished(self.watched, self.counts)


def finished(watched: Watched, counts: Counts) -> None:
    """Check a build that is signed off, and count it."""
    entries = watched.entries()
    assert entries[-1]["kind"] == "signed off"
    assert sum(entry["kind"] == "signed off" for entry in entries) == 1
    recovered = [entry for entry in entries if entry["kind"] == "recovered"]
    asides = sorted(p.name for p in watched.folder.iterdir() if ".torn-" in p.name)
    assert sorted(entry["aside"] for entry in recovered) == asides
    assert watched.path is not None
    assert check_file(watched.path)[0] == []
    counts.recovered += len(recovered)
    counts.told += len(watched.told)
    counts.entries += len(entries)
    counts.signed_off += 1


def kill_hands_off(folder: Path, kills: int, seed: int) -> Counts:
    """Kill so many times, over as many builds as that takes."""
    counts, chance, number = Counts(), random.Random(seed), 0
    while counts.kills < kills:
        card = CARDS[number % len(CARDS)]
        build = HandsOff(folder / f"build-{number}", card, chance.randrange(1000), counts)
        while counts.kills < kills and build.kill_once(chance):
            pass
        build.finish()
        number += 1
    return counts
