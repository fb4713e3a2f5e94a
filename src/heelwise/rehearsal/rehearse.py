"""A rehearsal: a build against the virtual engine, begun or gone on with."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from heelwise.documents.entries import AnyEntry
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.open_record import OpenRecord, Rehearsal, begin_record
from heelwise.documents.procedure import Procedure
from heelwise.documents.record import Head
from heelwise.rehearsal.engine import Truth, make_truth
from heelwise.rehearsal.faults import TRIALS_SHORT, Planted, plant
from heelwise.rehearsal.hands import Sensed, sense
from heelwise.rehearsal.scenario import setup_by
from heelwise.valvetrain.engine import Valve
from heelwise.walk.build import Build
from heelwise.walk.scene import Scene
from heelwise.walk.state import fold
from heelwise.walk.trials import trial_valves
from heelwise.walk.walker import Walker

BY = "AR"


def begin_rehearsal(
    path: Path, card: str, seed: int, procedure: Procedure, at: datetime
) -> OpenRecord:
    """Make the record of a new rehearsal, its faults planted by the seed.

    Raises:
        Faulty: If there is no such card.
        StorageError: If the record can't be made.
    """
    setup = setup_by(card, procedure)
    build = Build(setup, procedure)
    engine = build.engine
    planted = plant(seed, engine.valves, tried_in(build), procedure.method.name)
    short = (TRIALS_SHORT,) if build.method.buys else ()
    kept = Rehearsal(seed, (*short, *(str(p) for p in planted)))
    return begin_record(path, setup, procedure, BY, at, kept)


def tried_in(build: Build) -> tuple[Valve, ...]:
    """The valves a build's trials are made on; none where nothing is tried."""
    if not build.method.buys:
        return ()
    return trial_valves(Scene(build, fold(build.engine.valves, ())))


def truth_of(head: Head) -> Truth:
    """The virtual engine a rehearsal's record was made with.

    Raises:
        Faulty: If [build] names no seed, or faults that are none.
    """
    if head.build.seed is None:
        problem = Fault("build.seed", "is missing", "a record made by a rehearsal")
        raise Faulty(head.build.name, [problem])
    try:
        texts = head.build.planted or ()
        planted = tuple(Planted.parse(text) for text in texts if text != TRIALS_SHORT)
    except ValueError as error:
        found = Fault("build.planted", str(error), "an untouched record")
        raise Faulty(head.build.name, [found]) from None
    short, method = TRIALS_SHORT in texts, head.procedure.method.name
    return make_truth(head.setup, head.build.seed, planted, method, trials_short=short)


def hands_off(
    walker: Walker, truth: Truth, told: Callable[[AnyEntry], None], most: int = 5000
) -> None:
    """Answer every prompt from the virtual engine until the build is signed off.

    Args:
        walker: The walk.
        truth: The virtual engine.
        told: Called with each entry once it is durable.
        most: Answers after which the walk is taken to be going round in a circle.

    Raises:
        RuntimeError: If the walk does not come to an end.
    """
    for _ in range(most):
        if walker.closed:
            return
        seen = sensed(walker, truth)
        for entry in walker.reply(seen.answer, seen.texts).entries:
            told(entry)
    raise RuntimeError(f"the rehearsal did not end in {most} answers")


def sensed(walker: Walker, truth: Truth) -> Sensed:
    """What hands and eyes report at the prompt that stands now."""
    return sense(walker.scene, walker.prompt, truth)
