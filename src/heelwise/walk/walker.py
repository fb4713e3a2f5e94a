"""What to ask next, and one person walking one build: prompt, answer, entry kept, next prompt.

`next_prompt` is pure. If keeping an entry fails, nothing changes here: the same prompt stands.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Protocol, TypeVar

from heelwise.documents import entries as e
from heelwise.documents.entries import AnyBody, AnyEntry, Draft
from heelwise.documents.steps import Phase
from heelwise.storage.errors import StorageError
from heelwise.storage.names import initials, photo_name
from heelwise.valvetrain.engine import Valve
from heelwise.walk import prove
from heelwise.walk.build import Build
from heelwise.walk.buying import buying_prompt, with_pattern
from heelwise.walk.checking import checking_prompt
from heelwise.walk.crank import before_turning, trials_off
from heelwise.walk.finding import lost_prompt, resume_prompt
from heelwise.walk.prepare import order_prompt
from heelwise.walk.prompts import WAITED, Prompt, Refused, refuse_unreadable
from heelwise.walk.prove import closed_prompt, rows_of, sign_off_prompt
from heelwise.walk.scene import Scene
from heelwise.walk.state import BuildState, advance, is_solid
from heelwise.walk.steps import REST_ON_PREVIOUS, build_step_due, opening_prompt, step_applies
from heelwise.walk.trials import second_trial_prompt, trial_prompt
from heelwise.walk.troubles import first_move_prompt, trouble_prompt, with_ways_out
from heelwise.walk.valve_steps import fit_prompt, settled
from heelwise.wording import listed

T = TypeVar("T")

FIXED = (
    e.Begun | e.CrossedOut | e.Paused | e.Resumed | e.Recovered | e.HandedOver | e.SignedOff
    | e.Reopened
)  # fmt: skip
"""Entries that say what happened to the record itself; crossing one out would mean nothing."""

# ------------------------------------------------------------ what to ask next


def next_prompt(scene: Scene) -> Prompt:
    """The one question the record leads to. There is always one; a closed record's is to reopen."""
    state = scene.state
    first = closed_prompt(state.closed) if state.closed else None
    first = first or (resume_prompt(scene) if state.resume_asked else trouble_prompt(scene))
    prompt = first or with_pattern(scene, _work_prompt(scene))
    prompt = replace(prompt, phase=prompt.phase or phase_of(scene))
    return prompt if first else with_ways_out(scene, prompt)


def _work_prompt(scene: Scene) -> Prompt:
    first_move = first_move_prompt(scene)
    if first_move is not None:
        return before_turning(scene, phase_of(scene)) or first_move
    if prepare := order_prompt(scene) or _prepare(scene):
        return prepare
    if scene.state.crank is None:
        return lost_prompt(scene, phase_of(scene))
    # Trials and purchases are looked at in Prove too: what was crossed out is asked again there.
    early = opening_prompt(scene, "trial") or (_trial(scene) if scene.build.method.buys else None)
    if early is None and scene.build.method.fits and not prove.begun(scene):
        early = opening_prompt(scene, "fit") or fit_prompt(scene)
    return early or prove.prove_prompt(scene) or sign_off_prompt(scene)


def _prepare(scene: Scene) -> Prompt | None:
    prompt = opening_prompt(scene, "prepare")
    if prompt is None:
        return None
    # Asked again after a correction, it may find trial gear in and lifters loaded.
    barred = before_turning(scene, "prepare") if prompt.turns_crank else None
    steps = scene.build.steps("prepare", "build")
    asked = [step.id for step in steps if step.id == prompt.id or step_applies(scene, step)]
    index, total = asked.index(prompt.id), len(asked)
    progress = f"step {index + 1} of {total}"
    return barred or replace(prompt, progress=progress, done=index, total=total)


def _trial(scene: Scene) -> Prompt | None:
    by_counting = scene.build.method.trial == "pushrods"
    tried = trial_prompt(scene) if by_counting else checking_prompt(scene)
    tried = tried or second_trial_prompt(scene)
    return tried or trials_off(scene) or buying_prompt(scene)


