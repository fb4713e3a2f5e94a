"""The format as documented: the worked example is whole, and nothing is left undescribed."""

import re
import tomllib
from pathlib import Path
from typing import get_args

import pytest

from heelwise.commands.records import check_file
from heelwise.documents.faults import Faulty
from heelwise.documents.files import OWN_FOLDER
from heelwise.documents.library import find_procedures
from heelwise.documents.methods import METHODS
from heelwise.documents.procedure import (
    Defaults,
    Head,
    Procedure,
    load_procedure,
    parse_procedure,
)
from heelwise.documents.setup import parse_setup
from heelwise.documents.steps import (
    PLACEHOLDERS,
    SUBJECTS_IN,
    AskKind,
    Caution,
    Records,
    Step,
    Subject,
)
from heelwise.rehearsal.scenario import setup_by
from heelwise.session import procedures_for
from tests.walk.driving import Drive

README = Path(__file__).resolve().parents[2] / "procedures" / "README.md"


def _readme() -> str:
    return README.read_text(encoding="utf-8")


def _example() -> str:
    (found,) = re.findall(r"```toml\n(.*?)```", _readme(), re.DOTALL)
    return str(found)


def test_the_worked_example_passes_check(tmp_path: Path) -> None:
    file = tmp_path / "shop-studs.toml"
    file.write_text(_example(), encoding="utf-8")
    assert check_file(file)[0] == []


def test_the_worked_example_can_be_walked_to_the_signature() -> None:
    procedure = parse_procedure(tomllib.loads(_example()), "shop-studs.toml")
    setup = setup_by("i4-1342", procedure)
    drive = Drive("i4-1342", 3, (), setup=setup, by=procedure)
    assert drive.truth.lifters == "used"
    drive.to_the_end()
    assert all(valve.proof is not None for valve in drive.walker.state.valves.values())


def test_every_key_method_and_place_is_described() -> None:
    described = set(re.findall(r"`\{?\"?([a-zA-Z_][a-z_A-Z ]*)\"?\}?`", _readme()))
    models = (Head, Step, Defaults, Caution)
    wanted = {key for model in models for key in model.model_fields}
    wanted |= {*METHODS, *Records, *get_args(AskKind)}
    wanted |= {value for each in Records for value in each.values}
    assert wanted - described == set()
    braced = set(re.findall(r"`\{(\w+)\}`", _readme()))
    assert braced == set().union(*PLACEHOLDERS.values())


def test_defaults_are_described_as_they_are() -> None:
    made = Defaults()
    section = _readme().partition("## `[defaults]`")[2].partition("\n## ")[0]
    rows = re.findall(r"^\| `([a-z_]+)` \| \"?([^|\"]*)\"? \|", section, re.MULTILINE)
    assert len(rows) >= 15
    for key, said in rows:
        value = getattr(made, key)
        shown = f"{value:g}" if isinstance(value, float) else value
        assert said.strip() in (shown, "none", "the middle of the window"), key


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(OWN_FOLDER, str(tmp_path))
    (tmp_path / "shop-studs.toml").write_text(_example(), encoding="utf-8")
    return tmp_path


def _titles(procedure: Procedure) -> list[str]:
    return [m.title for m in procedures_for(setup_by("i4-1342", procedure), "setup.toml")]


def test_a_shop_s_own_procedure_is_found_and_a_faulty_one_is_never_offered(shop: Path) -> None:
    procedure = parse_procedure(tomllib.loads(_example()), "shop-studs.toml")
    assert "shop-studs" in find_procedures()
    assert "Stud rockers, our short way" in _titles(procedure)
    spoiled = _example().replace('records = "proof"\n', "")
    (shop / "shop-studs.toml").write_text(spoiled, encoding="utf-8")
    assert "Stud rockers, our short way" not in _titles(procedure)
    assert any(
        "records proof" in fault.problem for fault in check_file(shop / "shop-studs.toml")[0]
    )


def test_the_shop_s_own_wins_over_a_packaged_one_of_its_name(shop: Path) -> None:
    (shop / "stud-rockers.toml").write_text(_example(), encoding="utf-8")
    assert find_procedures()["stud-rockers"].parent == shop


def test_the_most_usual_method_is_offered_first() -> None:
    setup = setup_by("i4-1342", load_procedure(find_procedures()["bolt-down-rockers"]))
    methods = [m.method.name for m in procedures_for(setup, "setup.toml")]
    assert list(dict.fromkeys(methods)) == [
        "turns to the click",
        "checking pushrod",
        "checking lifter",
        "recheck",
    ]


def test_a_setup_is_told_what_its_only_method_needs() -> None:
    raw = setup_by("i4-1342", load_procedure(find_procedures()["solid-lifters"])).to_toml_dict()
    del raw["lash"]
    with pytest.raises(Faulty) as refused:
        procedures_for(parse_setup(raw, "s.toml", resolve=False), "s.toml")
    assert [str(f) for f in refused.value.faults] == [
        "lash: is missing, and is needed here; add the table [lash]"
    ]


def test_each_subject_has_a_phase() -> None:
    asked = {each for subjects in SUBJECTS_IN.values() for each in subjects}
    assert asked == set(get_args(Subject))
