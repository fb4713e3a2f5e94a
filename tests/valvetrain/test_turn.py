from __future__ import annotations

import math
import random
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelwise.valvetrain.cam import Cam, Events
from heelwise.valvetrain.engine import Valve, make_engine
from heelwise.valvetrain.positions import each_cylinder, fewest_positions
from heelwise.valvetrain.turn import (
    NOTHING_TELLS,
    Seen,
    landmark,
    seen_on_turn,
    turn_to,
    turns_in_words,
)
from tests.crank_model import Model, models, random_model, valves

ROAD = Cam(Events(25, 63, 74, 20), 0.0)
FOUR = make_engine([1, 3, 4, 2], damper_diameter_mm=200.0)
STEP = 0.5


@pytest.mark.parametrize(
    ("crank", "words"),
    [
        (0, "cylinder 1 at TDC on compression (4 at overlap)"),
        (360, "cylinder 4 at TDC on compression (1 at overlap)"),
        (719.96, "cylinder 1 at TDC on compression (4 at overlap)"),
        (12.5, "12.5° after cylinder 1 TDC on compression"),
        (90, "90° after cylinder 1 TDC on compression"),
        (91, "89° before cylinder 3 TDC on compression"),
        (715, "5° before cylinder 1 TDC on compression"),
    ],
)
def test_landmarks(crank: float, words: str) -> None:
    assert landmark(FOUR, crank) == words


def test_landmarks_of_engines_that_fire_oddly_or_together() -> None:
    assert landmark(make_engine([1, 2], [315, 405]), 0) == "cylinder 1 at TDC on compression"
    assert landmark(make_engine([1]), 500) == "220° before cylinder 1 TDC on compression"
    assert landmark(make_engine([1]), 360) == "360° after cylinder 1 TDC on compression"
    together = make_engine([1, 2, 3], [0, 400, 320])
    assert landmark(together, 10) == "10° after cylinders 1 and 2 TDC on compression"


@pytest.mark.parametrize(
    ("deg", "words"),
    [
        (0, "no turn"),
        (90, "1/4 turn"),
        (180, "1/2 turn"),
        (270, "3/4 turn"),
        (63, "about 1/6 turn"),
        (300, "5/6 turn"),
        (4, "under 1/12 turn"),
        (359.98, "1 turn"),
        (360, "1 turn"),
        (383.5, "1 turn and 23.5°"),
    ],
)
def test_turns_in_words(deg: float, words: str) -> None:
    assert turns_in_words(deg) == words


def test_a_turn_by_hand() -> None:
    # From 90 to 450. Intakes open at 335 and shut at 603 of their own cycle, exhausts 106 to 380.
    turn = turn_to(FOUR, ROAD, 90, 450, valves("1E", "3I", "3E"))
    assert (turn.turn_deg, turn.revolutions_text, turn.tape_mm) == (360, "1 turn", 0)
    assert turn.landmark == "90° after cylinder 4 TDC on compression"
    seen = [seen_on_turn(FOUR, ROAD, valve, 90, 360) for valve in FOUR.valves]
    assert {str(each.valve): (each.what, each.last_still_deg) for each in seen} == {
        "1I": ("rises", 0),
        "1E": ("rises and falls", 70),
        "2I": ("rises and falls", 27),  # from 155 to 423
        "2E": ("falls", 250),  # from 646 to 200
        "3I": ("stays still", 360),  # from 515
        "3E": ("rises", 0),  # from 286
        "4I": ("falls", 207),  # from 695 to 243
        "4E": ("stays still", 360),  # from 466
    }
    # The last of 1E, 3I and 3E to fall, and it does so once in a cycle: proof of both.
    assert turn.proof == "1E rises and falls, then stays still for the last 70°"


