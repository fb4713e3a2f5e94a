"""Prove and sign off: round again on every heel, a sample counted again, a second person."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from functools import partial
from typing import cast

from heelwise.documents import entries as e
from heelwise.documents.entry_base import PASSING, Entry, ProofWord
from heelwise.documents.procedure import Step
from heelwise.documents.steps import Records, StepOption
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.positions import Plan, Position, other_plan
from heelwise.walk import recount as recounting
from heelwise.walk import steps
from heelwise.walk.build import BY_EYE
from heelwise.walk.counting import AtValve
from heelwise.walk.crank import before_turning, counted_off, go_round, trials_off
from heelwise.walk.limits import gauge_limits
from heelwise.walk.prepare import torque_facts
from heelwise.walk.prompts import Fact, Option, Prompt, Refused, Reply, kept
from heelwise.walk.scene import Scene
from heelwise.walk.state import BuildState, ValveState, same_person
from heelwise.walk.valve_steps import after_numbers, settled, valve_prompt
from heelwise.wording import counted, listed

SECOND_PERSON = "walk/second-person"
WANTED = "wanted"
SIGN = "walk/sign-off"
CLOSED = "walk/closed"


def begun(scene: Scene) -> bool:
    """Whether Prove was begun, so that Fit is behind: its opening is answered."""
    if steps.build_step_due(scene, "prove") is not None:
        return False
    opened = any(scene.state.step(step.id) for step in scene.build.steps("prove", "build"))
    return opened or any(valve_state.proofs for valve_state in scene.state.valves.values())


def finished(scene: Scene) -> bool:
    """Whether every valve is proved, by two people where that is wanted, and the sample counted."""
    twice, states = second_person_wanted(scene), scene.state.valves.values()
    chosen = recounting.sample(scene) if scene.build.method.recounts else ()
    counted_again = all(recounting.counted_again(scene, valve) for valve in chosen)
    return counted_again and all(s.independent_proof if twice else s.proof for s in states)


def prove_prompt(scene: Scene) -> Prompt | None:
    """The next prompt of Prove, or None when all is proved and the sample counted."""
    if opening := steps.build_step_due(scene, "prove"):
        # The first turns after Fit: what opens Prove goes all the way round.
        first = steps.step_prompt(scene, opening, rests_on=scene.crank_number)
        return before_turning(scene, "prove") or replace(first, turns_crank=True)
    method = scene.build.method
    if slack := [v for v, each in scene.state.valves.items() if recounting.under_way(scene, each)]:
        return _recount_round(scene, slack)
    if method.recounts and (moved := recounting.moved_in_proof(scene)):
        return _moved_round(scene, moved)
    if needy := unproved(scene):
        return _proof_round(scene, needy)
    again = recounting.sample(scene) if method.recounts else {}
    if due := [valve for valve in again if not recounting.counted_again(scene, valve)]:
        return _recount_round(scene, due)
    return _second_proof(scene) if second_person_wanted(scene) else None


def unproved(scene: Scene) -> list[Valve]:
    """The valves without a proof that still holds."""
    states = scene.state.valves.items()
    return [v for v, each in states if each.proof is None or not settled(scene, v)]


def _proof_round(scene: Scene, needy: list[Valve]) -> Prompt:
    def go_on_here(valve: Valve) -> bool:
        # Where the proof is to be made elsewhere, only what is not yet settled goes on here.
        return not scene.build.method.elsewhere or not settled(scene, valve)

    serve = partial(_counted_then_proved, scene, recount=False)
    prompt = go_round(scene, "prove", proof_plan(scene), needy, serve, go_on_here)
    return counted_off(scene, prompt, "proof", len(scene.state.valves) - len(needy))


def _counted_then_proved(
    scene: Scene, valve: Valve, position: Position | None, *, recount: bool
) -> Prompt:
    for mate in (valve, *scene.build.stand_of(valve)):
        if not settled(scene, mate) and (mate == valve or scene.on_heel(mate)):
            return valve_prompt(AtValve(scene, mate, "prove", position, recount))
    return _proof_prompt(scene, valve, position, unproved(scene))


def _moved_round(scene: Scene, moved: Mapping[Valve, e.Read]) -> Prompt:
    """A bolt that moved in its proof is counted again, never where its count was made."""
    return go_round(
        scene,
        "prove",
        recounting.elsewhere(scene, moved),
        list(moved),
        lambda valve, position: valve_prompt(
            AtValve(scene, valve, "prove", position, recount=True)
        ),
        lambda valve: abs(scene.at_deg - moved[valve].at_deg) >= recounting.SAME_PLACE_DEG,
    )


def _recount_round(scene: Scene, due: list[Valve]) -> Prompt:
    chosen = recounting.sample(scene)

    def serve(valve: Valve, position: Position | None) -> Prompt:
        if recounting.under_way(scene, scene.state.valves[valve]):
            return _counted_then_proved(scene, valve, position, recount=True)
        return recounting.loosen_prompt(scene, valve, chosen.get(valve, ""))

    done = sum(recounting.counted_again(scene, v) for v in chosen)
    prompt = go_round(scene, "prove", recounting.recount_plan(scene, [*chosen, *due]), due, serve)
    progress = f"re-count {min(done + 1, len(chosen))} of {len(chosen)}"
    return replace(prompt, progress=progress, done=done, total=len(chosen))


# ------------------------------------------------------------- the proof


def proof_plan(scene: Scene) -> Plan:
    """Where the proofs are made: the plan of Fit, or another place of each valve's heel.

    What was set a little up a lobe passes at the same place again; elsewhere it shows.
    """
    if not scene.build.method.elsewhere or scene.plan.method == BY_EYE:
        return scene.plan
    placed = ((p.valve, at.crank_deg) for at in scene.plan.positions for p in at.valves)
    used = dict(placed)  # where it is yet to be read, for a valve whose reading fell
    for valve, valve_state in scene.state.valves.items():
        if valve_state.last_reading is not None:
            used[valve] = valve_state.last_reading.body.at_deg
    return other_plan(scene.build.engine, scene.build.cam, used, scene.build.margin_deg)


def _proof_prompt(
    scene: Scene, valve: Valve, position: Position | None, needy: Collection[Valve]
) -> Prompt:
    """The next prompt of a proof: the steps before it, then what was found.

    Valves of one stand get it together, and those of one position where the text names them all.
    """
    stand = scene.build.stand_of(valve)
    asked = scene.build.steps("prove", "stand" if scene.build.method.stands else "valve")
    since = max(scene.state.valves[v].touched for v in stand)
    before = steps.steps_due(scene, asked, since, stand[0])
    if before is not None:
        return steps.step_prompt(scene, before, stand[0], position, scene.crank_number)
    step = next(s for s in asked if s.records is Records.PROOF)
    near: tuple[Valve, ...] = stand
    if "{valves}" in step.say:
        placed = (each.valve for each in (position.valves if position else ()))
        near = tuple(v for v in placed if scene.on_heel(v)) or stand
    ready = [v for v in near if v != valve and v in needy and settled(scene, v)]
    return _proof(scene, step, position, sorted({valve, *ready}))


def _proof(scene: Scene, step: Step, position: Position | None, valves: list[Valve]) -> Prompt:
    """What the bolts or locks of some valves did; named are those that did something else."""
    several = len(valves) > 1 and not scene.build.method.stands
    names = listed(valves)

    def found(option: StepOption, named: str = "") -> Reply:
        which = steps.valves_among(named, valves) if named else valves
        drafts = tuple(_proved(scene, v, cast(ProofWord, option.value)) for v in which)
        shown = f"{listed(which)}: {option.label}."
        if option.value in PASSING:
            return Reply(drafts, shown, "good")
        method, they = scene.build.method, "It is" if len(which) == 1 else "They are"
        done = "counted again from zero lash" if method.clicks else "set again"
        again = f"{they} {done}, and proved again."
        if method.stands:
            again = "Its valves are gauged again, and the stand is proved again."
        return Reply(drafts, f"{shown} {again}", "bad")

    first, *others = step.options
    wants = ("which of them",) if several else ()
    options = [Option(first.key, first.label, does=partial(found, first))]
    options += [Option(o.key, o.label, wants, partial(found, o)) for o in others]
    return replace(
        steps.step_prompt(scene, step, valves[0], position, _rests(scene, valves[0])),
        question=steps.words(scene, step.say, valves[0], position, names),
        options=tuple(options),
        facts=_facts(scene, valves),
        valve=None if several else valves[0],
        valves=tuple(valves),
    )


def _rests(scene: Scene, valve: Valve) -> tuple[int, ...]:
    count = scene.state.valves[valve].last_count
    return ((count.number,) if count else ()) + after_numbers(scene, valve)


def _proved(scene: Scene, valve: Valve, outcome: ProofWord) -> e.Draft:
    body = e.Proved(
        valve=str(valve),
        outcome=outcome,
        torque=scene.build.torque,
        setting=scene.build.setting,
        at_deg=scene.at_deg,
        margin_deg=scene.margin(valve),
    )
    return e.Draft(body, (*_rests(scene, valve), *scene.crank_number))


def _facts(scene: Scene, valves: Sequence[Valve]) -> tuple[Fact, ...]:
    facts: list[Fact] = []
    method = scene.build.method
    if method.clicks or method.stands:
        settles = scene.defaults.settled_turns * 360
        facts += torque_facts(scene.build)
        facts.append(Fact(f"settling up to {settles:.0f}° passes", "common practice, no source"))
    if method.reads == "lash":
        facts += gauge_limits(scene, valves[0]).facts
    margins = [margin for v in valves if (margin := scene.margin(v)) is not None]
    if margins:
        off = f"{min(margins):.0f}° from {'its lobe' if len(valves) == 1 else 'the nearest lobe'}"
        facts.append(Fact(off, "worked out from the cam"))
    return tuple(facts)


# -------------------------------------------------- the independent proof


def second_person_wanted(scene: Scene) -> bool:
    """Whether this build is to be proved by a second person too."""
    return scene.state.answers.get(Records.SECOND_PERSON) == WANTED


def _second_proof(scene: Scene) -> Prompt | None:
    valves = scene.state.valves
    needy = [v for v, valve_state in valves.items() if valve_state.independent_proof is None]
    if not needy:
        return None
    # Whoever is at the engine proves what somebody else proved first.
    proofs = {v: valves[v].proof for v in needy}
    others = [v for v, p in proofs.items() if p is None or not same_person(p.by, scene.state.by)]
    if not others:
        return _who(scene, needy)

    def serve(valve: Valve, position: Position | None) -> Prompt:
        first = _proof_prompt(scene, valve, position, others)
        return replace(first.then(partial(_as_second, scene)), heading="second person")

    prompt = go_round(scene, "prove", proof_plan(scene), others, serve)
    done = len(valves) - len(needy)
    return replace(counted_off(scene, prompt, "second person's proof", done), blind=True)


def _who(scene: Scene, needy: list[Valve]) -> Prompt:
    first = scene.state.by

    def hand_over(to: str) -> Reply:
        if same_person(to, first):
            problem = f"{to} made the first proof, so a second one isn't independent"
            raise Refused(problem, "the initials of somebody else")
        return kept(e.HandedOver(to=to), f"{to} is at the engine now.")

    return Prompt(
        id=SECOND_PERSON,
        question=f"{counted(len(needy), 'valve was', 'valves were')} proved by {first}. Who "
        "proves again, independently?",
        why="Someone who has not seen the first results will catch what the first person took for "
        "granted. It was asked for in Prepare: crossing that answer out does without.",
        options=(Option("o", "another person is here", ("their initials",), hand_over),),
        facts=(Fact(f"to prove independently: {listed(needy)}", "the record"),),
        blind=True,
    )


def _as_second(scene: Scene, reply: Reply) -> Reply:
    """A reply with its proofs kept as independent ones, each resting on the first."""
    drafts = []
    for draft in reply.drafts:
        if isinstance(draft.body, e.Proved):
            proof = scene.state.by_name[draft.body.valve].proof
            rests = (*draft.rests_on, *((proof.number,) if proof else ()))
            draft = e.Draft(e.IndependentProof(**draft.body.values()), rests)
        drafts.append(draft)
    return replace(reply, drafts=tuple(drafts))


# ------------------------------------------- signing off: only with every valve proved


@dataclass(frozen=True)
class Outcome:
    """What a valve came to. Its names are keys on disk."""

    valve: str
    pushrod: str | None
    turns: str | None
    verdict: str | None
    accepted_by: str | None
    proved: str | None
    recounted: bool
    gauged: str | None = None
    proved_by: str | None = None
    apart: str | None = None
    apart_by: str | None = None


def outcomes(state: BuildState) -> tuple[Outcome, ...]:
    """The outcome of every valve, in the engine's order."""
    return tuple(_outcome(valve_state) for _, valve_state in sorted(state.valves.items()))


