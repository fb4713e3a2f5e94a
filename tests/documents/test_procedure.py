"""Procedures: every fault of every step at once, naming the step."""

import copy
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.documents.faults import Faulty
from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import (
    kept_procedure,
    load_procedure,
    parse_procedure,
    procedure_digest,
)
from heelwise.documents.steps import Records, Step

SMALL = """
format = 1
[procedure]
title = "A small one"
for_mount = ["bolt-down"]
for_lifter = ["hydraulic roller"]
source = "common practice, no source"
[defaults]
margin_deg = 12
hold_minutes = { dry = 1, soaked = 2, pumped = 3, used = 4 }
least_turns = "1/2"
most_turns = 1
[[step]]
id = "bolts"
phase = "prepare"
each = "build"
say = "Do any bolts go through? They want {torque}."
why = "w"
ask = "choice"
records = "through_bolts"
options = [
    { key = "1", label = "yes", value = "through" },
    { key = "2", label = "no", value = "blind" },
]
[[step]]
id = "heads"
phase = "prepare"
each = "build"
say = '''
Are the heads
on?'''
why = "w"
caution = { level = "WARNING", hazard = "h", consequence = "c", avoid = "a" }
ask = "confirm"
yes = "on"
if_not = "put them on"
[[step]]
id = "sealant"
phase = "fit"
each = "valve"
say = "{valve} in {bank} at {position}: {pushrod}, {turns}"
why = "w"
ask = "confirm"
yes = "on"
if_not = "put it on, {valve}"
only_if = { step = "bolts", is = "through" }
guard = false
[[step]]
id = "count"
phase = "fit"
each = "valve"
say = "Turns?"
why = "w"
ask = "turns"
records = "count"
[[step]]
id = "trial-count"
phase = "trial"
each = "valve"
say = "Turns?"
why = "w"
ask = "turns"
records = "count"
[[step]]
id = "proof"
phase = "prove"
each = "valve"
say = "What did it do?"
why = "w"
ask = "choice"
records = "proof"
options = [
    { key = "1", label = "clicked", value = "clicked" },
    { key = "2", label = "moved", value = "moved" },
]
[[step]]
id = "reference"
phase = "prepare"
each = "build"
say = "Cylinder 1 on compression?"
why = "w"
ask = "confirm"
records = "crank_reference"
yes = "there"
if_not = "one more turn"
"""


def small() -> dict[str, Any]:
    return copy.deepcopy(tomllib.loads(SMALL))


def told(change: Callable[[dict[str, Any]], object]) -> list[str]:
    raw = small()
    change(raw)
    with pytest.raises(Faulty) as refused:
        parse_procedure(raw, "p.toml")
    return [str(fault) for fault in refused.value.faults]


def test_what_a_procedure_comes_to() -> None:
    made = parse_procedure(small(), "shop/My own_2.toml")
    assert made.id == "my-own-2"
    assert made.digest == procedure_digest(made.text.encode())
    assert made.defaults.margin_deg == 12.0
    assert made.defaults.hold_minutes["pumped"] == 3.0
    assert (made.defaults.least_turns, made.defaults.most_turns) == (0.5, 1.0)
    heads = made.step("heads")
    assert heads is not None
    assert heads.say == "Are the heads on?"
    assert heads.caution is not None
    assert heads.caution.level == "WARNING"
    assert made.step("nothing") is None
    assert made.serves("bolt-down", "hydraulic roller")
    assert not made.serves("stud", "hydraulic roller")


def test_keys_of_earlier_versions_are_read_and_a_step_without_a_title_gets_one() -> None:
    raw = small()
    raw["step"][3]["fills"] = raw["step"][3].pop("records")
    made = parse_procedure(raw, "p.toml")
    assert made.steps[2].title == "sealant"  # which has a guard too
    assert made.steps[3].records is Records.COUNT


