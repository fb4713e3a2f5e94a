"""Whatever goes wrong at the bench: said, its next step told, open until it is put right.

A crank that goes solid bars every turn: rockers that may hold a valve open come off, the cause is
named and put right, and only then the crank moves, back the way it came first. Any other trouble
stands open until it is put right, or a named person goes on with a reason where that is safe.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from heelwise.documents.entries import Answered, BackedOff, Draft, PutRight, Trouble
from heelwise.documents.entry_base import Entry
from heelwise.documents.steps import Phase
from heelwise.valvetrain.engine import Valve
from heelwise.walk.prompts import Ask, Fact, Hazard, Option, Prompt, Refused, Reply
from heelwise.walk.scene import Scene
from heelwise.walk.state import FIRST_MOVE, NAMED_TROUBLE, PUT_OFF, UNNAMED, WENT_SOLID
from heelwise.wording import listed

SOLID_ROCKERS = "walk/solid-rockers"
SOLID_CAUSE = "walk/solid-cause"
NAME_IT = NAMED_TROUBLE
PUT_IT_RIGHT = "walk/put-right"

IT_WENT_SOLID = Option("x", "it went solid: stopped at once")
SOMETHING_WRONG = Option("t", "something is wrong here", ("what is wrong",))

COMMON = "common practice, no source"


@dataclass(frozen=True)
class TroubleKind:
    """A trouble with a next step; `may_go_on`: a named person may go on with it, for a reason."""

    next_step: str
    may_go_on: bool = False


NOT_UP = "the lifter has not come up"
STILL_UP = "a lifter is still up after its hold"

TROUBLES: Mapping[str, TroubleKind] = {
    NOT_UP: TroubleKind(
        "Leave it unloaded, bleed it and pump it by hand; if it stays down, exchange it. A "
        "plunger that is down reads as too little preload, or as none."
    ),
    "the pushrod won't seat or spin": TroubleKind(
        "Lift the rocker, clean both cups, look for a burr or a wrong end. If it still won't seat, "
        "another pushrod."
    ),
    "a pushrod bends or rubs, or a rocker binds": TroubleKind(
        "Stop. A bent pushrod is scrap. Find what it met: guide plate, head, a slot at its end, a "
        "rocker put in the wrong way round."
    ),
    "a thread or bolt yields": TroubleKind(
        "No more torque on this valve. Past its yield a bolt never gets to its torque by turning "
        "on: a new bolt, and the maker's repair for the thread (an insert, as a rule)."
    ),
    "a stud pulls": TroubleKind(
        "No more torque on this valve. A pulled stud comes out: the maker's repair is a screw-in "
        "stud, or an oversize one."
    ),
    "a crimped nut turns too easily": TroubleKind(
        "A used crimped nut that turns without drag loses its setting: a new nut, then set again."
    ),
    "a bolt bottoms, or its hole is wet": TroubleKind(
        "Blow the hole dry, run the bolt in by fingers and measure its depth: a bolt that bottoms "
        "clicks like a good one and clamps nothing."
    ),
    "a bolt goes through, nobody knows into what": TroubleKind(
        "Into water it wants sealant, into a port it wants sealant and the right length. Feel with "
        "a wire and look at the maker's sheet.",
        may_go_on=True,
    ),
    "the tip pattern is off": TroubleKind(
        "Toward the exhaust side: a shorter pushrod; toward the intake side: a longer one, for the "
        "usual layout. Length sets the pattern, the nut sets preload.",
        may_go_on=True,
    ),
    "a spring is weak or out of place": TroubleKind(
        "Measure it against its sheet at installed height. A weak spring reads as preload that "
        "isn't there.",
        may_go_on=True,
    ),
    "something else": TroubleKind(
        "Stop at this valve until somebody who knows it has looked at it.", may_go_on=True
    ),
}
"""What can be said to be wrong, with what comes next. All of it common practice, no source."""

OTHER = TroubleKind("Leave the crank alone until it is put right.")
"""What comes next for a trouble that isn't chosen from the list."""

_CAUSES: Mapping[str, tuple[str, str]] = {
    "1": ("a valve met its piston", "A valve that met its piston may be bent: leak it down."),
    "2": ("a plunger bottomed, its pushrod too long", "Look at that pushrod for a bend."),
    "3": ("the piston stop was left in", "Look at the piston for a mark."),
    "4": ("something was dropped in", "Count rags, keepers and tools again."),
    "5": ("something else", ""),
}
MISTAKEN = Option("m", "answered by mistake: it never went solid", ("who says so", "what happened"))
NOT_FOUND = Option("n", "not found yet: the crank stays where it is")

_SOLID = Hazard(
    "NOTICE",
    "The crank went solid.",
    "One more pull bends a valve or a pushrod, or breaks a piston.",
    "Take the bar off. Nothing turns until its cause is found and put right.",
)


