"""No order of answers reaches a signature with a valve unproved or a plunger at its end."""

from __future__ import annotations

from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from heelwise.documents import quantities
from heelwise.documents.entries import (
    Accepted,
    Answered,
    AnyEntry,
    BackedOff,
    Checked,
    Crank,
    Drawn,
    Fitted,
    Gauged,
    IndependentProof,
    NoClick,
    Proved,
    PutRight,
    Read,
    SignedOff,
    Trouble,
)
from heelwise.documents.entry_base import PASSING
from heelwise.valvetrain.cam import margin
from heelwise.valvetrain.engine import Valve
from heelwise.walk.crank import TURN
from heelwise.walk.finding import FIND_MARK, WATCH_ONE
from heelwise.walk.prompts import Refused
from heelwise.walk.prove import CLOSED
from heelwise.walk.state import WENT_SOLID, fold
from tests.walk.driving import Drive

TURNS = ("1/8", "1/2", "3/4", "1", "1 1/4", "1 3/8", "2", "3", "0", "495°", "x", "-1")
LENGTHS = ("7.400 in", "7.350 in", "187 mm", "9 in", "7,4 in")
GAPS = ("0.015 in", "0.017 in", "0.020 in", "0.24 in", "0 in")
TURNS_IT = (TURN, FIND_MARK, WATCH_ONE, "first-turn")
READ_ON_THE_HEEL = ("count", "gauge", "recheck", "checked", "lash_checked", "play", "proof")


