"""Makes the records in sample_builds/ with the program, from its sample setups.

Run it from the project's top folder: `python tests/samples/make_samples.py`. The
scenario is invented: the virtual engine answers, with a person's corrections put in.
"""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from pathlib import Path

from heelwise.documents.library import find_procedures
from heelwise.documents.open_record import Rehearsal, begin_record
from heelwise.documents.procedure import load_procedure
from heelwise.documents.setup import load_setup
from heelwise.rehearsal.faults import plant
from heelwise.rehearsal.rehearse import RehearsalClock
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


def begin(folder: Path, setup_name: str, name: str) -> Session:
    """Begin a sample build of a sample setup, with the virtual engine behind it."""
    setup = load_setup(FOLDER / f"{setup_name}.toml")
    source = find_procedures()[PROCEDURE]
    procedure = load_procedure(source)
    build = Build(setup, procedure)
    tried = trial_valves(Scene(build, fold(build.engine.valves, ())))
    planted = tuple(str(p) for p in plant(SEED, build.engine.valves, tried))
    path = folder / f"{name}.toml"
    kept = Rehearsal(SEED, planted)
    record = begin_record(path, setup, procedure, "MK", BEGAN, kept)
    return Session(record, RehearsalClock(BEGAN))


def answer(sitting: Session) -> None:
    """One answer, as the virtual engine gives it."""
    found = sitting.sense()
    assert found is not None
    sitting.walker.reply(found.answer, found.texts)


def until(sitting: Session, phase: str, fills: str = "") -> None:
    """Answer until a prompt of a phase, and of what it fills, stands."""
    for _ in range(2000):
        prompt = sitting.walker.prompt
        if prompt.phase == phase and fills in ("", prompt.records):
            return
        answer(sitting)
    raise RuntimeError(f"{phase} was not reached")


def finished(folder: Path) -> Path:
    """A whole build: a note, a reading crossed out, a pause, a hand-over, the signature."""
    with begin(folder, "harbor-launch-six", "harbor-launch-six-port") as sitting:
        walker = sitting.walker
        until(sitting, "trial", "count")
        walker.note("paint mark on the damper, true TDC, yellow", None)
        until(sitting, "fit", "count")
        answer(sitting)
        number = walker.state.entries[-1].number
        walker.cross_out(number, "the ratchet slipped, lost the count")
        until(sitting, "fit", "count")
        answer(sitting)
        until(sitting, "prove")
        walker.pause()
        walker.resume()
        walker.hand_over("JD")
        until(sitting, "prove", "proof")
        walker.note("witness marks in white", Valve.parse("1I"))
        while not walker.closed:
            answer(sitting)
        return sitting.file


def interrupted(folder: Path) -> Path:
    """A build laid down in Fit, two valves counted."""
    with begin(folder, "harbor-launch-six", "harbor-launch-six-starboard") as sitting:
        until(sitting, "fit", "count")
        answer(sitting)
        until(sitting, "fit", "count")
        answer(sitting)
        sitting.walker.pause()
        return sitting.file


def main() -> None:
    """Make both records anew."""
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