def rows_of(state: BuildState) -> list[dict[str, object]]:
    """The outcome of every valve as rows of `[[signoff]]`: what is not there is left out."""
    return [{k: v for k, v in asdict(o).items() if v is not None} for o in outcomes(state)]


def _outcome(valve_state: ValveState) -> Outcome:
    count, accepted = valve_state.standing_count, valve_state.acceptance
    read, gauged = (count.when(e.Read), count.when(e.Gauged)) if count else (None, None)
    proof, second = valve_state.proof, valve_state.independent_proof
    return Outcome(
        valve=str(valve_state.valve),
        pushrod=count.body.pushrod if count else None,
        turns=read.body.turns if read else None,
        verdict=count.body.verdict if count else None,
        accepted_by=accepted.body.person if accepted else None,
        proved=proof.body.outcome if proof else None,
        recounted=valve_state.recounted,
        gauged=gauged.body.reading if gauged else None,
        proved_by=proof.by if proof else None,
        apart=second.body.outcome if second else None,
        apart_by=second.by if second else None,
    )


def sign_off_prompt(scene: Scene) -> Prompt:
    """The closing steps, then the signature. Reached only with every valve proved."""
    closing = steps.opening_prompt(scene, "sign off") or _sign(scene)
    turns = closing.turns_crank
    return (before_turning(scene, "sign off") if turns else trials_off(scene)) or closing


