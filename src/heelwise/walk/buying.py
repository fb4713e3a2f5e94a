"""The pushrods to buy: worked out from the trials, then each received one measured."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import Accepted, Checked, Draft, Ordered, Received
from heelwise.documents.entry_base import Entry
from heelwise.documents.quantities import typed_length
from heelwise.valvetrain.engine import Engine, Valve
from heelwise.valvetrain.pushrods import expectation, order
from heelwise.valvetrain.readings import Expectation, Reading
from heelwise.valvetrain.window import preload_mm
from heelwise.walk.doubts import pushrod_mm
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Reply
from heelwise.walk.scene import Scene
from heelwise.walk.steps import example_of
from heelwise.walk.trials import landed_inside, trial_valves
from heelwise.walk.valve_state import ValveState
from heelwise.wording import Length, joined, listed, text

ORDER = "walk/order"
RECEIVE = "walk/receive"
RECEIVE_ALL = "walk/receive-all"
ANOTHER = "walk/not-as-ordered"
KEEP = "k"
ON_HAND = "the setup's on_hand"


def buying_prompt(scene: Scene) -> Prompt | None:
    """The order, then one prompt a received pushrod; None when all are measured."""
    ordered = ordered_lengths(scene)
    if not ordered:
        return _order(scene)
    due = [
        state
        for state in scene.state.valves.values()
        if state.received is None or not _as_ordered(state, state.received, ordered[state.valve])
    ]
    if not due:
        return None
    if scene.build.procedure.defaults.receive == "none" and due[0].received is None:
        return _take_as_ordered(scene, due)
    return _receive(scene, due[0], ordered[due[0].valve])


def ordered_lengths(scene: Scene) -> dict[Valve, str]:
    """The length ordered for each valve, as the order has it; empty before it."""
    entry = scene.state.ordered
    if entry is None:
        return {}
    pairs = zip(entry.body.valves, entry.body.pushrods, strict=True)
    return {Valve.parse(name): length for name, length in pairs}


def wanted_lengths(scene: Scene) -> dict[Valve, float]:
    """The length (mm) for every valve: its own trial's, or that of its bank and kind, or kind.

    Where some lengths are on hand in limited numbers, the whole set is shared out among them.
    """
    readings, fixed = _tried(scene)
    lengths, window, travel = scene.build.setup.lengths(), scene.window, scene.travel.used.mm
    sources = _sources(scene.build.engine, fixed)
    for purchase in order(readings.values(), window, travel, lengths).buy:
        fixed.update(dict.fromkeys(purchase.valves, purchase.pushrod_mm))
    wanted = {valve: fixed[source] for valve, source in sources.items()}
    stock = scene.build.setup.stock()
    if not stock:
        return wanted
    every = [replace(readings[s], valve=v) for v, s in sources.items() if s in readings]
    for valve, source in sources.items():
        if source not in readings and wanted[valve] in stock:
            stock[wanted[valve]] = max(stock[wanted[valve]] - 1, 0)
    shared = order(every, window, travel, lengths, stock=stock)
    return wanted | {v: p.pushrod_mm for p in shared.buy for v in p.valves}


def _sources(engine: Engine, tried: Collection[Valve]) -> dict[Valve, Valve]:
    """The tried valve each valve goes by: itself, or one of its bank and kind, or of its kind."""
    by_kind = {v.kind: v for v in tried}
    by_group = {(engine.bank_of(v.cylinder).name, v.kind): v for v in tried}
    return {
        v: v
        if v in tried
        else by_group.get((engine.bank_of(v.cylinder).name, v.kind)) or by_kind[v.kind]
        for v in engine.valves
    }


def _tried(scene: Scene) -> tuple[dict[Valve, Reading], dict[Valve, float]]:
    """What each trial valve read, where a length is to be chosen, and its length as it stands."""
    readings, fixed = {}, {}
    for valve in trial_valves(scene):
        valve_state = scene.state.valve(valve)
        if valve_state.checked is not None:
            readings[valve] = _as_counted(scene, valve, valve_state.checked.body)
            fixed[valve] = valve_state.checked.body.wanted_mm
        if valve_state.settled is not None:
            fixed[valve] = quantities.length_mm(valve_state.settled.body.pushrod)
        elif valve_state.trials:
            last = (landed_inside(scene, valve_state) or valve_state.trials[-1]).body
            length = quantities.length_mm(last.pushrod)
            readings[valve] = Reading(valve, length, quantities.turns(last.turns))
            fixed[valve] = length
    return readings, fixed


def chances(scene: Scene) -> dict[Valve, Expectation]:
    """For each valve tried, what to expect with the pushrod to buy for it."""
    wanted, resolution = wanted_lengths(scene), scene.build.procedure.defaults.resolution_turns
    return {
        valve: expectation(reading, wanted[valve], scene.window, scene.travel.used, resolution)
        for valve, reading in _tried(scene)[0].items()
    }


def _shortages(scene: Scene, wanted: Mapping[Valve, float]) -> tuple[Fact, ...]:
    """Lengths of which fewer are on hand than the set takes."""
    stock, count = scene.build.setup.stock(), Counter(wanted.values())
    return tuple(
        Fact(
            text("{} of {} wanted, {} on hand: get the rest", count[mm], Length(mm), there), ON_HAND
        )
        for mm, there in stock.items()
        if count[mm] > there
    )


def _as_counted(scene: Scene, valve: Valve, checked: Checked) -> Reading:
    """What a count would give with the pushrod that the middle of the window asks for."""
    travel, middle = scene.travel.used.mm, scene.window.middle
    deep = preload_mm(middle, travel, scene.seat_turns)
    return Reading(valve, zero_lash_mm(checked) + deep, middle)


def zero_lash_mm(checked: Checked) -> float:
    """The pushrod length that leaves no lash and no preload, in mm, by a checking reading."""
    worked_out = checked.zero_lash_mm
    return quantities.length_mm(checked.length) if worked_out is None else worked_out


def _order(scene: Scene) -> Prompt:
    wanted, used = wanted_lengths(scene), scene.travel.used
    lengths = {valve: scene.build.show_length(mm) for valve, mm in wanted.items()}
    rests = tuple(
        sorted(
            e.number
            for s in scene.state.valves.values()
            for e in (*s.trials, s.settled, s.checked)
            if e is not None
        )
    )

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        names = [str(v) for v in lengths]
        return Reply((Draft(Ordered(valves=names, pushrods=list(lengths.values())), rests),))

    return Prompt(
        id=ORDER,
        phase="trial",
        ask=Ask.CHOICE,
        heading="the pushrods to buy",
        question=text("Buy {}.", joined("; ", _purchases(lengths))),
        why="Once run they can't be returned. Each is measured when it comes. Leave the walk "
        "until they are here: it goes on from this place.",
        options=(Option("y", "ordered, or on hand"),),
        facts=(
            Fact("lengths that put every trial inside, nearest the middle", scene.window.source),
            Fact(text("{} of travel per turn", Length(used.mm)), used.source),
            *(Fact(note, "the trials compared") for note in scene.travel.notes),
            *_shortages(scene, wanted),
        ),
        take=take,
    )


def _purchases(lengths: Mapping[Valve, str]) -> list[str]:
    """ "8 of 8.150 in for 1I, 2I and 3I", a line a length."""
    return [
        text("{} of {} for {}", count, typed_length(length), listed(_for(lengths, length)))
        for length, count in Counter(lengths.values()).items()
    ]


def _for(lengths: Mapping[Valve, str], length: str) -> list[Valve]:
    return [valve for valve, each in lengths.items() if each == length]


def _as_ordered(valve_state: ValveState, received: Entry[Received], ordered: str) -> bool:
    if received.body.ordered != ordered:
        return False
    return received.body.as_ordered or valve_state.acceptance_of(received.number) is not None


def _receive(scene: Scene, valve_state: ValveState, ordered: str) -> Prompt:
    """The pushrod of a valve, measured; one that was measured and isn't as ordered, again."""
    valve, refused = valve_state.valve, valve_state.received
    question: str = f"{valve}: measure its pushrod and write {valve} on it. How long is it?"
    if refused is not None:
        question = text(
            "{}: {} is not the {} ordered. Measure it again, or another one.",
            valve,
            typed_length(refused.body.pushrod),
            typed_length(ordered),
        )

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        if refused is not None and answer == KEEP:
            person, reason = texts
            body = Accepted(valve=str(valve), of=refused.number, person=person, reason=reason)
            return Reply((Draft(body, (refused.number,)),))
        return _measured(scene, valve, ordered, answer)

    done = sum(s.received is not None for s in scene.state.valves.values())
    within = typed_length(scene.build.procedure.defaults.length_tolerance)
    keep = Option(KEEP, "keep the one measured", ("who accepts it", "the reason"))
    return Prompt(
        id=RECEIVE if refused is None else ANOTHER,
        phase="trial",
        ask=Ask.READING,
        question=question,
        why="Packets get mixed, and labels are not measurements. Measured the same way as the "
        "trial pushrods.",
        options=() if refused is None else (keep,),
        reading="its length, as measured",
        example=example_of("length"),
        facts=(
            Fact(text("ordered {}", typed_length(ordered)), "worked out from the trials"),
            Fact(text("taken as that within {}", within), "the procedure"),
        ),
        valve=valve,
        progress=f"pushrod {done + 1} of {len(scene.state.valves)}",
        take=take,
    )