def with_ways_out(scene: Scene, prompt: Prompt) -> Prompt:
    """A prompt that turns the crank, or is about a valve, with the way to say what went wrong."""
    if prompt.turns_crank:
        solid = Draft(Trouble(what=WENT_SOLID, phase=prompt.phase, at_deg=scene.crank_deg))
        stop = "Take the bar off. Nothing turns until the cause is found."
        solid_option = replace(IT_WENT_SOLID, does=Reply((solid,), stop, "bad"))
        prompt = prompt.offering(solid_option)
    if prompt.valve is None or prompt.phase == "sign off" or prompt.ask is Ask.NOTE:
        return prompt
    phase, valve = prompt.phase, prompt.valve
    return prompt.offering(
        replace(
            SOMETHING_WRONG,
            does=lambda texts: Reply((report(UNNAMED, phase, valve, texts[0]),), tone="warn"),
        )
    )


def report(what: str, phase: Phase, valve: Valve | None, words: str) -> Draft:
    """The draft of a trouble, named by one of `TROUBLES` or not yet."""
    return Draft(Trouble(what=what, phase=phase, valve=str(valve) if valve else None, words=words))


def trouble_prompt(scene: Scene, phase: Phase) -> Prompt | None:
    """What must be done at once about a trouble: a solid crank first; None where nothing is."""
    state = scene.state
    if state.solid is not None:
        rockers = state.step(SOLID_ROCKERS)
        down = [v for v, valve_state in state.valves.items() if valve_state.rocker_down]
        if down and (rockers is None or rockers.number < state.solid.number):
            return _rockers_off(state.solid, phase, down)
        return _cause(state.solid, phase)
    fresh = [each for number, each in state.troubles.items() if number not in state.put_off]
    return _of(scene, fresh[0], phase) if fresh else None


def valve_trouble_prompt(scene: Scene, valve: Valve, phase: Phase) -> Prompt | None:
    """What a valve's own trouble asks when the valve is come back to."""
    mine = [each for each in scene.state.troubles.values() if each.body.valve == str(valve)]
    return _of(scene, mine[0], phase) if mine else None


# ------------------------------------------------------------ a solid crank


def _rockers_off(solid: Entry[Trouble], phase: Phase, down: Sequence[Valve]) -> Prompt:
    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        named = list(down) if answer == "y" else [] if answer == "n" else _named(answer, down)
        seen = f"backed off: {listed(named)}" if named else "none of them is open"
        marked = Answered(step=SOLID_ROCKERS, answer="yes" if named else "no", said=seen)
        drafts = [Draft(marked, (solid.number,))]
        if named:
            off = BackedOff(valves=[str(v) for v in named], why="count again")
            drafts.append(Draft(off, (solid.number,)))
        return Reply(tuple(drafts))

    return Prompt(
        id=SOLID_ROCKERS,
        phase=phase,
        ask=Ask.READING,
        heading="the crank went solid",
        question="Leave the crank where it is. Back off the rocker of every valve that may be "
        f"open: {listed(down)}. Which did you back off?",
        why="An open valve on a piston bends with the next pull. With its rocker off, its spring "
        "shuts it.",
        caution=_SOLID,
        options=(
            Option("y", "all of them"),
            Option("n", "none: every one was looked at and is shut"),
        ),
        reading="the valves backed off, where the others were looked at and are shut",
        example="like 3E 4I",
        facts=(Fact("each is counted again from zero lash", "its rocker was slack"),),
        take=take,
    )


def _named(answer: str, down: Sequence[Valve]) -> list[Valve]:
    by_name = {str(valve): valve for valve in down}
    names = [name.upper() for name in answer.replace(",", " ").split()]
    strange = [name for name in names if name not in by_name]
    if strange:
        raise Refused(f"{listed(strange)} isn't among them", f"of {listed(down)}")
    return [by_name[name] for name in names]


def _cause(solid: Entry[Trouble], phase: Phase) -> Prompt:
    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        if answer == NOT_FOUND.key:
            return Reply((), "Nothing turns. Look with a light down the plug holes.", "bad")
        if answer == MISTAKEN.key:
            body = PutRight(of=solid.number, cause=MISTAKEN.label, words=texts[1], person=texts[0])
            return Reply((Draft(body, (solid.number,)),))
        cause, look = _CAUSES[answer]
        body = PutRight(of=solid.number, cause=cause, words=texts[0])
        return Reply((Draft(body, (solid.number,)),), look, "warn")

    causes = (Option(key, cause, ("how it was put right",)) for key, (cause, _) in _CAUSES.items())
    return Prompt(
        id=SOLID_CAUSE,
        phase=phase,
        ask=Ask.CHOICE,
        heading="the crank went solid",
        question="What stopped the crank, and how was it put right?",
        why="It moves again only once its cause is known and gone. Forced past it, the next thing "
        "to give is a valve, a pushrod or a piston.",
        caution=_SOLID,
        options=(*causes, NOT_FOUND, MISTAKEN),
        take=take,
    )