def _sign(scene: Scene) -> Prompt:
    states = scene.state.valves.values()
    proofs = tuple(p.number for s in states for p in (s.proof, s.independent_proof) if p)

    def sign(person: str) -> Reply:
        return kept(e.SignedOff(person=person), "Signed off.", "good", proofs)

    done = outcomes(scene.state)
    accepted = ", ".join(o.valve for o in done if o.accepted_by)
    inside = sum(o.verdict == "inside" for o in done)
    result = f"{len(done)} valves proved, {inside} inside their window"
    result += f"; accepted as is: {accepted}" if accepted else ""
    unchecked = (f"not checked: {each}" for each in scene.build.procedure.covers_not)
    return Prompt(
        id=SIGN,
        heading="every valve is proved",
        question="Sign off the build? That closes the record; to add anything you would have to "
        "reopen it.",
        why="The record is closed with the outcome of every valve. Its last seal is printed on "
        "the sheet.",
        options=(Option("s", "sign off", ("your full name",), sign),),
        facts=(Fact(result, "the record"), *(Fact(each, "the procedure") for each in unchecked)),
    )


def closed_prompt(closed: Entry[e.SignedOff]) -> Prompt:
    """What a closed record offers: reading it, or reopening it for a reason."""

    def reopen(person: str, reason: str) -> Reply:
        return kept(e.Reopened(person=person, reason=reason), "Reopened.", rests=(closed.number,))

    return Prompt(
        id=CLOSED,
        heading="signed off",
        question=f"Signed off by {closed.body.person} on {closed.at:%Y-%m-%d at %H:%M}. "
        "To add anything, reopen it.",
        why="The sheet shows all of it.",
        options=(Option("r", "reopen", ("who reopens it", "the reason"), reopen),),
        done=1,
        total=1,
    )
