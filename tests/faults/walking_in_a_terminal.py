"""A person's rehearsal in a pseudo-terminal, line by line and full screen, typed by the tests."""

from __future__ import annotations

import random
import re
import time
from functools import partial
from pathlib import Path
from typing import Protocol

from heelwise.screens.answer import EARLY, HELD_KEY_S
from heelwise.walk.prompts import Ask
from tests.faults.killing import Counts, finished
from tests.faults.program import told
from tests.faults.terminal import Terminal
from tests.faults.twin import Twin
from tests.faults.watched import Watched, sealed_part

_LINE_PROMPT = re.compile(rb"\r\n> $")
_AS_SHOWN = 20
"""Characters of a question that stand on one line of the screen, however it is wrapped."""


class Hands(Protocol):
    """Types the answers of one run."""

    def answer(self, twin: Twin) -> None:
        """Answer the question that stands; returns when the keys are pressed."""

    def shown(self, twin: Twin) -> bool:
        """Whether the program has come to the twin's question."""

    def early(self) -> bool:
        """Whether the program says that keys came too early."""


class LineHands:
    """Types lines."""

    def __init__(self, terminal: Terminal) -> None:
        self._terminal = terminal
        self._seen = 0

    def answer(self, twin: Twin) -> None:
        found = twin.sensed()
        option = twin.prompt.option(found.answer)
        self._seen = len(self._terminal.out)
        self._terminal.type(f"{found.answer}\n")
        for want, text in zip(option.wants if option else (), found.texts, strict=True):
            asked = f"\r\n  {want}: ".encode()
            self._terminal.until(f"the line for {want}", partial(self._ends, asked))
            self._terminal.type(f"{text}\n")

    def _ends(self, asked: bytes) -> bool:
        return self._terminal.out.endswith(asked)

    def shown(self, twin: Twin) -> bool:
        if twin.closed:
            return not self._terminal.alive
        return bool(_LINE_PROMPT.search(self._terminal.out, self._seen))

    def early(self) -> bool:
        return False  # a line typed ahead is taken


class ScreenHands:
    """Presses keys."""

    def __init__(self, terminal: Terminal) -> None:
        self._terminal = terminal
        self._last = ("", 0.0)

    def answer(self, twin: Twin) -> None:
        found, prompt = twin.sensed(), twin.prompt
        option = prompt.option(found.answer)
        if option is None:
            self._terminal.type(f"{found.answer}\r")
        elif prompt.ask is Ask.NOTE:
            self._terminal.type("\x1b")
            self._terminal.until("the menu", partial(self._shows, "What can be done now"))
            self._terminal.type(option.key)
        else:
            self._press(option.key)
        for want, text in zip(option.wants if option else (), found.texts, strict=True):
            asked = f"{want[:1].upper()}{want[1:]}"
            self._terminal.until(f"the line for {want}", partial(self._shows, asked))
            self._terminal.type(f"{text}\r")

    def _shows(self, text: str) -> bool:
        return text in self._terminal.shown

    def _press(self, key: str) -> None:
        before, when = self._last
        if key == before:  # the same key at once counts as held down
            time.sleep(max(0.0, when + HELD_KEY_S + 0.05 - time.monotonic()))
        self._terminal.type(key)
        self._last = (key, time.monotonic())

    def shown(self, twin: Twin) -> bool:
        if twin.closed:  # the sheet is shown at once
            return self._shows("signed off by")
        # A verdict, painted first, may begin with the same words as the question after it.
        options = [option.label[:_AS_SHOWN] for option in twin.prompt.options[:1]]
        return all(map(self._shows, [twin.prompt.question[:_AS_SHOWN], *options]))

    def early(self) -> bool:
        return self._shows(EARLY[0])