@pytest.mark.parametrize(
    ("number", "change", "said"),
    [
        (0, {"phase": "begin"}, 'step 1 (bolts).phase: is "begin"; write one of: fit, prepare'),
        (0, {"ask": "chioce"}, 'did you mean choice?'),
        (0, {"say": "Now {valve}"}, "step 1 (bolts).say: {valve} has no meaning in a step of each"),
        (2, {"say": "Now {vale}"}, "{vale} has no meaning in a step of each valve; what can"),
        (2, {"why": "a } b"}, "step 3 (sealant).why: has a single brace"),
        (2, {"if_not": "{x}"}, "step 3 (sealant).if_not: {x} has no meaning"),
        (1, {"caution": {"level": "NOTE", "hazard": "h", "consequence": "c", "avoid": "a"}},
         'step 2 (heads).caution.level: is "NOTE"; did you mean NOTICE?'),
        (1, {"each": "valve"}, "a step of each valve is never reached in prepare"),
        (1, {"each": "position"}, "a step of each position is never reached in prepare"),
        (1, {"id": "bolts"}, "step 2 (bolts).id: is the id of step 1 (bolts) too"),
        (1, {"id": "The Heads"}, "step 2 (The Heads).id: "),
        (1, {"options": []}, "step 2 (heads).options: has no place"),
        (1, {"records": "heads"}, 'step 2 (heads).records: is "heads"'),
        (1, {"records": "proof"}, 'step 2 (heads).ask: is "confirm"; proof is recorded by ask'),
        (0, {"options": []}, "step 1 (bolts).options: are fewer than two"),
        (0, {"options": [{"key": "1", "label": "l", "value": "through"},
                         {"key": "1", "label": "l", "value": "blind"}]},
         'step 1 (bolts).options: the key "1" is given twice'),
        (0, {"options": [{"key": "1", "label": "l", "value": "through"},
                         {"key": "2", "label": "l", "value": "blnd"}]},
         'through_bolts can\'t be "blnd"; did you mean blind?'),
        (0, {"options": [{"key": "s", "label": "l", "value": "through"},
                         {"key": "2", "label": "l", "value": "blind"}]},
         'the key "s" skips a step'),
        (0, {"options": [{"key": "!", "label": "l", "value": "through"},
                         {"key": "2", "label": "l", "value": "blind"}]},
         '"!" can\'t be a key; a single letter or digit'),
        (0, {"options": [{"key": "1", "label": "l", "value": "through", "first": "f", "note": "n"},
                         {"key": "2", "label": "l", "value": "blind"}]},
         "step 1 (bolts).options 1.note: goes with an answer that is kept"),
        (2, {"only_for": "rollers"}, 'step 3 (sealant).only_for: is "rollers"; did you mean'),
        (3, {"yes": "y"}, "step 4 (count).yes: has no place"),
        (3, {"say": ""}, "step 4 (count).say: is empty"),
        (3, {"say": "x" * 2000}, "step 4 (count).say: is too long"),
        (3, {"say": "\x1b[2J"}, "step 4 (count).say: \"^[[2J\" has control characters"),
        (3, {"only_if": {"step": "bols", "is": "x"}}, 'no step "bols"; did you mean bolts?'),
        (3, {"only_if": {"step": "bolts", "is": "thru"}}, "so the step is never reached"),
        (3, {"only_if": {"step": "heads", "is": "no"}}, "so the step is never reached"),
        (3, {"only_if": {"step": "count", "is": "1"}}, 'the step "count" comes later'),
        (0, {"only_if": {"step": "sealant", "is": "yes"}}, 'the step "sealant" comes later'),
        (3, {"only_if": {"step": "bolts"}}, "step 4 (count).only_if.is: is missing"),
        (3, {"recods": "count"}, "(count).recods: there is no such key; did you mean records?"),
        (3, {"skippable": 1}, "step 4 (count).skippable: is 1; write true or false"),
    ],
)  # fmt: skip
def test_one_thing_wrong_with_a_step(number: int, change: dict[str, object], said: str) -> None:
    faults = told(lambda raw: raw["step"][number].update(change))
    assert any(said in fault for fault in faults)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda raw: raw["step"][1].pop("if_not"), ["step 2 (heads).if_not: is missing"]),
        (lambda raw: raw["step"][1].pop("yes"), ["step 2 (heads).yes: is missing"]),
        (lambda raw: raw["step"][1].pop("why"), ["step 2 (heads).why: is missing"]),
        (lambda raw: raw.pop("step"), ["step: is missing; add it, like a [[step]] table"]),
        (lambda raw: raw.update(step=3), ["step: is 3; write an array"]),
        (lambda raw: raw["step"].append("x"), ['step 8: is "x"; write a table']),
        (lambda raw: raw.pop("procedure"), ["procedure: is missing"]),
        (lambda raw: raw.pop("format"), ["format: is missing"]),
        (lambda raw: raw.update(format=9, step=0), ["format: made for a newer Heelwise"]),
        (
            lambda raw: raw["procedure"].update(for_mount=["stand"], for_lifter=[]),
            ["procedure.for_mount 1: ", "procedure.for_lifter: "],
        ),
        (lambda raw: raw["defaults"].update(least_turns=2), ["defaults.least_turns: 2 is more"]),
        (lambda raw: raw["defaults"].pop("most_turns"), ["defaults.most_turns: is missing"]),
        (lambda raw: raw["defaults"].update(margin_deg=-1), ["defaults.margin_deg: is -1"]),
        (lambda raw: raw["defaults"].update(rule="guess"), ["defaults.rule: "]),
        (
            lambda raw: raw["defaults"]["hold_minutes"].update(soak=raw["defaults"][
                "hold_minutes"].pop("soaked")),
            ["defaults.hold_minutes.soaked: is missing", "defaults.hold_minutes.soak: isn't a"],
        ),
        (
            lambda raw: raw["defaults"]["hold_minutes"].update(dry="2"),
            ['defaults.hold_minutes.dry: "2" is text, not a number'],
        ),
    ],
)  # fmt: skip
def test_what_is_missing_or_of_the_wrong_shape(
    change: Callable[[dict[str, Any]], object], said: list[str]
) -> None:
    faults = told(change)
    assert len(faults) == len(said)
    for fault, begins in zip(faults, said, strict=True):
        assert fault.startswith(begins)


