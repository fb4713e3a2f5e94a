"""What is wrong between a procedure's method and its steps, each fault naming its step."""

import tomllib
from collections.abc import Callable
from typing import Any

import pytest

from heelwise.documents.faults import Faulty
from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import load_procedure, parse_procedure

Raw = dict[str, Any]
STUD, SOLID, SHAFT = "stud-rockers", "solid-lifters", "shaft-rockers"
LIFTER = "solid-checking-lifter"


def _raw(name: str) -> Raw:
    return tomllib.loads(load_procedure(find_procedures()[name]).text)


def _step(raw: Raw, step_id: str) -> Raw:
    found: Raw = next(step for step in raw["step"] if step["id"] == step_id)
    return found


def _told(name: str, change: Callable[[Raw], object]) -> list[str]:
    raw = _raw(name)
    change(raw)
    with pytest.raises(Faulty) as refused:
        parse_procedure(raw, f"{name}.toml")
    return [str(fault) for fault in refused.value.faults]


def _without(step_id: str) -> Callable[[Raw], object]:
    return lambda raw: raw["step"].remove(_step(raw, step_id))


def _with(step_id: str, **keys: object) -> Callable[[Raw], object]:
    return lambda raw: _step(raw, step_id).update(keys)


def _first(raw: Raw, step_id: str, before: str) -> None:
    step = _step(raw, step_id)
    raw["step"].remove(step)
    raw["step"].insert(raw["step"].index(_step(raw, before)), step)


