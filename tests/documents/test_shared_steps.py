"""Procedures put together of shared steps, and procedures based on others."""

import tomllib
from pathlib import Path
from typing import Any, get_args

import pytest

from heelwise.commands.records import check_file
from heelwise.documents.faults import Faulty
from heelwise.documents.files import OWN_FOLDER
from heelwise.documents.library import find_procedures, shared_steps
from heelwise.documents.procedure import Procedure, kept_procedure, load_procedure, parse_procedure
from heelwise.documents.steps import PLACEHOLDERS, Records, Step, Subject

SHOP = """
format = 1
[procedure]
title = "Bolt-down rockers, our short way"
based_on = "bolt-down-rockers"
leave_out = ["plugs-out", "second-person"]
[defaults]
recount = "none"
"""
PAINT = {
    "id": "paint-marks",
    "title": "paint marks",
    "phase": "prepare",
    "each": "build",
    "say": "Is there a paint mark on every head bolt?",
    "why": "A bolt without one was not torqued.",
    "ask": "confirm",
    "yes": "a mark on each",
    "if_not": "Torque the heads again.",
}


def shop(**changes: Any) -> dict[str, Any]:
    return {**tomllib.loads(SHOP), **changes}


def made(raw: dict[str, Any]) -> Procedure:
    return parse_procedure(raw, "shop-short.toml")


def places(raw: dict[str, Any]) -> list[str]:
    with pytest.raises(Faulty) as refused:
        made(raw)
    return [fault.where for fault in refused.value.faults]


def test_ten_lines_leave_out_two_questions_and_the_recount() -> None:
    base = load_procedure(find_procedures()["bolt-down-rockers"])
    short = made(shop())
    assert len(SHOP.strip().splitlines()) <= 15
    left = [step.id for step in base.steps if step.id not in ("plugs-out", "second-person")]
    assert [step.id for step in short.steps] == left
    assert short.id == "shop-short"
    assert (short.method, short.for_mount) == (base.method, base.for_mount)
    assert short.defaults.recount == "none"
    assert short.defaults.pistons_down_deg == base.defaults.pistons_down_deg
    assert [each.id for each in short.left_out] == ["plugs-out", "second-person"]


def test_a_danger_or_warning_left_out_is_noted() -> None:
    raw = shop()
    raw["procedure"]["leave_out"] = ["battery-off", "second-person"]
    (note,) = made(raw).notes()
    assert "battery-off" in note.where
    assert "DANGER" in note.problem


def test_the_whole_text_is_kept_and_read_again_the_same() -> None:
    short = made(shop())
    assert kept_procedure(short.text, short.id) == (short, ())
    assert len(tomllib.loads(short.text)["step"]) == len(short.steps)


def test_a_step_is_changed_put_after_and_put_before() -> None:
    changed = {"id": "heads", "say": "Heads down?"}
    steps = [changed, {**PAINT, "after": "heads"}, {**PAINT, "id": "more", "before": "heads"}]
    procedure = made(shop(step=steps))
    ids = [step.id for step in procedure.steps]
    at = ids.index("heads")
    assert ids[at - 1 : at + 2] == ["more", "heads", "paint-marks"]
    heads = procedure.step("heads")
    assert heads is not None
    assert (heads.say, heads.ask) == ("Heads down?", "confirm")


@pytest.mark.parametrize(
    ("steps", "where"),
    [
        ([PAINT], "step paint-marks"),
        ([{**PAINT, "after": "hedas"}], "step paint-marks.after"),
        ([{**PAINT, "after": "heads", "before": "heads"}], "step paint-marks"),
        ([{**PAINT, "id": "heads", "after": "plugs-out"}], "step heads"),
        ([{"say": "What?"}], "step"),
    ],
)
def test_a_step_without_a_place(steps: list[dict[str, str]], where: str) -> None:
    raw = shop(step=steps)
    raw["procedure"]["leave_out"] = []
    assert where in places(raw)


