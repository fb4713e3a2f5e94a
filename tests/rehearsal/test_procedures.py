"""Every packaged procedure against the virtual engine: it ends, and catches what is planted."""

from collections.abc import Callable

import pytest

from heelwise.documents import quantities
from heelwise.documents.entries import AnyEntry, Checked, Gauged, Proved, Read, Received
from heelwise.documents.library import find_procedures
from heelwise.rehearsal.engine import CUP_MM
from heelwise.rehearsal.scenario import FAULTS, EngineFault
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.growth import MATERIALS, Part, gap_growth
from heelwise.walk.build import Build
from heelwise.walk.crank import TURN
from heelwise.walk.prompts import Prompt
from heelwise.walk.scene import Scene
from tests.rehearsal.driving import no_faults, rehearsed, with_fault
from tests.walk.driving import Drive, inches_in, procedure

NAMES = sorted(find_procedures())
STUD, SOLID, SHAFT = "stud-rockers", "solid-lifters", "shaft-rockers"
LIFTER = "solid-checking-lifter"
CHECKING, RECHECK = "adjustable-checking-pushrod", "recheck-running-engine"


def _mine(drive: Drive, valve: str) -> list[AnyEntry]:
    return [e for e in drive.kept if getattr(e.body, "valve", None) == valve]


def _proofs(drive: Drive, valve: str) -> list[str]:
    return [e.body.outcome for e in _mine(drive, valve) if isinstance(e.body, Proved)]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("card", "seed"), [("i4-1342", 2), ("v8-15426378", 3), ("single", 1)])
def test_each_ends_with_every_valve_proved(name: str, card: str, seed: int) -> None:
    drive = rehearsed(card, seed, name=name)
    drive.to_the_end()
    assert {row.proved for row in drive.outcome} <= {"clicked", "settled", "held"}
    assert {row.verdict for row in drive.outcome} <= {"inside", None}
    assert len(drive.outcome) == len(drive.build.engine.valves)


@pytest.mark.parametrize("name", NAMES)
def test_each_asks_only_on_the_heel_and_never_turns_a_loaded_lifter(name: str) -> None:
    drive = rehearsed("i6-153624", 1, name=name)
    while not drive.walker.closed:
        assert drive.from_the_record() == drive.prompt
        assert "{" not in drive.prompt.question + drive.prompt.why
        if drive.prompt.turns_crank:
            # The witness mark is made by turning its own valve, on a light spring.
            own = {drive.prompt.valve} if drive.prompt.records == "pattern" else set()
            assert not drive.walker.state.load_times
            assert drive.walker.state.trial_loaded <= own
        if drive.prompt.records in (
            "count",
            "gauge",
            "recheck",
            "checked",
            "lash_checked",
            "play",
            "proof",
        ):
            valves = drive.prompt.valves or (drive.prompt.valve,)
            assert all(valve and drive.scene.on_heel(valve) for valve in valves)
        drive.step()


@pytest.mark.parametrize("name", NAMES)
def test_each_says_what_comes_first_and_what_it_does_not_cover(name: str) -> None:
    made = procedure(name)
    for words in ("maker's sheet", "local codes", "licensed practice"):
        assert words in made.first
    assert made.covers_not
    assert "common practice" in made.source
    cautions = [step.caution for step in made.steps if step.caution]
    assert {"DANGER", "WARNING"} <= {caution.level for caution in cautions}
    told = " ".join(f"{c.hazard} {c.consequence} {c.avoid}" for c in cautions).lower()
    for words in ("battery", "plugs", "direction of rotation", "never force", "spring", "eye"):
        assert words in told
    asked = " ".join(step.say + step.why for step in made.steps)
    assert "checking springs" in asked


