"""What can be done at any prompt besides answering it, and the texts it asks for."""

from __future__ import annotations

from heelwise.screens.ask import AskScreen
from heelwise.screens.sitting import Sitting
from heelwise.screens.tones import lines
from heelwise.valvetrain.turning import landmark
from heelwise.valvetrain.valves import Valve
from heelwise.walk.prompts import Refused
from heelwise.walk.walker import Said, Walker

WHILE_OPEN = ("cross_out", "pause", "note", "hand_over")

TELLING = ("record", "sheet", "pushrods")
"""What would tell a second person what the first one found."""


def possible(action: str, walker: Walker) -> bool:
    """Whether an action can be done now."""
    if action in WHILE_OPEN:
        return not walker.closed
    if action == "crank":
        return not walker.closed and walker.standing.crank is not None
    if action in TELLING and walker.prompt.blind:
        return False
    if action == "pushrods":
        valves = walker.standing.valves.values()
        return walker.build.way.clicks and any(
            one.trials or one.reads or one.checked for one in valves
        )
    return True


def lose_crank(sitting: Sitting) -> AskScreen:
    """Ask why the crank's place is not sure."""
    walker = sitting.walker
    at = walker.standing.crank_deg
    place = landmark(walker.build.engine, at) if at is not None else "no place yet"
    about = lines(
        [
            [
                ("The walk has it at ", "plain"),
                (f"{at or 0:g}°", "strong"),
                (f": {place}.", "plain"),
            ],
            [("Where it really is will be found by feeling lifters.", "plain")],
        ]
    )

    def act(texts: tuple[str, ...]) -> Said:
        return walker.lose_crank(texts[0])

    happened, does = ("what happened",), "keeps it, and the crank is looked for"
    return AskScreen(sitting, "Where is the crank?", about, happened, act, does=does)


def note(sitting: Sitting) -> AskScreen:
    """Ask for a note and the valve it is about."""
    walker = sitting.walker
    asked = walker.prompt.valve
    about = lines([[("Anything worth knowing later. It stays with the record.", "plain")]])
    whose = f"the valve, like {asked or walker.build.engine.valves[0]}; nothing for the whole build"
    photo = "a photograph's file name; nothing for none"

    def act(texts: tuple[str, ...]) -> Said:
        valve = _valve(texts[0], walker) if texts[0] else None
        return walker.note(texts[1], valve, texts[2])

    def of_a_valve(text: str) -> object:
        return _valve(text, walker) if text else None

    wants = (whose, "the note", photo)
    return AskScreen(sitting, "A note", about, wants, act, checks=(of_a_valve,))


def _valve(text: str, walker: Walker) -> Valve:
    try:
        valve = Valve.parse(text)
    except ValueError as error:
        raise Refused(str(error), "like 4E") from None
    if valve not in walker.standing.valves:
        raise Refused(f"there is no {valve}", f"one of {len(walker.standing.valves)} valves")
    return valve


def hand_over(sitting: Sitting) -> AskScreen:
    """Ask who goes on."""
    walker = sitting.walker
    about = lines([[("Entries from here on carry the initials of whoever goes on.", "plain")]])

    def act(texts: tuple[str, ...]) -> Said:
        return walker.hand_over(texts[0])

    title, wants = f"{walker.by} hands over", ("initials of who goes on",)
    return AskScreen(sitting, title, about, wants, act, does="hands over")