def test_a_condition_on_an_answer_given_for_each_valve_needs_the_same_valve() -> None:
    def condition(raw: dict[str, Any]) -> None:
        raw["step"].append(raw["step"][1] | {"id": "after", "phase": "prove", "each": "build",
            "only_if": {"step": "sealant", "is": "yes"}})  # fmt: skip

    (fault,) = told(condition)
    assert 'step 8 (after).only_if: the step "sealant" has many answers' in fault


def test_everything_wrong_is_told_at_once_by_step() -> None:
    def spoil(raw: dict[str, Any]) -> None:
        raw["step"][3]["ask"] = "turn"
        raw["step"][0]["options"] = []
        del raw["step"][1]["if_not"]
        raw["defaults"]["least_turns"] = 5

    faults = told(spoil)
    places = [fault.split(" ")[0] + fault.split(" ")[1] for fault in faults]
    assert places == sorted(places)
    assert {"step1", "step2", "step4"} < set(places)


def test_the_digest_is_of_the_text_whatever_its_line_ends() -> None:
    import hashlib

    assert procedure_digest(b"a\r\nb\r\n") == hashlib.sha256(b"a\nb\n").hexdigest()


@pytest.mark.parametrize("path", find_procedures().values(), ids=lambda path: path.stem)
def test_the_packaged_procedures_are_whole(path: Path) -> None:
    made = load_procedure(path)
    assert made.id == path.stem
    assert made.digest == procedure_digest(made.text.encode())
    again, unknown = kept_procedure(made.text, made.id)
    assert (again, unknown) == (made, ())
    assert {step.phase for step in made.steps} >= {"prepare", "fit", "prove", "sign off"}


def test_a_flood_of_steps_and_options_becomes_a_few_short_lines() -> None:
    def flood(raw: dict[str, Any]) -> None:
        raw["step"][0]["options"] = [{"key": "1", "value": str(n)} for n in range(20_000)]
        raw["step"] += [{"id": f"s{n}", "only_if": {"step": f"q{n}"}} for n in range(490)]

    faults = told(flood)
    assert len(faults) == 201
    assert max(map(len, faults)) <= 500


_VALUES = st.one_of(
    st.text(alphabet="{}valvebnk ", max_size=12),
    st.integers(),
    st.lists(st.text(max_size=3), max_size=3),
    st.dictionaries(st.text(max_size=4), st.integers(), max_size=2),
    st.sampled_from(["build", "valve", "fit", "choice", "confirm", "turns", "count", "bolts"]),
)


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_any_values_make_a_procedure_or_faults(data: st.DataObject) -> None:
    raw = small()
    for _ in range(data.draw(st.integers(1, 4))):
        step = data.draw(st.sampled_from(raw["step"]))
        step[data.draw(st.sampled_from(sorted(step)))] = data.draw(_VALUES)
    steps, lines = _made_or_told(raw)
    assert len({step.id for step in steps}) in (0, len(raw["step"]))
    assert bool(steps) != bool(lines)
    assert all(line.startswith("p.toml: ") for line in lines)


def _made_or_told(raw: dict[str, Any]) -> tuple[tuple[Step, ...], tuple[str, ...]]:
    try:
        return parse_procedure(raw, "p.toml").steps, ()
    except Faulty as refused:
        return (), refused.lines()
