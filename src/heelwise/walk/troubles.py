"""Whatever goes wrong at the bench: open until it is put right, or somebody goes on with it.

A crank gone solid bars every turn until rockers are off and its cause is put right.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from string import ascii_lowercase

from heelwise.documents.entries import Answered, BackOffWhy, Draft, PutRight, Trouble
from heelwise.documents.entry_base import Entry
from heelwise.documents.steps import Caution, Phase, Records
from heelwise.valvetrain.engine import Valve
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Reply, kept
from heelwise.walk.scene import Scene
from heelwise.walk.state import FIRST_MOVE, NAMED_TROUBLE, PUT_OFF, UNNAMED, WENT_SOLID
from heelwise.walk.steps import back_off, lifter_kind, valve_among, valves_among
from heelwise.wording import listed

AT_THE_STOP = (Records.WHEEL_FIRST, Records.WHEEL_SECOND, Records.TAPE_BETWEEN)
SOLID_ROCKERS = "walk/solid-rockers"
SOLID_CAUSE = "walk/solid-cause"
PUT_IT_RIGHT = "walk/put-right"


NOT_UP = "the lifter has not come up"
STILL_UP = "a lifter is still up after its hold"

TROUBLES = {
    NOT_UP: "Leave it unloaded, bleed it and pump it by hand; if it stays down, exchange it. A "
    "plunger that is down reads as too little preload, or as none.",
    STILL_UP: "Its valve is still open: leave the crank alone. Back its rocker off, and press the "
    "plunger down slowly or give it longer. Look for a pushrod that is too long.",
    "the pushrod won't seat or spin": "Lift the rocker, clean both cups, look for a burr or a "
    "wrong end. If it still won't seat, another pushrod.",
    "a pushrod bends or rubs, or a rocker binds": "Stop. A bent pushrod is scrap. Find what it "
    "met: guide plate, head, a slot at its end, a rocker put in the wrong way around.",
    "a thread or bolt yields": "No more torque on this valve. Past its yield a bolt never gets to "
    "its torque by turning on: a new bolt, and the maker's repair for the thread (an insert, as a "
    "rule).",
    "a stud pulls": "No more torque on this valve. A pulled stud comes out: the maker's repair is "
    "a screw-in stud, or an oversize one.",
    "a crimped nut turns too easily": "A used crimped nut that turns without drag loses its "
    "setting: a new nut, then set again.",
    "a bolt bottoms, or its hole is wet": "Blow the hole dry, run the bolt in by fingers and "
    "measure its depth: a bolt that bottoms clicks like a good one and clamps nothing.",
    "a bolt goes through, nobody knows into what": "Into water it wants sealant, into a port it "
    "wants sealant and the right length. Feel with a wire and look at the maker's sheet.",
    "the tip pattern is off": "Toward the exhaust side: a shorter pushrod; toward the intake side: "
    "a longer one, for the usual layout. Length sets the pattern, the nut sets preload.",
    "a spring is weak or out of place": "Measure it against its sheet at installed height. A weak "
    "spring reads as preload that isn't there.",
    "something else": "Stop at this valve until somebody who knows it has looked at it.",
}
"""What can be said to be wrong, with what comes next. All of it common practice, no source."""

MAY_GO_ON = (
    "a bolt goes through, nobody knows into what",
    "the tip pattern is off",
    "a spring is weak or out of place",
    "something else",
)
"""What a named person may go on with, for a reason."""

_ONLY = {
    NOT_UP: "hydraulic",
    STILL_UP: "hydraulic",
    "a stud pulls": "stud",
    "a crimped nut turns too easily": "stud",
}
"""The lifters or the rockers' mount that can have it, as a word of the setup's."""

OTHER = "Leave the crank alone until it is put right."
"""What comes next for a trouble that isn't chosen from the list."""

_CAUSES = {
    "a valve met its piston": "A valve that met its piston may be bent: leak it down.",
    "a plunger bottomed, its pushrod too long": "Look at that pushrod for a bend.",
    "the piston stop was left in": "Look at the piston for a mark.",
    "something was dropped in": "Count rags, keepers and tools again.",
    "something else": "",
}
"""What stops a crank, with what to look at once it is put right."""

_SOLID = Caution(
    level="NOTICE",
    hazard="The crank went solid.",
    consequence="One more pull bends a valve or a pushrod, or breaks a piston.",
    avoid="Take the bar off. Nothing turns until its cause is found and put right.",
)


