"""The pushrods to buy: worked out from the trials, then each received one measured."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import Accepted, Answered, Draft, Ordered, Received
from heelwise.documents.entry_base import Entry
from heelwise.documents.quantities import typed_length
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.figures import turns_text
from heelwise.valvetrain.pushrods import Choice
from heelwise.valvetrain.readings import Outlook, outlook
from heelwise.walk.doubts import pushrod_mm
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Reply
from heelwise.walk.scene import Scene
from heelwise.walk.state import ValveState
from heelwise.walk.steps import example_of
from heelwise.walk.trials import TRY_MORE, choices, settled_mm, trial_prospects
from heelwise.wording import Length, Text, joined, listed, text

ORDER = "walk/order"
MORE = "m"
RECEIVE = "walk/receive"
RECEIVE_ALL = "walk/receive-all"
ANOTHER = "walk/not-as-ordered"
KEEP = "k"
ON_HAND = "the setup's on_hand"
NOT_MEASURED = Fact("travel per turn not measured", "no second trial far enough from a first")


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


def lengths_by(scene: Scene, choice: Choice | None) -> dict[Valve, float]:
    """The length (mm) for every valve by an order; of those nothing serves, that of their kind."""
    fixed = settled_mm(scene)
    bought = {v: p.pushrod_mm for p in choice.order.buy for v in p.valves} if choice else {}
    known = bought | fixed
    tried = {v: p.pushrod_mm for v, p in trial_prospects(scene).items()}
    by_kind = {valve.kind: mm for valve, mm in (tried | known).items()}
    some = next(iter(by_kind.values()))
    return {
        valve: known.get(valve) or tried.get(valve) or by_kind.get(valve.kind, some)
        for valve in scene.build.engine.valves
    }


def _shortages(scene: Scene, wanted: Mapping[Valve, float]) -> tuple[Fact, ...]:
    stock, count = scene.build.setup.stock(), Counter(wanted.values())
    return tuple(
        Fact(
            text("{} of {} wanted, {} on hand: get the rest", count[mm], Length(mm), there), ON_HAND
        )
        for mm, there in stock.items()
        if count[mm] > there
    )


def _order(scene: Scene) -> Prompt:
    offered = choices(scene)
    best = lengths_by(scene, offered[0] if offered else None)
    more = _more_to_try(scene, offered[0]) if offered else None
    rests = tuple(
        sorted(
            e.number
            for s in scene.state.valves.values()
            for e in (*s.trials, s.settled, s.checked)
            if e is not None
        )
    )

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Reply:
        if answer == MORE and more is not None:
            body = Answered(step=TRY_MORE, answer="yes", said="tried too", valve=str(more.try_next))
            return Reply((Draft(body),))
        chosen = best if answer == "y" else lengths_by(scene, offered[int(answer)])
        names = [str(valve) for valve in chosen]
        lengths = [scene.build.show_length(mm) for mm in chosen.values()]
        return Reply((Draft(Ordered(valves=names, pushrods=lengths), rests),))

    return Prompt(
        id=ORDER,
        phase="trial",
        ask=Ask.CHOICE,
        heading="the pushrods to buy",
        question=text("Buy {}.", joined("; ", _purchases(scene, best))),
        why="Once run they can't be returned. Each is measured when it comes. Leave the walk "
        "until they are here: it goes on from this place.",
        options=(
            *((Option(MORE, f"try {more.try_next} too before ordering"),) if more else ()),
            Option("y", "ordered, or on hand"),
            *(Option(str(n), _label(each)) for n, each in enumerate(offered[1:], start=1)),
        ),
        facts=(
            *(_expected_facts(offered[0], scene.window.source) if offered else ()),
            *_outside_facts(scene, more),
            *_travel_facts(scene),
            *_shortages(scene, best),
        ),
        take=take,
    )


def _travel_facts(scene: Scene) -> tuple[Fact, ...]:
    """The travel an order goes by; none where the tip's mark chose the lengths."""
    used = scene.travel.used
    if scene.build.method.trial == "pattern":
        return (Fact("the lengths whose marks stood right", "the trials"),)
    return (
        Fact(text("{} of travel per turn", Length(used.mm)), used.source),
        *(() if scene.travel.measured else (NOT_MEASURED,)),
        *(Fact(note, "the trials compared") for note in scene.travel.notes),
    )


def _more_to_try(scene: Scene, choice: Choice) -> Outlook | None:
    if scene.build.method.trial != "pushrods":
        return None
    chances = {each.valve: each.chance for each in choice.expected}
    ahead = outlook(scene.build.engine, trial_prospects(scene), chances)
    return None if ahead.enough_tried else ahead


def _outside_facts(scene: Scene, more: Outlook | None) -> tuple[Fact, ...]:
    if more is None:
        return ()
    untried = len(scene.state.valves) - len(trial_prospects(scene))
    sentence = f"of {untried} not tried, about {more.expected_outside:.1f} may land outside"
    return (Fact(sentence, "worked out from how the trials scatter"),)


def _label(choice: Choice) -> Text:
    counts = [text("{} of {}", p.count, Length(p.pushrod_mm)) for p in choice.order.buy]
    worst = f"{choice.worst_chance:.0%}"
    return text("{}: {}; worst chance {}", choice.rule, joined(", ", counts), worst)


def _expected_facts(choice: Choice, window: str) -> tuple[Fact, ...]:
    facts = [Fact(f"{choice.rule}: {choice.worst_chance:.0%} at worst", window)]
    for purchase in choice.order.buy:
        mine = [each for each in choice.expected if each.valve in purchase.valves]
        by_valve = listed([f"{e.valve} {turns_text(e.turns)} ({e.chance:.0%})" for e in mine])
        facts.append(
            Fact(text("{}: expect {}", Length(purchase.pushrod_mm), by_valve), "worked out")
        )
    return tuple(facts)


def _purchases(scene: Scene, lengths: Mapping[Valve, float]) -> list[Text]:
    """What to buy, a line a length: "3 of 8.150 in for 1I, 2I and 3I"."""
    by_length: dict[str, list[Valve]] = {}
    for valve, mm in lengths.items():
        by_length.setdefault(scene.build.show_length(mm), []).append(valve)
    return [
        text("{} of {} for {}", len(valves), typed_length(length), listed(valves))
        for length, valves in by_length.items()
    ]


def _as_ordered(valve_state: ValveState, received: Entry[Received], ordered: str) -> bool:
    if received.body.ordered != ordered:
        return False
    return received.body.as_ordered or valve_state.acceptance_of(received.number) is not None


def _receive(scene: Scene, valve_state: ValveState, ordered: str) -> Prompt:
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
    tolerance = quantities.length_mm(scene.build.procedure.defaults.length_tolerance)
    return abs(mm - quantities.length_mm(ordered)) <= tolerance + 1e-9