def test_every_fault_of_a_method_is_caught_wherever_it_is() -> None:
    """What a hands-off rehearsal plants leaves its mark in the record of that valve."""
    marks: dict[EngineFault, Callable[[list[AnyEntry]], bool]] = {
        EngineFault.LOCK_SLIPS: lambda found: _outcome(found, "slipped"),
        EngineFault.PLAY_LEFT: lambda found: _outcome(found, "play"),
        EngineFault.UNEVEN: lambda found: _outcome(found, "moved"),
        EngineFault.BOLT_MOVES: lambda found: _outcome(found, "moved"),
        EngineFault.SOLID_LEFT_IN: lambda found: any(e.body.kind == "not yet" for e in found),
        EngineFault.NOT_SEATED: lambda found: any(e.body.kind == "not yet" for e in found),
        EngineFault.NOT_BLED: _was_outside,
        EngineFault.LENGTH_OFF: _was_outside,
        EngineFault.SHIFTS: lambda found: _was_outside(found) or any(
            getattr(e.body, "answer", "") == "found" for e in found
        ),
    }  # fmt: skip
    for name in (STUD, SOLID, SHAFT, RECHECK, LIFTER):
        drive = rehearsed("v8-18436572", 5, name=name)
        drive.to_the_end()
        faults = [p for p in drive.planted if isinstance(p.fault, EngineFault)]
        assert len(faults) == len(FAULTS[drive.build.method.name])
        for planted in faults:
            if planted.fault in marks:
                assert marks[EngineFault(planted.fault)](_mine(drive, str(planted.valve))), planted


def _outcome(found: list[AnyEntry], word: str) -> bool:
    return any(isinstance(e.body, Proved) and e.body.outcome == word for e in found)


def _was_outside(found: list[AnyEntry]) -> bool:
    readings = [e.body for e in found if isinstance(e.body, Read | Gauged)]
    return any(body.verdict != "inside" for body in readings)


def test_a_lock_that_slips_is_set_locked_and_proved_again() -> None:
    drive = with_fault(EngineFault.LOCK_SLIPS, "3I", name=STUD)
    drive.to_the_end()
    assert _proofs(drive, "3I") == ["slipped", "held"]
    steps = [getattr(e.body, "step", e.body.kind) for e in _mine(drive, "3I")]
    assert steps == [
        *["read", "locked", "play", "proved"],
        *["read", "locked", "play", "proved"],
    ]


def test_the_proof_of_a_lock_is_made_elsewhere_on_the_heel() -> None:
    for name in (STUD, SOLID):
        drive = no_faults("v8-15426378", name=name)
        drive.to_the_end()
        for valve in drive.build.engine.valves:
            mine = _mine(drive, str(valve))
            kept = [e.body for e in mine if isinstance(e.body, Read | Gauged | Proved)]
            apart = abs((kept[-1].at_deg - kept[0].at_deg + 360) % 720 - 360)
            assert apart >= 39.9


def test_crossing_out_a_lock_takes_the_proof_with_it() -> None:
    drive = no_faults(name=STUD)
    drive.until(lambda p: p.id == "nothing-left")
    lock = next(e for e in drive.kept if getattr(e.body, "step", "") == "locked")
    valve = Valve.parse(str(getattr(lock.body, "valve", "")))
    assert drive.walker.state.valves[valve].proof is not None
    drive.walker.cross_out(lock.number, "the set screw was left loose")
    assert drive.walker.state.valves[valve].proof is None
    drive.until(lambda p: p.id == "locked" and p.valve == valve)
    drive.to_the_end()


def test_the_middle_of_the_window_or_a_chosen_count_is_given() -> None:
    drive = no_faults(name=STUD)
    drive.until(lambda p: p.records == "count")
    assert drive.prompt.heading.startswith("give 5/8 turn,")
    assert drive.prompt.option("c") is None
    drive.step("1 1/8")
    assert "LONG" in drive.said[-1]
    assert [o.key for o in drive.prompt.options if o.key.isdigit()] == ["1", "3", "4"]