def _take_as_ordered(scene: Scene, due: Iterable[ValveState]) -> Prompt:
    """The pushrods of a procedure that has none measured: each labeled for its valve."""
    ordered = ordered_lengths(scene)
    valves = [state.valve for state in due]

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        return Reply(_unmeasured(valves, ordered))

    return Prompt(
        id=RECEIVE_ALL,
        phase="trial",
        ask=Ask.CHOICE,
        question=f"Is a pushrod of the length ordered labeled for each of {listed(valves)}?",
        why="Packets get mixed, and labels are not measurements. This procedure has none measured.",
        options=(Option("y", "labeled, by the lengths on their packets"),),
        facts=(Fact("new pushrods are not measured", "the procedure"),),
        take=take,
    )


def _unmeasured(valves: Iterable[Valve], ordered: Mapping[Valve, str]) -> tuple[Draft, ...]:
    return tuple(
        Draft(
            Received(
                valve=str(valve),
                pushrod=ordered[valve],
                ordered=ordered[valve],
                as_ordered=True,
                measured=False,
            )
        )
        for valve in valves
    )


def _of_the_same_length(scene: Scene, valve: Valve) -> list[Valve]:
    """Valves whose pushrods are taken as ordered once this one was measured."""
    if scene.build.procedure.defaults.receive != "one of each length":
        return []
    ordered = ordered_lengths(scene)
    states = scene.state.valves.values()
    due = [s.valve for s in states if s.received is None and s.valve != valve]
    return [each for each in due if ordered[each] == ordered[valve]]


def _measured(scene: Scene, valve: Valve, ordered: str, answer: str) -> Reply:
    mm = pushrod_mm(scene, valve, answer)
    fits = _near(scene, mm, ordered)
    body = Received(valve=str(valve), pushrod=answer, ordered=ordered, as_ordered=fits)
    # Its length stands by itself: a new order asks for it again only where another is ordered.
    draft = Draft(body)
    if fits:
        others = _unmeasured(_of_the_same_length(scene, valve), ordered_lengths(scene))
        return Reply((draft, *others), f"{valve}: {answer}, as ordered.", "good")
    swapped = [v for v, length in ordered_lengths(scene).items() if _near(scene, mm, length)]
    hint = f" It is what {listed(swapped)} should have: swapped?" if swapped else ""
    return Reply((draft,), f"{valve}: {answer} is not the {ordered} ordered.{hint}", "bad")


def _near(scene: Scene, mm: float, ordered: str) -> bool:
    """Whether a length is the one ordered, within the procedure's tolerance."""
    tolerance = quantities.length_mm(scene.build.procedure.defaults.length_tolerance)
    return abs(mm - quantities.length_mm(ordered)) <= tolerance + 1e-9
