"""The samples are what the program makes, and say what they are there to show."""

from pathlib import Path

from heelwise.documents.entries import AnyEntry
from heelwise.documents.record import read_record
from heelwise.walk.build import Build
from heelwise.walk.scene import Scene
from heelwise.walk.state import BuildState, fold
from heelwise.walk.walker import next_prompt
from tests.samples.make_samples import FOLDER, finished, interrupted


def _standing(path: Path) -> tuple[Build, BuildState]:
    record = read_record(path)
    build = Build(record.head.setup, record.head.procedure)
    return build, fold(build.engine.valves, record.entries)


def test_the_finished_one_is_signed_off_with_every_valve_proved() -> None:
    _, standing = _standing(FOLDER / "harbor-launch-six-port.toml")
    assert standing.closed is not None
    assert all(one.proof for one in standing.valves.values())
    assert standing.crossed
    assert {e.by for e in standing.entries} == {"MK", "JD"}
    record = read_record(FOLDER / "harbor-launch-six-port.toml")
    assert len(record.signoff) == 12


def test_the_interrupted_one_asks_where_the_crank_is() -> None:
    build, standing = _standing(FOLDER / "harbor-launch-six-starboard.toml")
    assert standing.closed is None
    assert next_prompt(Scene(build, standing)).id == "walk/resume"


def _rounded(entry: AnyEntry) -> tuple[object, ...]:
    """An entry less its seal; Python adds floats up in another way from 3.12 on."""
    figures = {
        key: round(value, 9) if isinstance(value, float) else value
        for key, value in entry.body.values().items()
    }
    return entry.number, entry.at, entry.by, entry.body.kind, figures, entry.rests_on


def test_the_program_still_makes_them_entry_for_entry(tmp_path: Path) -> None:
    for make, name in (
        (finished, "harbor-launch-six-port"),
        (interrupted, "harbor-launch-six-starboard"),
    ):
        made = read_record(make(tmp_path))
        kept = read_record(FOLDER / f"{name}.toml")
        # Entry 1 and the head know the procedure's text: a reworded question changes them alone.
        assert [*map(_rounded, made.entries[1:])] == [*map(_rounded, kept.entries[1:])]
        assert (made.head.setup, made.head.build.planted) == (
            kept.head.setup,
            kept.head.build.planted,
        )