class AnyOrder(RuleBasedStateMachine):
    """A hasty person: any option, any reading, crossing out and pausing at any moment."""

    procedure = "bolt-down-rockers"
    second_person = "1"

    def __init__(self) -> None:
        super().__init__()
        self.drive = Drive("i2-360", 1, planted=(), name=self.procedure)
        self.drive.until(lambda p: p.records == "second_person")
        self.drive.step(self.second_person)
        self.drive.until(lambda p: p.phase != "prepare")

    @rule(many=st.integers(1, 25))
    def go_on_as_the_engine_would(self, many: int) -> None:
        for _ in range(many):
            if not self.drive.walker.closed:
                self.drive.step()

    @precondition(lambda self: self.drive.prompt.options)
    @rule(pick=st.integers(0, 13), text=st.sampled_from(["R. Signer", "7.350 in", "why not"]))
    def any_option(self, pick: int, text: str) -> None:
        options = self.drive.prompt.options
        option = options[pick % len(options)]
        self._try(option.key, tuple(text for _ in option.wants))

    @rule(reading=st.sampled_from(TURNS + LENGTHS + GAPS + ("5°", "179", "")))
    def any_reading(self, reading: str) -> None:
        self._try(reading, ())

    @rule(back=st.integers(0, 40))
    @precondition(lambda self: len(self.drive.kept) > 1)
    def cross_out(self, back: int) -> None:
        number = max(1, len(self.drive.kept) - back)
        try:
            self.drive.walker.cross_out(number, "hasty")
        except Refused:
            return

    @rule()
    def pause(self) -> None:
        try:
            self.drive.walker.pause()
        except Refused:
            assert self.drive.walker.closed

    @rule()
    def lose_the_crank(self) -> None:
        try:
            self.drive.walker.lose_crank("bumped")
        except Refused:
            return

    @rule(to=st.sampled_from(["T1", "BR", " t1"]))
    def hand_over(self, to: str) -> None:
        try:
            self.drive.walker.hand_over(to)
        except Refused:
            assert self.drive.walker.closed

    def _try(self, answer: str, texts: tuple[str, ...]) -> None:
        before = len(self.drive.kept)
        try:
            self.drive.walker.reply(answer, texts)
        except Refused:
            assert len(self.drive.kept) == before, "a refused answer keeps nothing"

    @invariant()
    def the_prompt_is_the_records(self) -> None:
        assert self.drive.from_the_record() == self.drive.prompt

    @invariant()
    def the_crank_never_turns_on_a_loaded_lifter(self) -> None:
        if not self._turns():
            return
        state = self.drive.walker.state
        assert state.lifters == "dry" or not state.load_times  # a dry lifter holds no oil
        assert not self._gear_in(), self.drive.prompt.id

    @invariant()
    def a_solid_crank_is_never_turned_and_nothing_is_signed_with_a_trouble_open(self) -> None:
        open_now = self._open_troubles()
        assert not (self.drive.prompt.turns_crank and WENT_SOLID in open_now.values())
        if isinstance(self.drive.kept[-1].body, SignedOff):
            assert not open_now

    def _open_troubles(self) -> dict[int, str]:
        """Looked up in the entries themselves."""
        entries = self.drive.kept
        void = fold(self.drive.build.engine.valves, entries).void
        held = [e for e in entries if e.number not in void]
        right = {e.body.of for e in held if isinstance(e.body, PutRight)}
        said = {e.number: e.body.what for e in held if isinstance(e.body, Trouble)}
        return {number: what for number, what in said.items() if number not in right}

    def _turns(self) -> bool:
        """Whether the prompt sends the crank round."""
        prompt = self.drive.prompt
        step = self.drive.build.procedure.step(prompt.id)
        own = step is not None and (step.turns_crank or step.records == "crank_reference")
        assert prompt.turns_crank or not (own or prompt.id in TURNS_IT)
        return prompt.turns_crank

    def _gear_in(self) -> set[str]:
        """Valves with trial gear in, looked up in the entries themselves."""
        entries = self.drive.kept
        found: set[str] = set()
        void = fold(self.drive.build.engine.valves, entries).void
        for entry in entries:
            body = entry.body
            if isinstance(body, BackedOff) and entry.number not in void:
                found -= set(body.valves)
            elif isinstance(body, Fitted) and body.phase != "trial" and entry.number not in void:
                found -= {body.valve}
            elif _puts_gear_in(entry):
                found |= set(_named(entry))
        return found

    @invariant()
    def only_valves_on_their_heel_are_asked_for(self) -> None:
        prompt = self.drive.prompt
        if prompt.records in READ_ON_THE_HEEL and prompt.phase != "prepare":
            valves = prompt.valves or (prompt.valve,)
            assert all(valve and self.drive.scene.on_heel(valve) for valve in valves)

    @invariant()
    def a_signature_stands_on_proofs(self) -> None:
        if not isinstance(self.drive.kept[-1].body, SignedOff):
            return
        assert self.drive.prompt.id == CLOSED
        for valve in self.drive.build.engine.valves:
            self._is_proved(valve)

    def _is_proved(self, valve: Valve) -> None:
        """Looked up in the entries themselves, not in what the walk made of them."""
        entries, name = self.drive.kept, str(valve)
        void = fold(self.drive.build.engine.valves, entries).void
        mine = [e for e in entries if name in _named(e)]
        held = [e for e in mine if e.number not in void]
        proof = [e for e in held if isinstance(e.body, Proved)][-1]
        assert isinstance(proof.body, Proved)
        assert proof.body.outcome in PASSING
        loosening = [e.number for e in mine if e.body.kind in ("unloaded", "fitted", "ceiling")]
        assert all(n < proof.number for n in loosening)
        self._is_read(valve, held, proof)
        self._is_locked(held, proof)
        self._is_proved_apart(held, proof)

    def _is_read(self, valve: Valve, held: list[AnyEntry], proof: AnyEntry) -> None:
        found = [e for e in held if isinstance(e.body, Read | Gauged) and e.body.phase != "trial"]
        if not found:
            assert self.procedure == "recheck-running-engine"
            return
        read = found[-1]
        assert isinstance(read.body, Read | Gauged)
        assert proof.number > read.number
        if isinstance(read.body, Read):
            assert quantities.turns(read.body.turns) < read.body.never_past_turns
        else:
            assert read.body.verdict == "inside" or quantities.length_mm(read.body.reading) > 0
        accepted = [e for e in held if isinstance(e.body, Accepted) and e.body.of == read.number]
        assert read.body.verdict == "inside" or accepted
        self._stood_on_its_heel(valve, read.body.at_deg, read.rests_on)
        drawn = [e.number for e in held if isinstance(e.body, Drawn)]
        slack = [e.number for e in held if e.body.kind in ("backed off", "fitted")]
        if self.procedure == "shaft-rockers":
            assert max(slack, default=0) < drawn[-1] < read.number

    def _is_locked(self, held: list[AnyEntry], proof: AnyEntry) -> None:
        if self.procedure not in ("stud-rockers", "solid-lifters"):
            return
        locks = [e.number for e in held if getattr(e.body, "step", "") == "locked"]
        settings = [
            e.number
            for e in held
            if isinstance(e.body, Read) or (isinstance(e.body, Gauged) and not e.body.locked)
        ]
        assert settings[-1] < locks[-1] < proof.number
        if self.procedure == "solid-lifters":
            after = [e for e in held if isinstance(e.body, Gauged) and e.body.locked]
            assert locks[-1] < after[-1].number < proof.number

    def _is_proved_apart(self, held: list[AnyEntry], proof: AnyEntry) -> None:
        # Crossing the wish out and answering anew does without.
        if self.drive.walker.state.answers["second_person"] != "wanted":
            return
        apart = [e for e in held if isinstance(e.body, IndependentProof)][-1]
        assert isinstance(apart.body, IndependentProof)
        assert apart.body.outcome in PASSING
        assert apart.number > proof.number
        assert apart.by.strip().lower() != proof.by.strip().lower()

    def _stood_on_its_heel(self, valve: Valve, at_deg: float, rests: tuple[int, ...]) -> None:
        cam = self.drive.build.cam
        assert cam is not None
        assert margin(self.drive.build.engine, cam, valve, at_deg) >= self.drive.build.margin_deg
        places = [self.drive.kept[n - 1].body for n in rests]
        assert any(isinstance(p, Crank) and p.at_deg == at_deg for p in places)