def test_tape_is_for_what_is_left_after_whole_turns() -> None:
    assert turn_to(FOUR, ROAD, 0, 90).tape_mm == pytest.approx(200 * math.pi / 4)
    assert turn_to(FOUR, ROAD, 0, 450).tape_mm == pytest.approx(200 * math.pi / 4)
    assert turn_to(make_engine([1]), ROAD, 0, 90).tape_mm is None


def test_a_lobe_that_is_left_and_met_again() -> None:
    # From 600 the intake of 1 falls at 603; 473 degrees on it rises at 335 again.
    valve = Valve.parse("1I")
    assert seen_on_turn(FOUR, ROAD, valve, 600, 470) == Seen(valve, "falls and rises", 0)
    assert seen_on_turn(FOUR, ROAD, valve, 400, 100).what == "is up all the way"


def test_no_turn_is_proved_by_what_is_up() -> None:
    turn = turn_to(FOUR, ROAD, 0, 0, valves("1I", "1E"))
    assert (turn.turn_deg, turn.revolutions_text) == (0, "no turn")
    name, words = re.fullmatch(r"(\d[IE]) (is .*)", turn.proof).groups()  # type: ignore[union-attr]
    model = Model((1, 3, 4, 2), (180.0,) * 4, 25, 63, 74, 20)
    assert model.is_up(name, 0) == words.startswith("is up")
    assert model.is_up(name, 360) != model.is_up(name, 0)


def states(model: Model, name: str, start: float, turn: float) -> list[bool]:
    """Up or down every half degree of a turn."""
    steps = max(round(turn / STEP), 0)
    return [model.is_up(name, start + turn * step / max(steps, 1)) for step in range(steps + 1)]


FALL = re.compile(r"(\d+[IE]) (rises and falls|falls), then stays still for the last (\d+)°")
STILL = re.compile(r"(\d+[IE]) stays still for the last (\d+)°")
STATE = re.compile(
    r"(\d+[IE]) is (down|up) on its (heel|lobe); one revolution off it would be (down|up) .*"
)


def holds(model: Model, sighting: str, start: float, turn: float) -> bool:
    """Whether one sighting is what a person would see during a turn."""
    if match := FALL.fullmatch(sighting):
        name, what, last = match[1], match[2], int(match[3])
        seen = states(model, name, start, turn)
        still = states(model, name, start + turn - last + STEP, last - STEP)
        before = model.is_up(name, start + turn - last - 1.5)
        rose = not seen[0] if what == "rises and falls" else seen[0]
        return rose and any(seen) and not any(still) and before and turn > last
    if match := STILL.fullmatch(sighting):
        last = int(match[2])
        return not any(states(model, match[1], start + turn - last, float(last)))
    match = STATE.fullmatch(sighting)
    assert match is not None, sighting
    return model.is_up(match[1], start + turn) == (match[2] == "up")


def sightings(proof: str) -> list[str]:
    """The sightings of a proof, which is nothing but these."""
    any_of = "|".join(re.sub(r"\((?!\?)", "(?:", form.pattern) for form in (FALL, STATE, STILL))
    found: list[str] = re.findall(any_of, proof)
    assert "; ".join(found) == proof
    return found


def check_proof(model: Model, start: float, end: float, chosen: list[Valve]) -> None:
    turn = turn_to(model.engine, model.cam, start, end, chosen)
    if NOTHING_TELLS in turn.proof:
        for name in model.names:
            here, off = model.margin(name, end), model.margin(name, end + 360)
            assert max(min(here, -off), min(-here, off)) < 5.1
        return
    seen = sightings(turn.proof)
    right = turn.turn_deg
    assert all(holds(model, each, start, right) for each in seen), turn.proof
    # A revolution out at the start; a revolution too many; a revolution too few.
    wrong = [(start + 360, right), (start, right + 360)]
    if right >= 360:
        wrong.append((start, right - 360))
    for begin, deg in wrong:
        assert not all(holds(model, each, begin, deg) for each in seen), turn.proof


