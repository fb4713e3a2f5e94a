"""A walker over all procedures who answers a third of all questions with junk.

`python -m tests.faults.random_walking SECONDS SEED` goes on so long and tells what it came to;
what may come of an answer is an entry, a refusal or a failed save, and no other exception.
"""

from __future__ import annotations

import random
import sys
import time
import traceback
from collections import Counter
from collections.abc import Callable
from functools import cache

from heelwise.commands.walk_lines import question_json
from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import load_procedure
from heelwise.documents.record import Rehearsal, begin_record, open_record
from heelwise.rehearsal.rehearse import tried_in
from heelwise.rehearsal.scenario import plant
from heelwise.session import Session
from heelwise.sheet.forms import sheet
from heelwise.walk.build import Build
from heelwise.walk.limits import unwalkable
from heelwise.walk.prompts import Refused
from heelwise.walk.replay import replay_faults
from heelwise.walk.walker import Walker
from tests.faults.walking import BEGAN, HERE, record_in
from tests.rehearsal.setups import setup_for
from tests.sheet.records import FORMS
from tests.storage.memory_files import MemoryFiles

CARDS = ("single", "i2-360", "i2-180", "i4-1342", "v8-15426378")
MOST_ANSWERS = 700
JUNK = (
    *("", " ", "\t", "?", "x", "yy", "Y", "²", "1²", "٣", "½", "1/0", "0/1", "1/8/8", "-1", "--"),
    *("9" * 5000, "1" + "0" * 400, "1e400", "nan", "inf", "-0", "0x10", "1_0", "9**9**9", "1,5"),
    *("630\udcb0", "\ud800", "a\x00b", "\x1b[31m", "\u202eabc", "\x9b1m", "a\nb", "\r", "\u2028"),
    *("7.4 in", "0 in", "-1 in", "73 in", "1e9 in", "7.4 furlongs", "630°", "1 1/8", "24 lbf ft"),
    *("99E", "1I", "e1", "~nosuchuser/x", "../x", "é" * 300, "W" * 30_000),
    *('"""', "'''", "[[entry]]", "[[signoff]]"),
    *('seal = "', "number = 3", "\\", '"', "{}", "None", "True", "3E 4E", "1I,2I", "quit", "help"),
)
PHOTOS = ("", "IMG_1.jpg", "../a.jpg", "con.jpg", "a\x00.jpg", "é.jpg")


@cache
def begun(name: str, card: str, seed: int, whole: bool) -> bytes:
    """The bytes of a rehearsal just begun; not `whole`: without its pushrods and wrench."""
    procedure, setup = load_procedure(find_procedures()[name]), setup_for(card, name)
    if not whole:
        lacking = setup.model_copy(update={"wrench": None, "pushrods": None})
        setup = setup if unwalkable(Build(lacking, procedure)) else lacking
    build = Build(setup, procedure)
    planted = plant(seed, build.engine.valves, tried_in(build), procedure.method.name)
    memory = MemoryFiles()
    faults = Rehearsal(seed, tuple(map(str, planted)))
    begin_record(HERE, setup, procedure, "AR", BEGAN, faults, memory).close()
    return memory.content(HERE)


