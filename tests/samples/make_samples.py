"""Makes the records in sample_builds/ with the program, from its sample setups.

Run it from the project's top folder: `python tests/samples/make_samples.py`. The
scenario is invented: the virtual engine answers, with a person's corrections put in.
"""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from pathlib import Path

from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import load_procedure
from heelwise.documents.record import Rehearsal, begin_record
from heelwise.documents.setup import load_setup
from heelwise.rehearsal.rehearse import RehearsalClock
from heelwise.rehearsal.scenario import TRIALS_SHORT, EngineFault, plant
from heelwise.session import Session
from heelwise.valvetrain.engine import Valve
from heelwise.walk.build import Build
from heelwise.walk.scene import Scene
from heelwise.walk.state import fold
from heelwise.walk.trials import trial_valves

FOLDER = Path(__file__).resolve().parents[2] / "sample_builds"
BEGAN = datetime(2026, 3, 14, 9, 5, tzinfo=timezone(timedelta(hours=1)))
PROCEDURE = "bolt-down-rockers"
SEED = 2
SHOWN = (EngineFault.NOT_SEATED, EngineFault.LENGTH_OFF, EngineFault.BOLT_MOVES)
"""What goes wrong in them: enough to show how it is caught."""


def begin(folder: Path, setup_name: str, name: str) -> Session:
    """Begin a sample build of a sample setup, with the virtual engine behind it."""
    setup = load_setup(FOLDER / f"{setup_name}.toml")
    source = find_procedures()[PROCEDURE]
    procedure = load_procedure(source)
    build = Build(setup, procedure)
    tried = trial_valves(Scene(build, fold(build.engine.valves, ())))
    faults = (str(p) for p in plant(SEED, build.engine.valves, tried) if p.fault in SHOWN)
    path = folder / f"{name}.toml"
    kept = Rehearsal(SEED, (TRIALS_SHORT, *faults))
    record = begin_record(path, setup, procedure, "MK", BEGAN, kept)
    return Session(record, RehearsalClock(BEGAN))


def answer(session: Session) -> None:
    """One answer, as the virtual engine gives it."""
    sensed = session.sense()
    assert sensed is not None
    session.walker.reply(sensed.answer, sensed.texts)


def until(session: Session, phase: str, records: str = "") -> None:
    """Answer until a prompt of a phase, and of what it records, stands."""
    for _ in range(2000):
        prompt = session.walker.prompt
        if prompt.phase == phase and records in ("", prompt.records):
            return
        answer(session)
    raise RuntimeError(f"{phase} was not reached")


def finished(folder: Path) -> Path:
    """A whole build: a note, a reading crossed out, a pause, a hand-over, the signature."""
    with begin(folder, "harbor-launch-six", "harbor-launch-six-port") as session:
        walker = session.walker
        until(session, "trial", "count")
        walker.note("paint mark on the damper, true TDC, yellow", None)
        until(session, "fit", "count")
        answer(session)
        number = walker.state.entries[-1].number
        walker.cross_out(number, "the ratchet slipped, lost the count")
        until(session, "fit", "count")
        answer(session)
        until(session, "prove")
        walker.pause()
        walker.resume()
        walker.hand_over("JD")
        until(session, "prove", "proof")
        walker.note("witness marks in white", Valve.parse("1I"))
        while not walker.closed:
            answer(session)
        return session.file


def interrupted(folder: Path) -> Path:
    """A build paused in Fit, two valves counted."""
    with begin(folder, "harbor-launch-six", "harbor-launch-six-starboard") as session:
        until(session, "fit", "count")
        answer(session)
        until(session, "fit", "count")
        answer(session)
        session.walker.pause()
        return session.file


def main() -> None:
    """Make both records again."""
    for make, name in (
        (finished, "harbor-launch-six-port"),
        (interrupted, "harbor-launch-six-starboard"),
    ):
        (FOLDER / f"{name}.toml").unlink(missing_ok=True)
        print(make(FOLDER))
    for lock in FOLDER.glob(".*.lock"):
        lock.unlink()


if __name__ == "__main__":
    main()