@settings(deadline=None)
@given(models(8), st.integers(0, 719), st.integers(0, 719), st.data())
def test_what_is_said_to_prove_a_place_is_seen_there_and_nowhere_else(
    model: Model, start: int, end: int, data: st.DataObject
) -> None:
    names = data.draw(st.lists(st.sampled_from(model.names), unique=True, max_size=4))
    check_proof(model, start + 0.2, end + 0.2, valves(*names))


@pytest.mark.parametrize("seed", range(25))
def test_every_turn_of_a_plan_is_proved(seed: int) -> None:
    rng = random.Random(seed)
    model = random_model(rng, rng.choice([2, 4, 6, 8]), odd=seed % 3 == 0)
    before = 0.0
    for position in fewest_positions(model.engine, model.cam, 5.0).positions:
        chosen = [each.valve for each in position.valves]
        check_proof(model, before, position.crank_deg, chosen)
        before = position.crank_deg


@settings(deadline=None)
@given(models(6), st.integers(0, 719), st.integers(0, 719))
def test_what_lifters_do_on_the_way(model: Model, start: int, end: int) -> None:
    begin, finish = start + 0.2, end + 0.2
    deg = turn_to(model.engine, model.cam, begin, finish).turn_deg
    assert deg == (end - start) % 720
    words = {
        (False,): "stays still",
        (True,): "is up all the way",
        (False, True): "rises",
        (True, False): "falls",
        (False, True, False): "rises and falls",
        (True, False, True): "falls and rises",
    }
    for valve in model.engine.valves:
        each = seen_on_turn(model.engine, model.cam, valve, begin, deg)
        seen = states(model, str(valve), begin, deg)
        runs = [state for place, state in enumerate(seen) if not place or seen[place - 1] != state]
        low, high = model.lobe(str(each.valve))
        if min(high - low, 720 - high + low) < 2 * STEP:
            continue  # Too short a lobe or heel to be found by half degrees.
        assert each.what == words[tuple(runs)]
        still = len(seen) if True not in seen else seen[::-1].index(True)
        assert each.last_still_deg == pytest.approx(STEP * (still - 1), abs=1.01 * STEP)


def test_with_the_cam_not_known_only_what_any_cam_does_is_said() -> None:
    turn = turn_to(FOUR, None, 0, 180)
    assert turn.proof.startswith("3E stays still for the last 180°")
    assert turn_to(FOUR, None, 0, 270).proof.startswith("3I stays still for the last 90°")
    assert turn_to(FOUR, None, 0, 0).proof.startswith("1E is down")
    assert turn_to(make_engine([1]), None, 0, 360).proof == NOTHING_TELLS


ANY = re.compile(
    r"(\d+[IE]) (?:stays still for the last (\d+)°|is down and stays still when .*);"
    r" one revolution off it would be up or (?:falling|rising) there"
)


@pytest.mark.parametrize("seed", range(60))
def test_the_proof_with_the_cam_not_known_holds_with_any(seed: int) -> None:
    rng = random.Random(seed)
    cylinders = rng.choice([1, 2, 4, 6, 8])
    model = random_model(rng, cylinders, odd=False)
    # Cams with at least a little overlap, as four-stroke engines have them.
    model = Model(
        model.order, model.gaps, rng.uniform(8, 60), model.ivc, model.evo, rng.uniform(8, 60)
    )
    before = 0.0
    ends = [position.crank_deg for position in each_cylinder(model.engine, None).positions]
    for end in [*ends, rng.uniform(0, 720), rng.uniform(0, 720)]:
        turn = turn_to(model.engine, None, before, end)
        before = end
        if turn.proof == NOTHING_TELLS:
            assert cylinders <= 2
            continue
        match = ANY.fullmatch(turn.proof)
        assert match is not None, turn.proof
        last = int(match[2] or 0)
        assert not any(states(model, match[1], end - last, float(last)))
        little = 5 - min(last, 5)
        assert any(states(model, match[1], end + 360 - last - little, last + 2.0 * little))
