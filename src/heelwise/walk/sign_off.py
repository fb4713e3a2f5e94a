"""Sign off: only with every valve proved and every reading inside or accepted as is."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from heelwise.documents.entries import Gauged, Read, Reopened, SignedOff
from heelwise.documents.entry_base import Entry
from heelwise.walk.crank import before_turning, trials_off
from heelwise.walk.prompts import Fact, Option, Prompt, Reply, kept
from heelwise.walk.scene import Scene
from heelwise.walk.state import BuildState, ValveState
from heelwise.walk.steps import opening_prompt

SIGN = "walk/sign-off"
CLOSED = "walk/closed"


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
    read, gauged = (count.when(Read), count.when(Gauged)) if count else (None, None)
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
    closing = opening_prompt(scene, "sign off") or _sign(scene)
    barred = before_turning if closing.turns_crank else trials_off
    return barred(scene, "sign off") or closing


def _sign(scene: Scene) -> Prompt:
    states = scene.state.valves.values()
    proofs = tuple(e.number for s in states for e in (s.proof, s.independent_proof) if e)

    def sign(person: str) -> Reply:
        return kept(SignedOff(person=person), "Signed off.", "good", proofs)

    done = outcomes(scene.state)
    accepted = ", ".join(o.valve for o in done if o.accepted_by)
    inside = sum(o.verdict == "inside" for o in done)
    result = f"{len(done)} valves proved, {inside} inside their window"
    result += f"; accepted as is: {accepted}" if accepted else ""
    unchecked = (f"not checked: {each}" for each in scene.build.procedure.covers_not)
    return Prompt(
        id=SIGN,
        phase="sign off",
        heading="every valve is proved",
        question="Sign off the build? That closes the record; to add anything you would have to "
        "reopen it.",
        why="The record is closed with the outcome of every valve. Its last seal is printed on "
        "the sheet.",
        options=(Option("s", "sign off", ("your full name",), sign),),
        facts=(Fact(result, "the record"), *(Fact(each, "the procedure") for each in unchecked)),
    )


def closed_prompt(closed: Entry[SignedOff]) -> Prompt:
    """What a closed record offers: reading it, or reopening it for a reason."""

    def reopen(person: str, reason: str) -> Reply:
        return kept(Reopened(person=person, reason=reason), "Reopened.", rests=(closed.number,))

    return Prompt(
        id=CLOSED,
        phase="sign off",
        heading="signed off",
        question=f"Signed off by {closed.body.person} on {closed.at:%Y-%m-%d at %H:%M}. "
        "To add anything, reopen it.",
        why="The sheet shows all of it.",
        options=(Option("r", "reopen", ("who reopens it", "the reason"), reopen),),
        done=1,
        total=1,
    )