def test_lash_cold_is_the_hot_figure_less_what_the_engine_grows() -> None:
    """0.36 mm hot; 118 mm iron, 84 mm aluminum less a 218 mm pushrod; 70 K, ratio 1.45."""
    drive = no_faults(name=SOLID)
    prompt = drive.until(lambda p: p.records == "gauge" and str(p.valve) == "1I")
    grows = 70 * (11.4e-6 * 118 + 21.5e-6 * 84 - 11.5e-6 * 218)
    assert grows == pytest.approx(_grown(), rel=1e-9)
    facts = {fact.text: fact.source for fact in prompt.facts}
    assert f"{0.36 - 1.45 * grows:.2f} mm" in next(iter(facts))
    hot = next(text for text in facts if text.endswith("hot"))
    assert hot.startswith("0.014 in (0.36 mm)")
    assert facts[hot] == "the setup: the maker's sheet"
    assert "Callister" in next(iter(facts.values()))


def _grown() -> float:
    stack = [Part(118, MATERIALS["gray iron"]), Part(84, MATERIALS["aluminum 356.0"])]
    return gap_growth(stack, Part(218, MATERIALS["steel 4130"]))


def test_a_lash_that_shifts_as_it_is_locked_is_set_anew() -> None:
    drive = with_fault(EngineFault.SHIFTS, "2E", "i4-1342", name=SOLID)
    drive.to_the_end()
    gauged = [e.body for e in _mine(drive, "2E") if isinstance(e.body, Gauged)]
    assert [(body.locked, body.verdict) for body in gauged] == [
        *[(False, "inside"), (True, "loose")],
        *[(False, "inside"), (True, "inside")],
    ]


def test_a_lash_set_up_the_lobe_is_found_loose_elsewhere() -> None:
    drive = with_fault(EngineFault.UP_THE_LOBE, "4I", "i4-1342", name=SOLID)
    drive.to_the_end()
    assert _proofs(drive, "4I") == ["loose", "held"]


def test_a_valve_without_lash_is_never_accepted() -> None:
    drive = no_faults(name=SOLID)
    drive.until(lambda p: p.records == "gauge")
    drive.step("0 in")
    assert "TIGHT" in drive.said[-1]
    assert drive.prompt.option("4") is None


def test_a_pushrod_by_its_length_at_zero_lash_lands_inside() -> None:
    drive = no_faults("v8-15426378", name=CHECKING)
    drive.to_the_end()
    checked = [e.body for e in drive.kept if isinstance(e.body, Checked)]
    assert {body.valve[-1] for body in checked} == {"I", "E"}
    for body in checked:
        assert body.wanted_mm == pytest.approx(quantities.length_mm(body.length) + 1.2)
        fitted = next(e.body for e in _mine(drive, body.valve) if isinstance(e.body, Received))
        assert abs(quantities.length_mm(fitted.pushrod) - body.wanted_mm) <= 0.5
    firsts = [e.body for e in drive.kept if isinstance(e.body, Read)][: len(drive.outcome)]
    assert {body.verdict for body in firsts} == {"inside"}


@pytest.mark.parametrize("seed", range(4))
def test_a_pushrod_by_its_lash_on_a_solid_lifter_lands_inside(seed: int) -> None:
    drive = no_faults("v8-15426378", seed, name=LIFTER)
    drive.to_the_end()
    assert drive.truth.cup_solid_mm != CUP_MM
    checked = [e.body for e in drive.kept if isinstance(e.body, Checked)]
    assert {body.valve[-1] for body in checked} == {"I", "E"}
    for body in checked:
        touching = drive.truth.rockers[Valve.parse(body.valve)].touching
        assert body.zero_lash_mm == pytest.approx(touching, abs=0.04)
        assert body.wanted_mm == pytest.approx(touching + 1.2, abs=0.04)
    for valve in drive.build.engine.valves:
        bought = next(e.body for e in _mine(drive, str(valve)) if isinstance(e.body, Received))
        preload = drive.truth.preload_mm(valve, quantities.length_mm(bought.pushrod))
        assert 0.60 <= preload <= 1.80


