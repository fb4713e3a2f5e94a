"""The pushrods to buy: worked out from the trials, then received, measured and labeled."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from heelwise.documents import quantities
from heelwise.documents.entries import Accepted, Answered, Draft, Ordered, Received
from heelwise.documents.quantities import typed_length
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.figures import turns_text
from heelwise.valvetrain.pushrods import Choice
from heelwise.valvetrain.readings import Outlook, outlook
from heelwise.walk.doubts import pushrod_mm
from heelwise.walk.prompts import Fact, Option, Prompt, Refused, Reply, kept
from heelwise.walk.scene import Scene
from heelwise.walk.state import ValveState
from heelwise.walk.steps import example_of
from heelwise.walk.trials import TRY_MORE, choices, settled_mm, trial_prospects
from heelwise.wording import Length, Text, joined, listed, text

ORDER = "walk/order"
MORE = "m"
RECEIVE = "walk/receive"
RECEIVE_REST = "walk/receive-rest"
RECEIVE_ALL = "walk/receive-all"
ANOTHER = "walk/not-as-ordered"
MIXED_UP = "Packs get mixed up, and a label is not a measurement."


def buying_prompt(scene: Scene) -> Prompt | None:
    """The order, then what is received, length by length; None when all of it is here."""
    ordered = ordered_lengths(scene)
    if not ordered:
        return _order(scene)
    states = scene.state.valves.values()
    due = [s for s in states if not _as_ordered(s, ordered[s.valve])]
    if not due:
        return None
    first, length = due[0], ordered[due[0].valve]
    alike = [s.valve for s in due if ordered[s.valve] == length and s.received is None]
    if first.received is None:
        if scene.defaults.receive == "none":
            return _take_as_ordered([s.valve for s in due], ordered)
        here = [s.received.body for s in states if s.received and _as_ordered(s, length)]
        if len(alike) > 1 and any(each.measured and not each.together for each in here):
            return _receive_rest(scene, alike, length)
    return _receive(scene, first, length)


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


def _order(scene: Scene) -> Prompt:
    offered = choices(scene)
    best = lengths_by(scene, offered[0] if offered else None)
    more = _more_to_try(scene, offered[0]) if offered else None
    states = scene.state.valves.values()
    rests = sorted(e.number for s in states for e in (*s.trials, s.settled, s.checked) if e)

    def order(chosen: Mapping[Valve, float]) -> Reply:
        names = [str(valve) for valve in chosen]
        lengths = [scene.build.show_length(mm) for mm in chosen.values()]
        return Reply((Draft(Ordered(valves=names, pushrods=lengths), tuple(rests)),))

    options = [Option("y", "ordered, or on hand", does=order(best))]
    if more is not None:
        label = f"try {listed(more.try_next)} too before ordering"
        bodies = (
            Answered(step=TRY_MORE, answer="yes", said="before ordering", valve=str(valve))
            for valve in more.try_next
        )
        options.insert(0, Option(MORE, label, does=Reply(tuple(map(Draft, bodies)))))
    for number, each in enumerate(offered[1:], start=1):
        options.append(
            Option(str(number), _label(scene, each), does=order(lengths_by(scene, each)))
        )
    return Prompt(
        id=ORDER,
        phase="trial",
        heading="the pushrods to buy",
        question=text("Buy {}.", joined("; ", _purchases(scene, best))),
        why="Pushrods can't go back once they have run. You measure each one as it arrives. "
        "Stop here until they come in; the walk picks up at this point.",
        options=tuple(options),
        facts=_order_facts(scene, best, offered[0] if offered else None, more),
    )


def _order_facts(
    scene: Scene, best: Mapping[Valve, float], choice: Choice | None, more: Outlook | None
) -> tuple[Fact, ...]:
    facts: list[Fact] = []
    if choice is not None:
        odds = f"even the worst valve has {choice.worst_chance:.0%} odds of landing inside"
        facts.append(Fact(odds, "worked out"))
        for purchase in choice.order.buy:
            mine = [each for each in choice.expected if each.valve in purchase.valves]
            by_valve = listed([f"{e.valve} {turns_text(e.turns)} ({e.chance:.0%})" for e in mine])
            length = typed_length(scene.build.show_length(purchase.pushrod_mm))
            facts.append(Fact(text("{}: expect {}", length, by_valve), "worked out"))
        if missed := choice.order.not_served:
            none = f"nothing sold lands {listed(missed)} inside: ordered like the rest of the kind"
            facts.append(Fact(none, "worked out"))
    if more is not None:
        untried = len(scene.state.valves) - len(trial_prospects(scene))
        few = max(round(more.expected_outside), 1)
        outside = f"of the {untried} valves not tried, about {few} may land outside"
        facts.append(Fact(outside, "worked out from how the trials scatter"))
    used, count = scene.travel.used, Counter(best.values())
    if scene.build.method.trial == "pattern":
        facts.append(Fact("the lengths whose marks stood right", "the trials"))
    else:
        facts.append(Fact(text("{} of travel per turn", Length(used.mm)), used.source))
        if not scene.travel.measured:
            why = "no second trial far enough from a first"
            facts.append(Fact("travel per turn not measured", why))
        facts += [Fact(note, "the trials compared") for note in scene.travel.notes]
    for mm, there in scene.build.setup.stock().items():
        if count[mm] > there:
            short = text("{} of {} wanted, {} on hand: get the rest", count[mm], Length(mm), there)
            facts.append(Fact(short, "the setup's on_hand"))
    return tuple(facts)


def _more_to_try(scene: Scene, choice: Choice) -> Outlook | None:
    if scene.build.method.trial != "pushrods":
        return None
    chances = {each.valve: each.chance for each in choice.expected}
    on_heel = [valve for valve in scene.state.valves if scene.on_heel(valve)]
    places = ([placed.valve for placed in at.valves] for at in scene.plan.positions)
    engine = scene.build.engine
    ahead = outlook(engine, trial_prospects(scene), chances, (on_heel, *places))
    return ahead if ahead.try_next else None


def _label(scene: Scene, choice: Choice) -> Text:
    lengths = [(p.count, scene.build.show_length(p.pushrod_mm)) for p in choice.order.buy]
    counts = joined(", ", (text("{} of {}", n, typed_length(each)) for n, each in lengths))
    label = text("{}: {}; worst valve {:.0%}", choice.rule, counts, choice.worst_chance)
    missed = choice.order.not_served
    return label + f"; {listed(missed)} outside" if missed else label


def _purchases(scene: Scene, lengths: Mapping[Valve, float]) -> list[Text]:
    """What to buy, a line a length: "3 of 8.150 in for 1I, 2I and 3I"."""
    by_length: dict[str, list[Valve]] = {}
    for valve, mm in lengths.items():
        by_length.setdefault(scene.build.show_length(mm), []).append(valve)
    return [
        text("{} of {} for {}", len(valves), typed_length(length), listed(valves))
        for length, valves in by_length.items()
    ]


def _as_ordered(valve_state: ValveState, ordered: str) -> bool:
    received = valve_state.received
    if received is None or received.body.ordered != ordered:
        return False
    return received.body.as_ordered or valve_state.acceptance_of(received.number) is not None


def _receive(scene: Scene, valve_state: ValveState, ordered: str) -> Prompt:
    valve, refused = valve_state.valve, valve_state.received
    question: str = f"{valve}: measure its pushrod and write {valve} on it. How long is it?"
    options = []
    if refused is not None:
        number, lengths = refused.number, (refused.body.pushrod, ordered)
        question = text(
            "{}: {} is not the {} ordered. Measure it again, or another one.",
            valve,
            *map(typed_length, lengths),
        )

        def keep(person: str, reason: str) -> Reply:
            body = Accepted(valve=str(valve), of=number, person=person, reason=reason)
            return kept(body, rests=(number,))

        wants = ("who accepts it", "the reason")
        options.append(Option("k", "keep the one measured", wants, keep))
    return Prompt(
        id=RECEIVE if refused is None else ANOTHER,
        phase="trial",
        question=question,
        why=f"{MIXED_UP} Measure it the same way as the trial pushrods.",
        options=tuple(options),
        reading="its length, as measured",
        example=example_of("length"),
        facts=_receive_facts(scene, ordered),
        valve=valve,
        progress=_received_text(scene),
        take=lambda answer, *_: _measured(scene, valve, ordered, answer),
    )


def _receive_facts(scene: Scene, ordered: str) -> tuple[Fact, ...]:
    within = typed_length(scene.defaults.length_tolerance)
    return (
        Fact(text("ordered {}", typed_length(ordered)), "worked out from the trials"),
        Fact(text("counts as that length within {}", within), "the procedure"),
    )


def _received_text(scene: Scene, count: int = 1) -> str:
    total = len(scene.state.valves)
    next_one = sum(s.received is not None for s in scene.state.valves.values()) + 1
    through = f"s {next_one} to {next_one + count - 1}" if count > 1 else f" {min(next_one, total)}"
    return f"pushrod{through} of {total}"


def _receive_rest(scene: Scene, valves: Sequence[Valve], ordered: str) -> Prompt:
    """The others of a length of which one was measured by itself: all of them in one list."""
    length = typed_length(ordered)

    def take(answer: str, *rest: object) -> Reply:
        name, _, measured = answer.partition(" ")
        valve = next((each for each in valves if str(each) == name.upper()), None)
        if valve is None or not measured:
            example = f"y, or like {valves[0]} {ordered}"
            raise Refused(f"{answer!r} names none of {listed(valves)} with a length", example)
        return _measured(scene, valve, ordered, measured)

    drafts = tuple(_unmeasured(valve, ordered, together=True) for valve in valves)
    return Prompt(
        id=RECEIVE_REST,
        phase="trial",
        question=text(
            "{} more of {}: measure each, and write its valve on it: {}. Are they all that length?",
            len(valves),
            length,
            listed(valves),
        ),
        why=f"{MIXED_UP} Measure every one, the way you measured the first.",
        options=(Option("y", "each measured, as ordered, and labeled", does=Reply(drafts)),),
        reading="one that is not, with its length",
        example=text("like {} {}", valves[0], length),
        facts=_receive_facts(scene, ordered),
        valves=tuple(valves),
        progress=_received_text(scene, len(valves)),
        take=take,
    )


def _take_as_ordered(valves: Sequence[Valve], ordered: Mapping[Valve, str]) -> Prompt:
    drafts = tuple(_unmeasured(valve, ordered[valve]) for valve in valves)
    labeled = Option("y", "labeled, by the lengths on their packets", does=Reply(drafts))
    return Prompt(
        id=RECEIVE_ALL,
        phase="trial",
        question=f"Is a pushrod of the length ordered labeled for each of {listed(valves)}?",
        why=f"{MIXED_UP} This procedure has none measured.",
        options=(labeled,),
        facts=(Fact("new pushrods are not measured", "the procedure"),),
    )


def _unmeasured(valve: Valve, length: str, *, together: bool = False) -> Draft:
    """A pushrod taken as ordered; `together`: found so with the others of its length."""
    return Draft(
        Received(
            valve=str(valve),
            pushrod=length,
            ordered=length,
            as_ordered=True,
            measured=together,
            together=together or None,
        )
    )


def _measured(scene: Scene, valve: Valve, ordered: str, answer: str) -> Reply:
    mm, lengths = pushrod_mm(scene, valve, answer), ordered_lengths(scene)
    fits = _near(scene, mm, ordered)
    body = Received(valve=str(valve), pushrod=answer, ordered=ordered, as_ordered=fits)
    # Its length stands by itself: a new order asks for it again only where another is ordered.
    drafts = [Draft(body)]
    if fits and scene.defaults.receive == "one of each length":
        states = scene.state.valves.values()
        due = [s.valve for s in states if s.received is None and s.valve != valve]
        drafts += [_unmeasured(v, ordered) for v in due if lengths[v] == ordered]
    if fits:
        return Reply(tuple(drafts), f"{valve}: {answer}, as ordered.", "good")
    swapped = [v for v, length in lengths.items() if _near(scene, mm, length)]
    hint = f" It is what {listed(swapped)} should have: swapped?" if swapped else ""
    return Reply(tuple(drafts), f"{valve}: {answer} is not the {ordered} ordered.{hint}", "bad")


def _near(scene: Scene, mm: float, ordered: str) -> bool:
    tolerance = quantities.length_mm(scene.defaults.length_tolerance)
    return abs(mm - quantities.length_mm(ordered)) <= tolerance + 1e-9