@pytest.mark.parametrize(
    ("name", "change", "said"),
    [
        (STUD, _without("count"), 'in fit records count, which "turns and lock"'),
        (STUD, _without("locked"), "no step of each valve in fit records locked"),
        (STUD, _without("proof"), "no step of each valve in prove records proof"),
        (STUD, _without("cylinder-one"), "of each build in prepare records crank_reference"),
        (SOLID, _without("gauge-locked"), "no step of each valve in fit records recheck"),
        (SHAFT, _without("stand-drawn"), "no step of each stand in fit records drawn"),
        ("recheck-running-engine", _without("has-run"), "in prepare records has_run"),
        ("adjustable-checking-pushrod", _without("trial-length"), "in trial records checked"),
        ("bolt-down-rockers", _without("trial-count"), "in trial records count"),
        (LIFTER, _without("cup-solid"), "no step of each build in prepare records cup_solid"),
        (LIFTER, _without("trial-pushrod"), "of each valve in trial records checking_length"),
        (LIFTER, _without("trial-lash"), "of each valve in trial records lash_checked"),
        (LIFTER, _without("lifter-back"), "of each valve in trial records lifter_back"),
        (LIFTER, _with("cup-hydraulic", each="valve", phase="trial"),
         "(cup-hydraulic).records: cup_hydraulic isn't recorded for each valve in trial"),
        (LIFTER, _with("cup-solid", skippable=True),
         '(cup-solid).skippable: "checking lifter" always needs cup_solid; leave it out'),
        (LIFTER, _with("trial-pushrod", only_if={"step": "trial-lifter", "is": "yes"}),
         '(trial-pushrod).only_if: "checking lifter" always needs checking_length'),
        (LIFTER, lambda raw: _first(raw, "trial-lash", "trial-pushrod"),
         "(trial-pushrod).records: checking_length comes after lash_checked"),
        (LIFTER, lambda raw: _first(raw, "lifter-back", "trial-lash"),
         "(trial-lash).records: lash_checked comes after lifter_back"),
        (LIFTER, _with("trial-lash", ask="length"), 'lash_checked is recorded by ask = "lash"'),
        (LIFTER, lambda raw: raw["procedure"].update(for_lifter=["solid roller"]),
         'lifters can\'t be set by "checking lifter"; name hydraulic lifters'),
        ("adjustable-checking-pushrod", _with("trial-length", records="lash_checked"),
         'lash_checked has no place in "checking pushrod"'),
        ("adjustable-checking-pushrod",
         lambda raw: raw["defaults"].update(checking_pitch="0.050"), "defaults.checking_pitch: "),
        (STUD, _with("count", phase="prove"), "(count).records: count isn't recorded for each"),
        (STUD, _with("locked", phase="trial"), "of each valve in trial is never reached by"),
        (SHAFT, _with("proof", each="valve"), "a step of each valve in prove is never reached"),
        (SHAFT, _with("proof", each="build"), "proof isn't recorded for each build in prove"),
        (STUD, _with("count", each="stand"), "a step of each stand in fit is never reached"),
        (STUD, _with("play", each="stand"), "a step of each stand in fit is never reached"),
        (STUD, _with("play", say="{lash}"), '(play).say: {lash} has no meaning in "turns and'),
        (SOLID, _with("seated", why="{turns}"), '{turns} has no meaning in "lash and lock"'),
        (SHAFT, _with("stand-drawn", say="{valve}"), "{valve} has no meaning in a step of"),
        (STUD, lambda raw: _first(raw, "play", "count"), "count comes after play"),
        (STUD, lambda raw: raw["procedure"].update(for_lifter=["solid roller"]),
         'procedure.for_lifter: "solid roller" lifters can\'t be set by "turns and lock"'),
        (SOLID, lambda raw: raw["procedure"].update(for_lifter=["hydraulic roller"]),
         "name solid lifters"),
        (STUD, lambda raw: raw["procedure"].update(method="turns and locks"),
         'procedure.method: is "turns and locks"; did you mean turns and lock?'),
        (STUD, lambda raw: raw["procedure"].update(method="lash and lock"),
         'count has no place in "lash and lock"'),
        (STUD, lambda raw: raw["step"].append({**_step(raw, "count"), "id": "again"}),
         "(again).records: count is recorded by step"),
        (STUD, lambda raw: _step(raw, "proof")["options"].pop(0), "no proof can pass"),
        (STUD, lambda raw: _step(raw, "proof").update(options=[
            {"key": "1", "label": "l", "value": "held"},
            {"key": "2", "label": "m", "value": "clicked"}]),
         'a proof of "turns and lock" can\'t be "clicked"'),
        (STUD, lambda raw: raw["defaults"].update(least_turns=0.5, most_turns=1, wanted_turns=2),
         "defaults.wanted_turns: 2 is outside least_turns and most_turns"),
        (STUD, lambda raw: raw["defaults"].update(lash_tolerance="0.001"), "lash_tolerance: "),
        (STUD, lambda raw: raw["defaults"].update(recount="some"), "defaults.recount: "),
        ("bolt-down-rockers", _with("wrench", skippable=False), "wrench).skippable: isn't true"),
        (STUD, _with("second-person", records="second_persons"), 'did you mean second_person?'),
        (STUD, _with("second-person", phase="sign off"), "isn't recorded for each build in sign"),
    ],
)  # fmt: skip
def test_one_fault_of_a_method(name: str, change: Callable[[Raw], object], said: str) -> None:
    faults = _told(name, change)
    assert any(said in fault for fault in faults), faults


def test_a_proof_that_can_only_pass_is_a_fault() -> None:
    def only_good(raw: Raw) -> None:
        step = _step(raw, "proof")
        step["options"] = step["options"][:2]

    faults = _told("bolt-down-rockers", only_good)
    (fault,) = faults
    assert "(proof).options: no proof can fail; add moved" in fault


@pytest.mark.parametrize("name", sorted(find_procedures()))
def test_every_step_left_out_is_told_or_leaves_a_procedure_that_is_whole(name: str) -> None:
    """A step the method needs can't be left out unnoticed, and no fault comes without a reason."""
    whole = parse_procedure(_raw(name), f"{name}.toml")
    needed = set(whole.method.needed)
    for step in whole.steps:
        raw = _raw(name)
        raw["step"] = [s for s in raw["step"] if s["id"] != step.id]
        is_needed = (step.phase, step.each, step.records) in needed
        named = any(s.only_if is not None and s.only_if.step == step.id for s in whole.steps)
        if is_needed or named:
            with pytest.raises(Faulty):
                parse_procedure(raw, f"{name}.toml")
        else:
            assert len(parse_procedure(raw, f"{name}.toml").steps) == len(whole.steps) - 1