def with_ways_out(scene: Scene, prompt: Prompt) -> Prompt:
    """A prompt that turns the crank, or is about a valve, with the way to say what went wrong."""
    phase, valve = prompt.phase, prompt.valve
    if prompt.turns_crank:
        solid = Draft(Trouble(what=WENT_SOLID, phase=phase, at_deg=scene.crank_deg))
        stop = "Take the bar off. Nothing turns until the cause is found."
        # The stop is meant to be touched, and that is no crank gone solid.
        where = " anywhere but at the stop" if prompt.records in AT_THE_STOP else ""
        label, went_solid = f"it went solid{where}: stopped at once", Reply((solid,), stop, "bad")
        prompt = prompt.offering(Option("x", label, does=went_solid))
    if phase == "sign off" or prompt.ask is Ask.NOTE:
        return prompt
    if not (valve or prompt.valves or (prompt.turns_crank and phase != "prepare")):
        return prompt

    def wrong(*texts: str) -> Reply:
        at = valve or valve_among(texts[0], tuple(scene.state.valves))
        return Reply((report(UNNAMED, phase, at, texts[-1]),), tone="warn")

    wants = ("what is wrong",) if valve else ("which valve", "what is wrong")
    here = "something is wrong here" if valve else "trouble"
    return prompt.offering(Option("t", here, wants, wrong))


def report(what: str, phase: Phase, valve: Valve | None, words: str) -> Draft:
    """The draft of a trouble, named by one of `TROUBLES` or not yet."""
    return Draft(Trouble(what=what, phase=phase, valve=str(valve) if valve else None, words=words))


def trouble_prompt(scene: Scene) -> Prompt | None:
    """What must be done at once about a trouble: a solid crank first; None where nothing is."""
    state = scene.state
    if state.solid is not None:
        rockers = state.step(SOLID_ROCKERS)
        down = [v for v, valve_state in state.valves.items() if valve_state.rocker_down]
        if down and (rockers is None or rockers.number < state.solid.number):
            return _rockers_off(scene, state.solid, down)
        return _cause(scene, state.solid)
    fresh = [each for number, each in state.troubles.items() if number not in state.put_off]
    return _put_right(scene, fresh[0]) if fresh else None


def valve_trouble_prompt(scene: Scene, valve: Valve) -> Prompt | None:
    """What a trouble of a valve or its stand asks when the valve is come back to."""
    stand = [str(each) for each in scene.build.stand_of(valve)]
    mine = [each for each in scene.state.troubles.values() if each.body.valve in stand]
    return _put_right(scene, mine[0]) if mine else None


# ------------------------------------------------------------ a solid crank


def _rockers_off(scene: Scene, solid: Entry[Trouble], down: Sequence[Valve]) -> Prompt:
    def backed_off(named: Sequence[Valve]) -> Reply:
        seen = f"backed off: {listed(named)}" if named else "none of them is open"
        body = Answered(step=SOLID_ROCKERS, answer="yes" if named else "no", said=seen)
        off = Draft(back_off(scene, named, "count again").body, (solid.number,))
        return Reply((Draft(body, (solid.number,)), *((off,) if named else ())))

    by_reading = {"lash": "gauged", "gap": "drawn down and gauged", "turns": "counted or set"}
    again = by_reading[scene.build.method.reads]
    return Prompt(
        id=SOLID_ROCKERS,
        heading=WENT_SOLID,
        question="Leave the crank where it is. Back off the rocker of every valve that may be "
        f"open: {listed(down)}. Which did you back off?",
        why="An open valve on a piston bends with the next pull. With its rocker off, its spring "
        "shuts it.",
        caution=_SOLID,
        options=(
            Option("y", "all of them", does=backed_off(down)),
            Option("n", "none: every one was looked at and is shut", does=backed_off(())),
        ),
        reading="the valves backed off, where the others were looked at and are shut",
        example="like 3E 4I",
        facts=(Fact(f"each is {again} again", "its rocker was slack"),),
        take=lambda answer, *_: backed_off(valves_among(answer, down)),
    )


