"""What is shown large can be worked out at every question, whatever a setup leaves out."""

from __future__ import annotations

from pathlib import Path

import pytest

from heelwise.documents.faults import Faulty
from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import load_procedure
from heelwise.documents.record import Rehearsal, begin_record
from heelwise.documents.setup import Setup, parse_setup
from heelwise.screens.placard import count_bar, prompt_figures
from heelwise.session import Session, procedures_for
from tests.rehearsal.setups import setup_for
from tests.screens.pressing import AT

MOST_ANSWERS = 600
CARD = "i4-1342"


def without(procedure: str, setup: Setup, *left_out: str) -> Setup | None:
    """A setup without some of its keys; None where the procedure can't walk the rest."""
    raw = setup.to_toml_dict()
    for where in left_out:
        table, key = where.split(".")
        raw[table].pop(key)
    try:
        changed = parse_setup(raw, "a test's setup")
        serving = procedures_for(changed, "a test's setup")
    except Faulty:
        return None
    return changed if any(each.id == procedure for each in serving) else None


def keys_of(setup: Setup) -> list[str]:
    tables = setup.to_toml_dict().items()
    return [f"{name}.{key}" for name, table in tables if isinstance(table, dict) for key in table]


def walked(procedure: str, setup: Setup, folder: Path) -> int:
    """Walk a setup to its signature, working out all figures on the way; how many questions."""
    loaded = load_procedure(find_procedures()[procedure])
    made = begin_record(folder / "r.toml", setup, loaded, "AR", AT, Rehearsal(1, ()))
    with Session(made) as session:
        for count in range(MOST_ANSWERS):
            walker = session.walker
            for unit in ("in", "mm"):
                prompt_figures(walker.prompt, walker.scene, None, "", unit)
            count_bar(walker.prompt, walker.scene, "", 50)
            if walker.closed:
                return count
            sensed = session.sense()
            assert sensed is not None
            walker.reply(sensed.answer, sensed.texts)
    raise AssertionError(f"{procedure} never ends")


def test_a_stud_build_without_plunger_travel(tmp_path: Path) -> None:
    setup = without("stud-rockers", setup_for(CARD, "stud-rockers"), "lifter.plunger_travel")
    assert setup is not None
    assert walked("stud-rockers", setup, tmp_path) > 20


@pytest.mark.long
@pytest.mark.parametrize("procedure", sorted(find_procedures()))
def test_with_each_optional_field_left_out(procedure: str, tmp_path: Path) -> None:
    setup, optional = setup_for(CARD, procedure), []
    for number, where in enumerate(keys_of(setup)):
        changed = without(procedure, setup, where)
        if changed is not None:
            (folder := tmp_path / str(number)).mkdir()
            walked(procedure, changed, folder)
            optional.append(where)
    together = without(procedure, setup, *optional)
    if together is not None:
        walked(procedure, together, tmp_path)
