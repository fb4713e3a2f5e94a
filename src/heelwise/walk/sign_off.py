"""Sign off: only with every valve proved and every reading inside or accepted as is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import datetime

from heelwise.documents.entries import (
    Draft,
    Gauged,
    Proved,
    ProvedApart,
    Read,
    Reopened,
    SignedOff,
)
from heelwise.walk.guards import before_turning
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Taken
from heelwise.walk.scene import Scene
from heelwise.walk.standing import Standing
from heelwise.walk.steps import step_prompt, steps_due

SIGN = "walk/sign-off"
CLOSED = "walk/closed"


@dataclass(frozen=True)
class Outcome:
    """What a valve came to: its count, verdict, acceptance and proof."""

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


def outcomes(standing: Standing) -> tuple[Outcome, ...]:
    """The outcome of every valve, in the engine's order."""
    found = []
    for valve, one in sorted(standing.valves.items()):
        read = one.last_count.body if one.last_count and one.count_stands else None
        apart = one.proved_apart
        accepted = one.acceptance
        proof = one.proof.body if one.proof else None
        found.append(
            Outcome(
                valve=str(valve),
                pushrod=read.pushrod if isinstance(read, Read | Gauged) else None,
                turns=read.turns if isinstance(read, Read) else None,
                verdict=read.verdict if isinstance(read, Read | Gauged) else None,
                accepted_by=getattr(accepted.body, "person", None) if accepted else None,
                proved=proof.outcome if isinstance(proof, Proved) else None,
                recounted=one.recounted,
                gauged=read.reading if isinstance(read, Gauged) else None,
                proved_by=one.proof.by if one.proof else None,
                apart=apart.body.outcome if apart and isinstance(apart.body, ProvedApart) else None,
                apart_by=apart.by if apart else None,
            )
        )
    return tuple(found)


def rows_of(outcome: Iterable[Outcome] | None) -> list[dict[str, object]] | None:
    """Outcomes as rows of `[[signoff]]`: what is not there is left out."""
    if outcome is None:
        return None
    return [{k: v for k, v in asdict(o).items() if v is not None} for o in outcome]


def sign_off_prompt(scene: Scene) -> Prompt:
    """The closing steps, then the signature. Reached only with every valve proved."""
    unproved = [v for v, one in scene.standing.valves.items() if one.proof is None]
    assert not unproved, f"sign-off was reached with {unproved} unproved"
    waiting = before_turning(scene, "sign off")
    if waiting is not None:
        return waiting
    due = steps_due(scene, scene.build.steps("sign off", "build"), 0)
    if due is not None:
        return step_prompt(scene, due)
    return _sign(scene)


def _sign(scene: Scene) -> Prompt:
    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        ones = scene.standing.valves.values()
        proofs = tuple(e.number for one in ones for e in (one.proof, one.proved_apart) if e)
        return Taken((Draft(SignedOff(person=texts[0]), proofs),), "Signed off.", "good")

    unchecked = [Fact(f"not checked: {text}", "the procedure") for text in _not_covered(scene)]
    done = outcomes(scene.standing)
    accepted = [o.valve for o in done if o.accepted_by]
    inside = sum(o.verdict == "inside" for o in done)
    facts = [Fact(f"{len(done)} valves proved, {inside} inside their window", "the record")]
    if accepted:
        facts.append(Fact(f"accepted as is: {', '.join(accepted)}", "the record"))
    return Prompt(
        id=SIGN,
        phase="sign off",
        ask=Ask.CHOICE,
        heading="every valve is proved",
        question="Sign the build off? After this nothing can be added but a reopening.",
        why="The record is closed with the outcome of every valve. Its last seal is printed on "
        "the sheet.",
        options=(Option("s", "sign off", ("your full name",)),),
        facts=(*facts, *unchecked),
        guarded=True,
        take=take,
    )


def _not_covered(scene: Scene) -> tuple[str, ...]:
    return tuple(scene.build.procedure.covers_not)


def closed_prompt(scene: Scene) -> Prompt:
    """What a closed record offers: reading it, or reopening it for a reason."""
    closed = scene.standing.closed
    assert closed is not None
    assert isinstance(closed.body, SignedOff)

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        body = Reopened(person=texts[0], reason=texts[1])
        return Taken((Draft(body, (closed.number,)),), "Reopened.")

    return Prompt(
        id=CLOSED,
        phase="sign off",
        ask=Ask.CHOICE,
        heading="signed off",
        question=f"Signed off by {closed.body.person} on {closed.at:%Y-%m-%d at %H:%M}. "
        "Nothing can be added but a reopening.",
        why="The sheet shows all of it.",
        options=(Option("r", "reopen", ("who reopens it", "the reason")),),
        guarded=True,
        take=take,
        done=1,
        total=1,
    )