def phase_of(scene: Scene) -> Phase:
    """The phase a build is in; a closed record's is Sign off."""
    state, method = scene.state, scene.build.method
    states = state.valves.values()
    if state.closed is not None:
        return "sign off"
    if build_step_due(scene, "prepare"):
        return "prepare"
    if prove.begun(scene):
        return "sign off" if prove.finished(scene) else "prove"
    if method.buys:
        return "fit" if state.ordered and all(s.received for s in states) else "trial"
    if build_step_due(scene, "trial"):
        return "trial"
    fitted = all(settled(scene, v) for v in state.valves) and not build_step_due(scene, "fit")
    return "prove" if fitted or not method.fits else "fit"


def progress(scene: Scene) -> tuple[int, str]:
    """How many valves are as far as the furthest, and that in words."""
    states = scene.state.valves.values()
    proved = sum(each.proof is not None for each in states)
    read = sum(bool(each.standing_count) for each in states)
    tried = sum(bool(each.trials) or each.checked is not None for each in states)
    if proved:
        return proved, f"{proved} of {len(states)} proved"
    if tried and not read:
        return tried, f"{tried} of {len(states)} tried"
    return read, f"{read} of {len(states)} read"


def outstanding(scene: Scene) -> tuple[str, ...]:
    """What stands open now, beyond the walk's own next step."""
    state = scene.state
    valves = state.valves.items()
    outside = [v for v, each in valves if each.standing_count and not each.settled_count]
    found = [f"{listed(outside)} outside the window"] if outside else []
    for trouble in state.troubles.values():
        about = f"{trouble.body.valve}: " if trouble.body.valve else ""
        found.append(f"{about}{state.trouble_names[trouble.number]}")
    if state.lost:
        found.append("the crank's place is not known")
    return tuple(found)


# ------------------------------------------------------------------ the walker


CLOCK_SET_RIGHT = timedelta(days=1)
"""A clock is set right by a day at the most; one that goes back by more is entered."""


class Clock:
    """The machine's own clock; a rehearsal's is another."""

    def now(self) -> datetime:
        """The time, to the second, with its offset."""
        return datetime.now().astimezone().replace(microsecond=0)

    def reach(self, until: datetime | None) -> None:
        """The prompt waits until then. Nothing here: real lifters take their real time."""


class Keeper(Protocol):
    """What keeps entries: durable when it returns, an exception when it was not kept."""

    def keep(
        self, draft: Draft, at: datetime, by: str, outcome: Iterable[Mapping[str, object]] | None, /
    ) -> AnyEntry:
        """Keep a draft; the rows of `outcome` go before the entry that signs a build off."""


@dataclass(frozen=True)
class Feedback:
    """What to show at once after an answer, and in which tone (plain, good, warn, bad)."""

    text: str
    tone: str
    entries: tuple[AnyEntry, ...]