def test_a_solid_lifter_left_in_is_taken_out_before_the_crank_turns() -> None:
    drive = with_fault(EngineFault.SOLID_LEFT_IN, "1I", name=LIFTER)
    drive.until(lambda p: p.id == "lifter-back")
    drive.step()
    assert drive.prompt.id == "lifter-back"
    assert "came from this bore" in drive.prompt.why
    assert not any(isinstance(e.body, Received) for e in drive.kept)
    drive.to_the_end()
    assert {row.verdict for row in drive.outcome} == {"inside"}


def test_a_plunger_that_was_down_shows_when_the_set_is_counted() -> None:
    drive = with_fault(EngineFault.NOT_BLED, "1I", "i4-1342", seed=0, name=CHECKING)
    drive.to_the_end()
    first = next(e.body for e in _mine(drive, "1I") if isinstance(e.body, Read))
    assert first.verdict != "inside"
    assert {row.verdict for row in drive.outcome} == {"inside"}


def test_a_stand_is_drawn_down_before_its_valves_are_gauged_and_proved_as_one() -> None:
    drive = with_fault(EngineFault.UNEVEN, "3E", name=SHAFT)
    drive.to_the_end()
    assert _proofs(drive, "3E") == ["moved", "clicked"]
    assert _proofs(drive, "3I") == ["moved", "clicked"]
    kinds = [e.body.kind for e in drive.kept if "3E" in _about(e)]
    assert kinds.index("drawn down") < kinds.index("gauged") < kinds.index("proved")
    assert kinds.count("gauged") == 2


def _about(entry: AnyEntry) -> list[str]:
    return [*getattr(entry.body, "valves", []), str(getattr(entry.body, "valve", ""))]


def test_crossing_out_that_a_stand_is_down_takes_its_gaps_with_it() -> None:
    drive = no_faults(name=SHAFT)
    drive.until(lambda p: p.id == TURN and p.phase == "fit" and bool(_gauged(drive)))
    before = _gauged(drive)
    told = next(e for e in drive.kept if getattr(e.body, "step", "") == "stand-drawn")
    drive.walker.cross_out(told.number, "one bolt was missed")
    assert {e.number for e in before[:2]} <= drive.walker.state.void
    drive.to_the_end()
    assert {row.verdict for row in drive.outcome} == {"inside"}


def _gauged(drive: Drive) -> list[AnyEntry]:
    return [e for e in drive.kept if isinstance(e.body, Gauged)]


def test_a_gap_outside_slackens_the_whole_stand() -> None:
    drive = with_fault(EngineFault.LENGTH_OFF, "6E", name=SHAFT)
    prompt: Prompt = drive.until(lambda p: p.id == "walk/outside")
    assert str(prompt.valve) == "6E"
    drive.step("1")
    assert _about(drive.kept[-1])[:2] == ["6I", "6E"]
    drive.to_the_end()
    assert {row.verdict for row in drive.outcome} == {"inside"}


def test_the_gap_shows_the_preload_by_hand() -> None:
    """Plunger travel 4.6, ratio 1.55: preload 0.6 to 1.8 leaves 4.0 to 2.8, × 1.55."""
    drive = no_faults(name=SHAFT)
    drive.until(lambda p: p.records == "gauge")
    drive.step("5.27 mm")
    assert inches_in(drive.said[-1])[1:] == [0.171, 0.244, 0.047]


def test_a_shaft_of_a_whole_bank_says_which_valves_are_on_a_lobe() -> None:
    drive = no_faults("v8-18436572", name=SHAFT)
    raw = drive.setup.to_toml_dict()
    banks = [[1, 3, 5, 7], [2, 4, 6, 8]]
    raw["rocker"]["stands"] = [[f"{c}{k}" for c in bank for k in ValveKind] for bank in banks]
    drive = drive.on(raw)
    prompt = drive.until(lambda p: p.records == "drawn")
    assert any("on a lobe here" in fact.text for fact in prompt.facts)
    drive.to_the_end()
    assert {row.verdict for row in drive.outcome} == {"inside"}
    assert sum(e.body.kind == "drawn down" for e in drive.kept) == 2