@pytest.mark.parametrize(
    ("head", "where"),
    [
        ({"leave_out": ["eye"]}, "procedure.leave_out"),
        ({"leave_out": "plugs-out"}, "procedure.leave_out"),
        ({"leave_out": ["cylinder-one"]}, "step"),
        ({"based_on": "bolt-down"}, "procedure.based_on"),
        ({"based_on": 3}, "procedure.based_on"),
        ({"based_on": "shop-short"}, "procedure.based_on"),
        ({"method": "recheck"}, "procedure.method"),
        ({"for_mount": ["stud"]}, "procedure.for_mount"),
    ],
)
def test_what_a_procedure_based_on_another_can_t_say(head: dict[str, Any], where: str) -> None:
    raw = shop()
    raw["procedure"].update(head)
    assert where in places(raw)


def test_procedures_based_on_each_other_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(OWN_FOLDER, str(tmp_path))
    for name, base in (("one", "two"), ("two", "one")):
        text = SHOP.replace('"bolt-down-rockers"', f'"{base}"')
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
    with pytest.raises(Faulty) as refused:
        load_procedure(tmp_path / "one.toml")
    assert "procedure.based_on" in [fault.where for fault in refused.value.faults]


def test_a_shop_s_own_shared_step_is_used_before_the_packaged_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(OWN_FOLDER, str(tmp_path))
    (tmp_path / "steps").mkdir()
    heads = '[[step]]\nid = "heads"\ntitle = "heads"\nsay = "Heads, our way?"\n'
    (tmp_path / "steps" / "ours.toml").write_text("format = 1\n" + heads, encoding="utf-8")
    assert shared_steps()["heads"]["say"] == "Heads, our way?"
    with pytest.raises(Faulty) as refused:  # a shared step is whole, or each procedure tells
        load_procedure(find_procedures()["bolt-down-rockers"])
    assert any("(heads)" in fault.where for fault in refused.value.faults)


@pytest.mark.parametrize(
    ("steps", "own", "where"),
    [
        (["heads", "no-such"], [], "procedure.steps"),
        (["heads"], [PAINT], "step paint-marks"),
        ("heads", [], "procedure.steps"),
    ],
)
def test_what_a_list_of_steps_can_t_say(steps: Any, own: list[Any], where: str) -> None:
    raw = shop(step=own)
    raw["procedure"] = {
        "title": "t",
        "for_mount": ["stud"],
        "for_lifter": ["hydraulic roller"],
        "source": "s",
        "steps": steps,
    }
    assert where in places(raw)


def test_every_shared_step_is_whole_and_used() -> None:
    used = {step.id for path in find_procedures().values() for step in load_procedure(path).steps}
    assert set(shared_steps()) <= used
    titles = [step["title"] for step in shared_steps().values()]
    assert all(titles)


def test_each_thing_recorded_is_asked_by_a_procedure() -> None:
    steps: list[Step] = [
        s for path in find_procedures().values() for s in load_procedure(path).steps
    ]
    assert {step.records for step in steps} - {None} == set(Records)


@pytest.mark.parametrize(
    "path", sorted(find_procedures()["stud-rockers"].parent.glob("steps/*.toml"))
)
def test_a_file_of_shared_steps_can_be_checked_by_itself(path: Path, tmp_path: Path) -> None:
    assert check_file(path)[0] == []
    spoiled = tmp_path / path.name
    text = path.read_text(encoding="utf-8").replace('ask = "confirm"', 'ask = "confirms"', 1)
    spoiled.write_text(text.replace('\ntitle = "', '\ntitel = "', 1), encoding="utf-8")
    places = [fault.where.partition(".")[2] for fault in check_file(spoiled)[0]]
    assert {"titel", "ask"} <= set(places)


def test_every_subject_says_what_can_stand_in_its_braces() -> None:
    assert set(PLACEHOLDERS) == set(get_args(Subject))