class Walker:
    """Carries a state on by answers and by what may be done at any prompt."""

    def __init__(self, scene: Scene, record: Keeper, clock: Clock) -> None:
        self.scene = scene
        self.by = scene.state.by
        self._record = record
        self._clock = clock
        self._prompt: Prompt | None = None

    @property
    def build(self) -> Build:
        """What stays fixed."""
        return self.scene.build

    @property
    def state(self) -> BuildState:
        """Where the build stands."""
        return self.scene.state

    @property
    def prompt(self) -> Prompt:
        """The question that stands now."""
        if self._prompt is None:
            self._prompt = next_prompt(self.scene)
        return self._prompt

    @property
    def closed(self) -> bool:
        """Whether the record is signed off."""
        return self.state.closed is not None

    def now(self) -> datetime:
        """The time, with an offset."""
        return self._clock.now()

    def reply(self, answer: str, texts: tuple[str, ...] = ()) -> Feedback:
        """Answer the prompt and keep what the answer says; or Refused, with nothing kept."""
        last = self.state.last
        if last is not None and self.now() < last.at - CLOCK_SET_RIGHT:
            entry = self.resume()
            text = "This machine's clock was set back. First: where's the crank?"
            return Feedback(text, "warn", (entry,))
        if answer == WAITED:
            self._clock.reach(self.prompt.wait_until)
        reply = self.prompt.reply(answer, texts, self.now())
        kept: list[AnyEntry] = []
        for draft in reply.drafts:
            rests = tuple(kept[-1].number if n == REST_ON_PREVIOUS else n for n in draft.rests_on)
            kept.append(self._add(Draft(draft.body, rests)))
        return Feedback(reply.text, reply.tone, tuple(kept))

    def resume(self) -> AnyEntry:
        """Keep that work was taken up again; the crank's place is asked before all else."""
        last = self.state.last
        back = last is not None and self.now() < last.at
        return self._add(Draft(e.Resumed(clock_went_back=back)))

    def recovered(self, bytes_set_aside: int, aside: str) -> AnyEntry:
        """Keep that a torn end was set aside when the record was opened."""
        return self._add(Draft(e.Recovered(bytes_set_aside=bytes_set_aside, aside=aside)))

    # What may be done at any prompt of an open record. Each raises Refused with what is wrong.

    def cross_out(self, number: int, reason: str) -> Feedback:
        """Cross out an entry; what depended on it no longer counts and is asked again."""
        state = self.state
        if not 1 <= number <= len(state.entries):
            raise Refused(f"there is no entry {number}", f"1 to {len(state.entries)}")
        entry = state.entries[number - 1]
        if not can_be_crossed_out(entry.body):
            raise Refused(f"entry {number} ({entry.body.kind}) stays", "a reading, step or place")
        if number in state.void:
            raise Refused(f"entry {number} doesn't count any more", "one that still counts")
        before = {number, *state.void}
        done = self._act(e.CrossedOut(of=number, reason=_given(reason, "a reason")))
        fallen = sorted(self.state.void - before)
        also = f" With it fall {', '.join(map(str, fallen))}, asked again." if fallen else ""
        return replace(done, text=f"Entry {number} is crossed out.{also}", tone="warn")

    def pause(self) -> Feedback:
        """Lay the work down: the record says what it is holding at."""
        body = e.Paused(holding=f"holding at: {self.prompt.question}")
        return self._act(body, "Paused. The next start picks up here.")

    def note(self, note: str, valve: Valve | None = None, photo: str = "") -> Feedback:
        """Keep a note, of the build or of a valve, and the name of a photograph with it."""
        about = str(valve) if valve else None
        named = _checked(photo_name, photo.strip()) if photo.strip() else None
        return self._act(e.Noted(text=_given(note, "the note"), valve=about, photo=named), "Noted.")

    def lose_crank(self, reason: str) -> Feedback:
        """Say that the crank's place is not known; the walk finds it by feel."""
        if self.state.crank is None and not self.closed:
            raise Refused("the crank position isn't set yet", "carry on until the walk sets it")
        body = e.CrankLost(reason=_given(reason, "what happened"))
        return self._act(body, "Then find out where the crank is.", "warn")

    def hand_over(self, to: str) -> Feedback:
        """Another person goes on; entries from here carry their initials."""
        to = _checked(initials, to, "the initials ")
        return self._act(e.HandedOver(to=to), f"{to} is at the engine now.")

    def _act(self, body: AnyBody, text: str = "", tone: str = "plain") -> Feedback:
        if self.closed:
            raise Refused("the record is signed off", "reopen it first, with a reason")
        return Feedback(text, tone, (self._add(Draft(body)),))

    def _add(self, draft: Draft) -> AnyEntry:
        signing = isinstance(draft.body, e.SignedOff)
        rows = rows_of(self.state) if signing else None
        entry = self._record.keep(draft, self.now(), self.by, rows)
        self.scene = Scene(self.scene.build, advance(self.state, entry))
        self.by = self.state.by
        self._prompt = None
        return entry


def _checked(check: Callable[[str], T], typed: str, about: str = "") -> T:
    try:
        return check(typed)
    except StorageError as error:
        raise Refused(about + error.problem, error.instead) from None


def _given(typed: str, what: str) -> str:
    if not typed.strip():
        raise Refused("nothing was given", f"give {what}")
    refuse_unreadable(typed)
    return typed.strip()


def can_be_crossed_out(body: AnyBody) -> bool:
    """Whether an entry can be crossed out; a crank gone solid is put right, never crossed out."""
    return not isinstance(body, FIXED) and not is_solid(body)