def _puts_gear_in(entry: AnyEntry) -> bool:
    body = entry.body
    if isinstance(body, Checked):
        return True
    if isinstance(body, Answered):
        return body.step == "trial-torque"
    return isinstance(body, Read | NoClick | Fitted | Gauged) and body.phase == "trial"


def _named(entry: AnyEntry) -> list[str]:
    return [*getattr(entry.body, "valves", []), str(getattr(entry.body, "valve", ""))]


def _settings(examples: int) -> settings:
    return settings(
        max_examples=examples,
        stateful_step_count=50,
        phases=[Phase.explicit, Phase.reuse, Phase.generate],
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow],
    )


class Studs(AnyOrder):
    procedure = "stud-rockers"


class Solid(AnyOrder):
    procedure = "solid-lifters"


class Shafts(AnyOrder):
    procedure = "shaft-rockers"
    second_person = "2"


class Checking(AnyOrder):
    procedure = "adjustable-checking-pushrod"
    second_person = "2"


class CheckingLifter(AnyOrder):
    procedure = "solid-checking-lifter"


class Running(AnyOrder):
    procedure = "recheck-running-engine"


TestAnyOrder = AnyOrder.TestCase
TestAnyOrder.settings = _settings(30)
TestStuds = Studs.TestCase
TestStuds.settings = _settings(10)
TestSolid = Solid.TestCase
TestSolid.settings = _settings(10)
TestShafts = Shafts.TestCase
TestShafts.settings = _settings(10)
TestChecking = Checking.TestCase
TestChecking.settings = _settings(10)
TestCheckingLifter = CheckingLifter.TestCase
TestCheckingLifter.settings = _settings(10)
TestRunning = Running.TestCase
TestRunning.settings = _settings(10)