def test_an_engine_that_has_run_is_proved_as_found_then_a_sample_is_counted() -> None:
    drive = no_faults("v8-15426378", name=RECHECK)
    drive.to_the_end()
    proofs = [e.number for e in drive.kept if isinstance(e.body, Proved)]
    counts = [e for e in drive.kept if isinstance(e.body, Read)]
    assert len(counts) >= 2
    assert len([n for n in proofs if n < counts[0].number]) == 16
    assert all(
        e.body.kind in ("unloaded", "answered") for e in drive.kept[counts[0].number - 3 :][:2]
    )


def test_every_valve_can_be_counted() -> None:
    drive = no_faults(name=RECHECK)
    drive.until(lambda p: p.id == "how-many")
    drive.step("2")
    drive.to_the_end()
    assert {row.verdict for row in drive.outcome} == {"inside"}


def test_a_bolt_found_loose_is_counted_whatever_the_sample() -> None:
    drive = with_fault(EngineFault.BOLT_MOVES, "7E", name=RECHECK)
    drive.to_the_end()
    assert _proofs(drive, "7E")[0] == "moved"
    assert next(o for o in drive.outcome if o.valve == "7E").verdict == "inside"


def test_a_plunger_still_down_reads_short_and_is_counted_once_more() -> None:
    drive = with_fault(EngineFault.NOT_BLED, "2E", "i4-1342", seed=0, name=RECHECK)
    drive.until(lambda p: p.id == "how-many")
    drive.step("2")
    drive.to_the_end()
    counts = [e.body.verdict for e in _mine(drive, "2E") if isinstance(e.body, Read)]
    assert counts == ["short", "inside"]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("answer", ["1", "2"])
def test_each_can_be_walked_with_a_cam_that_is_not_known(name: str, answer: str) -> None:
    drive = no_faults(name=name)
    raw = drive.setup.to_toml_dict()
    raw["cam"] = {"known": False}
    drive = drive.on(raw)
    drive.step(answer)
    drive.to_the_end()
    assert {row.proved for row in drive.outcome} <= {"clicked", "settled", "held"}


def test_a_procedure_can_only_narrow_the_lifter_sheet_s_window() -> None:
    drive = no_faults()
    for own, said in (
        ((0.875, 2.0), (0.875, 1.125)),
        ((0.0, 1.0), (0.375, 1.0)),
        ((2.0, 3.0), None),
    ):
        made = drive.build.procedure
        limits = {"least_turns": own[0], "most_turns": own[1]}
        narrowed = made.model_copy(update={"defaults": made.defaults.model_copy(update=limits)})
        window = Scene(Build(drive.setup, narrowed), drive.walker.state).window
        assert (window.least_turns, window.most_turns) == pytest.approx(said or (0.375, 1.125))
        assert bool(window.notes) is (said is None)
        assert ("narrowed by the procedure" in window.source) is (said is not None)


def test_the_sealant_s_words_stand_beside_the_step_on_through_bolts() -> None:
    note = "Ours cures in an hour."
    drive = no_faults().following(sealant_note=note)
    prompt = drive.until(lambda p: p.id == "through-bolts")
    assert [f.text for f in prompt.facts if f.source == "the procedure"] == [note]


@pytest.mark.parametrize("seed", [1, 4])
def test_turns_of_an_adjusting_screw_give_the_preload_its_pitch_says(seed: int) -> None:
    drive = Drive("i6-153624", seed, planted=(), name="shaft-adjusters")
    drive.to_the_end()
    pitch = drive.build.setup.travel_in_play().used.mm
    assert pitch == pytest.approx(25.4 / 24)
    for read in (entry.body for entry in drive.kept if isinstance(entry.body, Read)):
        turns = quantities.turns(read.turns)
        given = drive.truth.preload_after_mm(Valve.parse(read.valve), 207.0, turns)
        assert given == pytest.approx(turns * pitch, abs=0.05)