class RandomWalker:
    """One build walked by chance."""

    def __init__(self, name: str, card: str, seed: int) -> None:
        self.what = f"{name} on {card}, seed {seed}"
        self.counts: Counter[str] = Counter()
        self._chance = random.Random(f"{name} {card} {seed}")
        self._memory = MemoryFiles()
        self._memory.put(HERE, begun(name, card, seed % 7, seed % 5 > 0))
        self._session = self._open()
        self.last = ""

    def _open(self) -> Session:
        session = Session(open_record(HERE, files=self._memory))
        session.resume()
        return session

    def walk(self, most: int = MOST_ANSWERS) -> None:
        """Answer until it is signed off, or so many times; look at the record on the way."""
        for number in range(most):
            self.step()
            if number % 150 == 149:
                self._look()
            if self._session.walker.closed and self._chance.random() < 0.7:
                break
        self._look()
        self._session.close()

    def step(self) -> None:
        """One answer, or something else that can be done at any prompt."""
        act = self._chosen()
        before = self._session.walker.prompt
        try:
            act()
        except Refused as refused:
            if not (refused.problem and refused.instead):
                raise
            self.counts["refused"] += 1
            assert self._session.walker.prompt is before
        else:
            self.counts["kept"] += 1
        self._show()

    def _chosen(self) -> Callable[[], object]:
        walker, chance = self._session.walker, self._chance
        roll = chance.random()
        if roll < 0.05:
            return self._aside(walker)
        if roll < 1 / 3:
            answer, texts = self._any(), tuple(self._any() for _ in range(chance.randrange(3)))
        elif roll < 0.45 and walker.prompt.options:
            option = chance.choice(walker.prompt.options)
            answer, texts = option.key, tuple(self._any() for _ in option.wants)
        else:
            sensed = self._session.sense()
            assert sensed is not None
            answer, texts = sensed.answer, sensed.texts
        self.last = f"{walker.prompt.id}: {answer[:60]!r} {[text[:60] for text in texts]!r}"
        return lambda: walker.reply(answer, texts)

    def _any(self) -> str:
        chance, prompt = self._chance, self._session.walker.prompt
        if chance.random() < 0.3:
            return chance.choice([prompt.suggested, *(o.key for o in prompt.options), "R. Signer"])
        if chance.random() < 0.1:
            return "".join(chr(chance.randrange(1, 0x3000)) for _ in range(chance.randint(1, 9)))
        return chance.choice(JUNK)

    def _aside(self, walker: Walker) -> Callable[[], object]:
        chance = self._chance
        text, number = self._any(), chance.randint(-1, len(walker.state.entries) + 1)
        valve = chance.choice([None, *walker.build.engine.valves])
        acts: dict[str, Callable[[], object]] = {
            f"cross out {number} {text[:60]!r}": lambda: walker.cross_out(number, text),
            f"note {text[:60]!r}": lambda: walker.note(text, valve, chance.choice(PHOTOS)),
            f"lose crank {text[:60]!r}": lambda: walker.lose_crank(text),
            f"hand over {text[:60]!r}": lambda: walker.hand_over(text),
            "pause": walker.pause,
            "close and open": self._reopen,
        }
        self.last = chance.choice(list(acts))
        return acts[self.last]

    def _reopen(self) -> None:
        self._session.close()
        self._session = self._open()

    def _show(self) -> None:
        question_json(self._session)

    def _look(self) -> None:
        """The record as it lies there holds all that was kept, and is one a walk could make."""
        record = record_in(self._memory.content(HERE), HERE)
        assert list(record.entries) == self._session.walker.state.entries
        assert replay_faults(record) == []
        for form in FORMS:
            sheet(record, form)


def main(seconds: float, seed: int) -> None:
    """Walk one build after another; tell each that crashed with what it was answered last."""
    until, chance = time.monotonic() + seconds, random.Random(seed)
    counts: Counter[str] = Counter()
    while time.monotonic() < until:
        name, card = chance.choice(sorted(find_procedures())), chance.choice(CARDS)
        walker = RandomWalker(name, card, chance.randrange(10**6))
        try:
            walker.walk()
        except Exception:  # noqa: BLE001 - whatever it is, it is told, and the next build begun
            counts["crashed"] += 1
            print(f"CRASH {walker.what}; last {walker.last}\n{traceback.format_exc()}", flush=True)
        counts["builds"] += 1
        counts += walker.counts
        if counts["builds"] % 20 == 0:
            print(f"{time.process_time():.0f} s {dict(counts)}", flush=True)
    print(f"{time.process_time():.0f} s of process time: {dict(counts)}", flush=True)


if __name__ == "__main__":
    main(float(sys.argv[1]), int(sys.argv[2]))