def first_move_prompt(scene: Scene, phase: Phase) -> Prompt | None:
    """The crank's first move after it went solid: back the way it came; None where none is due."""
    due = scene.state.first_move_due
    if due is None:
        return None

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        seen = "back the way it came" if answer == "y" else "forward, turning back is not allowed"
        body = Answered(step=FIRST_MOVE, answer="back" if answer == "y" else "on", said=seen)
        return Reply((Draft(body, (due.number,)),), "Its place is found anew.", "warn")

    return Prompt(
        id=FIRST_MOVE,
        phase=phase,
        ask=Ask.CHOICE,
        heading="the first move since it went solid",
        question="By hand alone, turn the crank back the way it came until it moves freely. Only "
        "where the maker allows turning back; otherwise feel it forward. Does it move freely?",
        why="Back is the way that is known to be free.",
        caution=_SOLID,
        options=(
            Option("y", "back, and free"),
            Option("f", "turning back is not allowed: forward by hand, and free"),
        ),
        take=take,
        turns_crank=True,
    )


# --------------------------------------------------------- any other trouble


def _of(scene: Scene, trouble: Entry[Trouble], phase: Phase) -> Prompt:
    name = scene.state.trouble_names[trouble.number]
    return _name_it(trouble, phase) if name == UNNAMED else _right(scene, trouble, name, phase)


def _name_it(trouble: Entry[Trouble], phase: Phase) -> Prompt:
    """Which of the known troubles it is, so that its next step can be told."""
    letters = {chr(ord("a") + i): name for i, name in enumerate(TROUBLES)}

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        name = letters[answer]
        body = Answered(step=NAME_IT, answer=name, said=name, valve=trouble.body.valve)
        return Reply((Draft(body, (trouble.number,)),))

    about = f"{trouble.body.valve}: " if trouble.body.valve else ""
    return Prompt(
        id=NAME_IT,
        phase=phase,
        ask=Ask.CHOICE,
        heading="something is wrong",
        question=f"{about}{trouble.body.words}. Which is nearest?",
        why="Each has its own next step.",
        options=tuple(Option(key, name) for key, name in letters.items()),
        valve=_valve(trouble),
        take=take,
    )


def _valve(trouble: Entry[Trouble]) -> Valve | None:
    return Valve.parse(trouble.body.valve) if trouble.body.valve else None


def _right(scene: Scene, trouble: Entry[Trouble], name: str, phase: Phase) -> Prompt:
    kind, valve = TROUBLES.get(name, OTHER), _valve(trouble)
    number, about = (trouble.number,), f"{valve}: " if valve else ""

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        if answer == "w":
            return Reply((), "Then it waits.", "warn")
        if answer == "2":
            body = PutRight(
                of=trouble.number, cause="gone on with", words=texts[1], person=texts[0]
            )
            return Reply((Draft(body, number),), f"{about}{texts[0]} goes on with it.", "warn")
        off = _back_off(scene, valve, "come back later" if answer == "3" else "count again")
        if answer == "3":
            later = Answered(step=PUT_OFF, answer=str(trouble.number), said="left for later")
            return Reply((Draft(later, number), *off), "It stands open until then.", "warn")
        done = PutRight(of=trouble.number, cause=name, words=texts[0])
        return Reply((Draft(done, number), *off), tone="good")

    options = [Option("1", "put right", ("what was done",))]
    if kind.may_go_on:
        options.append(Option("2", "go on with it", ("who goes on", "the reason")))
    if valve is not None and trouble.number not in scene.state.put_off:
        options.append(Option("3", "leave this valve backed off, come back to it"))
    options.append(Option("w", "not yet: it waits"))
    return Prompt(
        id=PUT_IT_RIGHT,
        phase=phase,
        ask=Ask.CHOICE,
        heading=f"{about}{name}",
        question=kind.next_step,
        why="It stands open in the record, and nothing is signed with it open.",
        options=tuple(options),
        facts=(Fact(trouble.body.words, f"entry {trouble.number}"),) if trouble.body.words else (),
        valve=valve,
        take=take,
    )


def _back_off(scene: Scene, valve: Valve | None, why: str) -> tuple[Draft, ...]:
    if valve is None or not scene.state.valves[valve].rocker_down:
        return ()
    stand = [str(v) for v in scene.build.stand_of(valve)]
    off = BackedOff.model_validate({"valves": stand, "why": why})
    return (Draft(off, scene.crank_number),)