class ByHand:
    """`rehearse` on one folder, typed by hand, killed again and again."""

    def __init__(self, folder: Path, card: str, seed: int, plain: bool, counts: Counts) -> None:
        folder.mkdir()
        self._words = ["rehearse", "--folder", folder, "--engine", card, "--seed", seed]
        self._plain = plain
        if plain:
            self._words.append("--plain")
        self.watched = Watched(folder)
        self.counts = counts

    def _begun(self, terminal: Terminal) -> tuple[Twin, Hands]:
        """Wait for the first question, which the twin then knows."""
        if self._plain:
            terminal.until("a question", lambda: bool(_LINE_PROMPT.search(terminal.out)))
            path = self.watched.path
            assert path is not None
            return Twin(path), LineHands(terminal)
        terminal.until("the record", lambda: self.watched.path is not None)
        path = self.watched.path
        assert path is not None
        hands = ScreenHands(terminal)
        terminal.until("the question", lambda: hands.shown(Twin(path)))
        return Twin(path), hands

    def go_on(self, answers: int, chance: random.Random | None) -> bool:
        """Answer so many questions; then kill in the middle of the next. False once signed off."""
        with Terminal(*self._words) as terminal:
            twin, hands = self._begun(terminal)
            self._same(terminal, twin)
            for _ in range(answers):
                self._answered(terminal, twin, hands)
                if twin.closed:
                    break
            if chance is not None and not twin.closed:
                hands.answer(twin)
                time.sleep(chance.uniform(0, 0.02 if self._plain else 0.05))
                terminal.kill()
                self.counts.kills += 1
                way = "line by line" if self._plain else "full screen"
                self.counts.by_way[way] = self.counts.by_way.get(way, 0) + 1
            elif self._plain and twin.closed:
                assert terminal.ended() == 0
        self._look(terminal, twin)
        return not self.signed_off

    @property
    def signed_off(self) -> bool:
        """Whether the record is closed, be it by the answer that was being typed."""
        return b'\nkind = "signed off"\n' in self.watched.known

    def _answered(self, terminal: Terminal, twin: Twin, hands: Hands) -> None:
        hands.answer(twin)
        number = len(twin.entries) + 1
        terminal.until(f"entry {number}", lambda: self._count() >= number or hands.early())
        if self._count() < number:  # the question had come before its answer line was ready
            time.sleep(HELD_KEY_S + 0.1)  # or what is typed now belongs to what came too early
            hands.answer(twin)
        twin.answered()
        number = len(twin.entries)
        terminal.until(f"entry {number} in the record", lambda: self._count() >= number)
        terminal.until(f"the question after entry {number}", lambda: hands.shown(twin))

    def _count(self) -> int:
        assert self.watched.path is not None
        return self.watched.path.read_bytes().count(b'\nseal = "')

    def _same(self, terminal: Terminal, twin: Twin) -> None:
        if self._plain:
            report = twin.sensed().report
            assert f"your hands and eyes: {report}" in terminal.out.decode()

    def _look(self, terminal: Terminal, twin: Twin) -> None:
        """What the twin has seen a question after is kept; and, line by line, what was told."""
        self.watched.look(told(terminal.out) if self._plain else ())
        expected = [entry.body.kind for entry in twin.entries]
        assert [entry["kind"] for entry in self.watched.entries()][: len(expected)] == expected
        assert b"Traceback" not in terminal.out

    def finish(self, at_most: int = 2000) -> None:
        """Go on to sign-off without another kill."""
        if not self.signed_off:
            assert not self.go_on(at_most, None)
        assert self.watched.path is not None
        assert sealed_part(self.watched.path.read_bytes())[0] == self.watched.known
        finished(self.watched, self.counts)


def kill_by_hand(folder: Path, kills: int, seed: int, plain: bool, card: str = "single") -> Counts:
    """Kill so many times, over as many builds as that takes, with 0 to 12 answers between."""
    counts, chance, number = Counts(), random.Random(seed), 0
    while counts.kills < kills:
        build = ByHand(folder / f"build-{number}", card, chance.randrange(1000), plain, counts)
        while counts.kills < kills and build.go_on(chance.randint(0, 12), chance):
            pass
        if plain or build.watched.count > 40:
            build.finish()
        number += 1
    return counts