def _cause(scene: Scene, solid: Entry[Trouble]) -> Prompt:
    def put_right(cause: str, words: str, person: str = "") -> Reply:
        body = PutRight(of=solid.number, cause=cause, words=words, person=person)
        look = _CAUSES.get(cause, "")
        return kept(body, look, "warn" if look else "plain", (solid.number,))

    plungers = scene.build.method.reads != "lash"
    causes = [(str(n), each) for n, each in enumerate(_CAUSES, start=1)]
    mistaken = "answered by mistake: it never went solid"
    still = Reply((), "Nothing turns. Look with a light down the plug holes.", "bad")
    return Prompt(
        id=SOLID_CAUSE,
        heading=WENT_SOLID,
        question="What stopped the crank, and how was it put right?",
        why="It moves again only once its cause is known and gone. Forced past it, the next thing "
        "to give is a valve, a pushrod or a piston.",
        caution=_SOLID,
        options=(
            *(
                Option(key, cause, ("how it was put right",), partial(put_right, cause))
                for key, cause in causes
                if plungers or "plunger" not in cause
            ),
            Option("n", "not found yet: the crank stays where it is", does=still),
            Option(
                "m",
                mistaken,
                ("who says so", "what happened"),
                lambda person, what: put_right(mistaken, what, person),
            ),
        ),
    )


def first_move_prompt(scene: Scene) -> Prompt | None:
    """The crank's first move after it went solid: back the way it came; None where none is due."""
    due = scene.state.first_move_due
    if due is None:
        return None

    def moved(key: str, label: str, answer: str) -> Option:
        body = Answered(step=FIRST_MOVE, answer=answer, said=label)
        return Option(
            key, label, does=kept(body, "Its place is found anew.", "warn", (due.number,))
        )

    return Prompt(
        id=FIRST_MOVE,
        heading="the first move since it went solid",
        question="By hand alone, turn the crank back the way it came until it moves freely. Only "
        "where the maker allows turning back; otherwise feel it forward. Does it move freely?",
        why="Back is the way that is known to be free.",
        caution=_SOLID,
        options=(
            moved("y", "back, and free", "back"),
            moved("f", "turning back is not allowed: forward by hand, and free", "on"),
        ),
        turns_crank=True,
    )


# --------------------------------------------------------- any other trouble


def _put_right(scene: Scene, trouble: Entry[Trouble]) -> Prompt:
    """Which of the known troubles it is, then what comes next for it."""
    body, number = trouble.body, trouble.number
    valve = Valve.parse(body.valve) if body.valve else None
    about = f"{valve}: " if valve else ""
    name = scene.state.trouble_names[number]
    plain = Prompt(
        id=PUT_IT_RIGHT,
        heading=f"{about}{name}",
        question=TROUBLES.get(name, OTHER),
        why="It stands open in the record, and nothing is signed with it open.",
        facts=(Fact(body.words, f"entry {number}"),) if body.words else (),
        valve=valve,
    )
    if name == UNNAMED:

        def named(key: str, name: str) -> Option:
            answer = Answered(step=NAMED_TROUBLE, answer=name, said=name, valve=body.valve)
            return Option(key, name, does=kept(answer, rests=(number,)))

        there = f"{lifter_kind(scene)} {scene.build.rocker.mount}"
        names = (each for each in TROUBLES if _ONLY.get(each, "") in there)
        return replace(
            plain,
            id=NAMED_TROUBLE,
            heading=UNNAMED,
            question=f"{about}{body.words}. Which is nearest?",
            why="Each has its own next step.",
            options=tuple(named(*row) for row in zip(ascii_lowercase, names, strict=False)),
            facts=(),
        )

    def slack(done: Reply, why: BackOffWhy) -> Reply:
        if valve is None or not scene.state.valves[valve].rocker_down:
            return done
        off = back_off(scene, scene.build.stand_of(valve), why)
        return replace(done, drafts=(*done.drafts, off))

    def put_right(how: str) -> Reply:
        done = PutRight(of=number, cause=name, words=how)
        return slack(kept(done, "", "good", (number,)), "count again")

    def go_on(person: str, reason: str) -> Reply:
        done = PutRight(of=number, cause="gone on with", words=reason, person=person)
        return kept(done, f"{about}{person} goes on with it.", "warn", (number,))

    options = [Option("1", "put right", ("what was done",), put_right)]
    if name in MAY_GO_ON:
        options.append(Option("2", "go on with it", ("who goes on", "the reason"), go_on))
    if valve is not None and number not in scene.state.put_off:
        put_off = Answered(step=PUT_OFF, answer=str(number), said="left for later")
        later = kept(put_off, "It stands open until then.", "warn", (number,))
        leave = "leave this valve backed off, come back to it"
        options.append(Option("3", leave, does=slack(later, "come back later")))
    options.append(Option("w", "not yet: it waits", does=Reply((), "Then it waits.", "warn")))
    return replace(plain, options=tuple(options))
