"""A rehearsal: a build against the virtual engine, begun or gone on with, and its clock."""

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

from heelwise.documents import quantities
from heelwise.documents.entries import AnyEntry
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.procedure import Procedure
from heelwise.documents.record import Head, OpenRecord, Rehearsal, begin_record
from heelwise.documents.setup import Setup
from heelwise.rehearsal.engine import Truth, make_truth
from heelwise.rehearsal.hands import sense
from heelwise.rehearsal.scenario import LIKE_BEFORE, TRIALS, TRIALS_SHORT, Planted, plant, setup_by
from heelwise.valvetrain.engine import Valve
from heelwise.walk.build import Build
from heelwise.walk.scene import Scene
from heelwise.walk.state import fold
from heelwise.walk.trials import trial_valves
from heelwise.walk.walker import Clock, Walker

BY = "AR"

AN_ANSWER = timedelta(seconds=20)


class RehearsalClock(Clock):
    """Goes on from a given time; counts as real time nowhere."""

    def __init__(self, start: datetime) -> None:
        self._now = start

    def now(self) -> datetime:
        """The rehearsal's time."""
        return self._now

    def reach(self, until: datetime | None) -> None:
        """Let an answer's time go by, and any wait with it."""
        self._now += AN_ANSWER
        if until is not None and until > self._now:
            self._now = until


def begin_rehearsal(
    path: Path, card: str, seed: int, procedure: Procedure, at: datetime
) -> OpenRecord:
    """Make a new rehearsal's record, faults planted by the seed; raises Faulty, StorageError."""
    kept = _kept(setup := setup_by(card, procedure), seed, procedure, TRIALS_SHORT)
    return begin_record(path, setup, procedure, BY, at, kept)


def begin_like(path: Path, setup: Setup, procedure: Procedure, by: str, at: datetime) -> OpenRecord:
    """Make the record of a rehearsal on an engine like an earlier one's; raises StorageError."""
    seal = setup.before.last_seal if setup.before else None
    kept = _kept(setup, int((seal or "1")[:8], 16), procedure, LIKE_BEFORE)
    return begin_record(path, setup, procedure, by, at, kept)


def _kept(setup: Setup, seed: int, procedure: Procedure, first: str) -> Rehearsal:
    build = Build(setup, procedure)
    planted = plant(seed, build.engine.valves, tried_in(build), procedure.method.name)
    trials = (first,) if build.method.buys else ()
    return Rehearsal(seed, (*trials, *(str(p) for p in planted)))


def tried_in(build: Build) -> tuple[Valve, ...]:
    """The valves a build's trials are made on; none where nothing is tried."""
    if not build.method.buys:
        return ()
    return trial_valves(Scene(build, fold(build.engine.valves, ())))


def truth_of(head: Head) -> Truth:
    """The virtual engine a rehearsal's record was made with; raises Faulty if it can't be."""
    texts = head.build.planted or ()
    assert head.build.seed is not None
    try:
        planted = tuple(Planted.parse(text) for text in texts if text not in TRIALS)
    except ValueError as error:
        found = Fault("build.planted", str(error), "an untouched record")
        raise Faulty(head.build.name, [found]) from None
    trials = next((text for text in texts if text in TRIALS), "")
    method = head.procedure.method.name
    return make_truth(head.setup, head.build.seed, planted, method, trials=trials)


def hands_off(
    walker: Walker, truth: Truth, told: Callable[[AnyEntry], None], most: int = 5000
) -> None:
    """Answer every prompt from the virtual engine until the build is signed off.

    `told` is called with each durable entry. RuntimeError where so many answers lead to no end.
    """
    for _ in range(most):
        if walker.closed:
            return
        seen = sense(walker.scene, walker.prompt, truth)
        for entry in walker.reply(seen.answer, seen.texts).entries:
            told(entry)
    raise RuntimeError(f"the rehearsal did not end in {most} answers")


def truth_in_words(scene: Scene, truth: Truth) -> str:
    """What the engine's valves truly came to, to tell after sign-off; "" for solid lifters."""
    method, preloads, outside = scene.build.method, [], []
    for valve, state in scene.state.valves.items():
        length = truth.true_length_mm(valve, quantities.length_mm(scene.pushrod_text(state)))
        read = state.reading
        if method.clicks or method.stands or read is None:
            preloads.append(truth.preload_mm(valve, length))
            outside += [] if truth.inside(valve, length) else [str(valve)]
        else:
            preloads.append(
                truth.preload_after_mm(valve, length, quantities.turns(read.body.turns))
            )
    if method.reads == "lash":
        return ""
    least, most = (quantities.show_length(each, "mm") for each in (min(preloads), max(preloads)))
    inside = f"truly outside: {', '.join(outside)}" if outside else "all truly inside"
    travel = quantities.show_length(truth.travel_mm, "mm")
    return f"In truth: preload {least} to {most}, {inside}; {travel} of travel per turn."
