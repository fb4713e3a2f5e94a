"""The set of pushrods: as read and judged, to buy, then received, measured and labeled."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from heelwise.documents import quantities
from heelwise.documents.entries import Answered, Draft, Ordered, Received
from heelwise.documents.entry_base import Entry
from heelwise.documents.quantities import MEASURES, typed_length
from heelwise.documents.setup_lifters import Counted
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.figures import Repeats, repeats, turns_text
from heelwise.valvetrain.pattern import find_pattern
from heelwise.valvetrain.pushrods import ONE_A_KIND, Choice, Order, choose_pushrods
from heelwise.valvetrain.readings import Expectation, Outlook, expect, outlook
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import Verdict, judge
from heelwise.walk.doubts import accept_option, pushrod_mm
from heelwise.walk.limits import travel_facts
from heelwise.walk.prompts import Fact, Option, Prompt, Refused, Reply, kept
from heelwise.walk.scene import Scene, reading_of
from heelwise.walk.state import ValveState
from heelwise.walk.trials import TRY_MORE, choices, settled_mm, trial_prospects
from heelwise.wording import Length, Text, joined, listed, text

ORDER = "walk/order"
MORE = "m"
RECEIVE = "walk/receive"
ANOTHER = "walk/not-as-ordered"
MIXED_UP = "Packs get mixed up, and a label is not a measurement."

POOR_CHANCE = 0.75
"""Below this chance to land inside a list says so. Our own figure: three in four."""


def buying_prompt(scene: Scene) -> Prompt | None:
    """The order, then what is received, length by length; None when all of it is here."""
    ordered = ordered_lengths(scene)
    if not ordered:
        return _order(scene)
    due = [s for v, s in scene.state.valves.items() if not _as_ordered(s, ordered[v])]
    if not due:
        return None
    due.sort(key=lambda state: state.received is None)  # one that differs is in the hand
    first, refused, rule = due[0].valve, due[0].received, scene.defaults.receive
    alike = [s.valve for s in due if s.received is None and ordered[s.valve] == ordered[first]]
    one = refused is not None or rule == "one of each length"
    unmeasured = [] if rule == "every one" else [v for v in alike if v != first or not one]
    taken = _received(unmeasured, ordered[first], ordered[first], measured=False)
    return _receive(scene, [first] if one else alike, ordered[first], refused, taken)


def ordered_lengths(scene: Scene) -> dict[Valve, str]:
    """The length ordered for each valve, as the order has it; empty before it."""
    entry = scene.state.ordered
    if entry is None:
        return {}
    pairs = zip(entry.body.valves, entry.body.pushrods, strict=True)
    return {Valve.parse(name): length for name, length in pairs}


# ------------------------------------------------------------------ the order


def lengths_by(scene: Scene, choice: Choice | None) -> dict[Valve, float]:
    """The length (mm) for every valve by an order; of those nothing serves, that of their kind."""
    bought = {v: p.pushrod_mm for p in choice.order.buy for v in p.valves} if choice else {}
    tried = {v: p.pushrod_mm for v, p in trial_prospects(scene).items()}
    known = tried | bought | settled_mm(scene)
    by_kind = {valve.kind: mm for valve, mm in known.items()}
    some = next(iter(by_kind.values()))
    every = scene.build.engine.valves
    return {valve: known.get(valve) or by_kind.get(valve.kind, some) for valve in every}


def _order(scene: Scene) -> Prompt:
    offered = choices(scene)
    first = offered[0] if offered else None
    best, more = lengths_by(scene, first), _more_to_try(scene, first) if first else None
    states = scene.state.valves.values()
    rests = sorted(e.number for s in states for e in (*s.trials, s.settled, s.checked) if e)

    def order(chosen: Mapping[Valve, float]) -> Reply:
        lengths = [scene.build.show_length(mm) for mm in chosen.values()]
        return kept(Ordered(valves=list(map(str, chosen)), pushrods=lengths), rests=tuple(rests))

    options = [Option("y", "ordered, or on hand", does=order(best))]
    if more is not None:
        label = f"try {listed(more.try_next)} too before ordering"
        drafts = (
            Draft(Answered(step=TRY_MORE, answer="yes", said="before ordering", valve=str(valve)))
            for valve in more.try_next
        )
        options.insert(0, Option(MORE, label, does=Reply(tuple(drafts))))
    for number, each in enumerate(offered[1:], start=1):
        lengths, missed = lengths_by(scene, each), listed(each.order.not_served)
        packs = joined(", ", _packs(scene, lengths, "{} of {}"))
        odds = f"worst valve {each.worst_chance:.0%}" + (f"; {missed} outside" if missed else "")
        label = text("{}: {}; {}", each.rule, packs, odds)
        options.append(Option(str(number), label, does=order(lengths)))
    return Prompt(
        id=ORDER,
        phase="trial",
        heading="the pushrods to buy",
        question=text("Buy {}.", joined("; ", _packs(scene, best, "{} of {} for {}"))),
        why="Pushrods can't go back once they have run. You measure each one as it arrives. "
        "Stop here until they come in; the walk picks up at this point.",
        options=tuple(options),
        facts=_order_facts(scene, best, first, more),
    )


def _packs(scene: Scene, lengths: Mapping[Valve, float], words: str) -> list[Text]:
    by_length = defaultdict[str, list[Valve]](list)
    for valve, mm in lengths.items():
        by_length[scene.build.show_length(mm)].append(valve)
    return [text(words, len(v), typed_length(each), listed(v)) for each, v in by_length.items()]


def _order_facts(
    scene: Scene, best: Mapping[Valve, float], choice: Choice | None, more: Outlook | None
) -> tuple[Fact, ...]:
    facts: list[Fact] = []
    if choice is not None:
        odds = f"even the worst valve has {choice.worst_chance:.0%} odds of landing inside"
        facts.append(Fact(odds, "worked out"))
        for purchase in choice.order.buy:
            mine = [each for each in choice.expected if each.valve in purchase.valves]
            by_valve = listed(
                [f"{e.valve} {turns_text(round(8 * e.turns) / 8)} ({e.chance:.0%})" for e in mine]
            )
            length = typed_length(scene.build.show_length(purchase.pushrod_mm))
            facts.append(Fact(text("{}: expect about {}", length, by_valve), "worked out"))
        if missed := choice.order.not_served:
            none = f"nothing sold lands {listed(missed)} inside: ordered like the rest of the kind"
            facts.append(Fact(none, "worked out"))
    if more is not None:
        untried = len(scene.state.valves) - len(trial_prospects(scene))
        few = max(round(more.expected_outside), 1)
        outside = f"of the {untried} valves not tried, about {few} may land outside"
        facts.append(Fact(outside, "worked out from how the trials scatter"))
    if scene.build.method.trial == "pattern":
        facts.append(Fact("the lengths whose marks stood right", "the trials"))
    else:
        travel, *notes = travel_facts(scene)
        facts.append(travel)
        if not scene.travel.measured:
            why = "no second trial far enough from a first"
            facts.append(Fact("travel per turn not measured", why))
        facts += notes
    count = Counter(best.values())
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


# ------------------------------------------------------------ what is received


def _as_ordered(valve_state: ValveState, ordered: str) -> bool:
    received = valve_state.received
    if received is None or received.body.ordered != ordered:
        return False
    return received.body.as_ordered or valve_state.acceptance_of(received.number) is not None


def _receive(
    scene: Scene,
    valves: Sequence[Valve],
    ordered: str,
    refused: Entry[Received] | None,
    unmeasured: tuple[Draft, ...],
) -> Prompt:
    """Pushrods of one length; one `refused` before is measured again, or kept."""
    several, length, names = len(valves) > 1, typed_length(ordered), listed(valves)
    states, within = scene.state.valves.values(), typed_length(scene.defaults.length_tolerance)
    number = sum(s.received is not None for s in states) + (refused is None)
    progress = f"pushrod {number} of {len(states)}"
    question = Text(f"{names}: measure its pushrod and write {names} on it. How long is it?")
    options, why = tuple[Option, ...](), f"{MIXED_UP} Measure as you measured the trial pushrods."
    reading, example = "its length, as measured", MEASURES["length"].example
    if several:
        progress = f"pushrods {number} to {number + len(valves) - 1} of {len(states)}"
        write = "{} of {}: measure each, and write its valve on it: {}. How long are they?"
        question = text(write, len(valves), length, names)
        reading = "their length; one that differs with its valve"
        example = text("like {}, or {} {}", length, valves[-1], length)
    if refused is None and scene.defaults.receive == "none":
        question = text("{} of {}: write its valve on each: {}.", len(valves), length, names)
        labeled = "labeled, by the lengths on their packets; not measured"
        options, reading, example = (Option("y", labeled, does=Reply(unmeasured)),), "", ""
        why = f"{MIXED_UP} This procedure has none measured."
    elif refused is not None:
        asked = "{}: {} is not the {} ordered. Measure it again, or another one."
        question = text(asked, names, typed_length(refused.body.pushrod), length)
        options = (accept_option("k", "keep the one measured", valves[0], refused.number),)

    def take(answer: str, *rest: object) -> Reply:
        name, _, length = answer.partition(" ")
        named = [valve for valve in valves if str(valve) == name.upper()]
        reply = _measured(scene, named or valves, ordered, length if named else answer)
        others = unmeasured if reply.tone == "good" else ()
        return replace(reply, drafts=(*reply.drafts, *others))

    return Prompt(
        id=RECEIVE if refused is None else ANOTHER,
        phase="trial",
        question=question,
        why=why,
        options=options,
        reading=reading,
        example=example,
        facts=(
            Fact(text("ordered {}", length), "worked out from the trials"),
            Fact(text("counts as that length within {}", within), "the procedure"),
        ),
        valve=None if several else valves[0],
        valves=tuple(valves),
        progress=progress,
        take=take,
    )


def _measured(scene: Scene, valves: Sequence[Valve], ordered: str, answer: str) -> Reply:
    mm, lengths = pushrod_mm(scene, valves[0], answer), ordered_lengths(scene)
    names, fits, together = listed(valves), _near(scene, mm, ordered), len(valves) > 1
    if not fits and together:
        like = f"with its valve if it's one of them, like {valves[0]} {answer}"
        raise Refused(f"{answer} is not the {ordered} ordered", like)
    # Its length stands by itself: a new order asks for it again only where another is ordered.
    drafts = _received(valves, ordered, answer, as_ordered=fits, together=together or None)
    if fits:
        return Reply(drafts, f"{names}: {answer}, as ordered.", "good")
    swapped = [v for v, length in lengths.items() if _near(scene, mm, length)]
    hint = f" It is what {listed(swapped)} should have: swapped?" if swapped else ""
    return Reply(drafts, f"{names}: {answer} is not the {ordered} ordered.{hint}", "bad")


def _received(
    valves: Sequence[Valve], ordered: str, pushrod: str, *, as_ordered: bool = True, **how: Any
) -> tuple[Draft, ...]:
    kept_so = {"pushrod": pushrod, "ordered": ordered, "as_ordered": as_ordered, **how}
    return tuple(Draft(Received(valve=str(valve), **kept_so)) for valve in valves)


def _near(scene: Scene, mm: float, ordered: str) -> bool:
    tolerance = quantities.length_mm(scene.defaults.length_tolerance)
    return abs(mm - quantities.length_mm(ordered)) <= tolerance + 1e-9


# ------------------------------------------------------- the set as it was read


@dataclass(frozen=True)
class PushrodSet:
    """The readings of a set, and the scene whose figures judge them.

    `repeated`: counts made more than once on one valve with one length: the first, and all.
    """

    scene: Scene
    readings: tuple[Counted, ...]
    repeated: tuple[tuple[Reading, Repeats], ...]

    @property
    def latest(self) -> list[Reading]:
        """The readings alone."""
        return [each.reading for each in self.readings]

    def verdict(self, counted: Counted) -> Verdict:
        """A reading's verdict by the rule in force."""
        reading, rule = counted.reading, self.scene.defaults.rule
        return judge(reading.turns, self.scene.window, reading.resolution, rule)

    @cached_property
    def choices(self) -> tuple[Choice, ...]:
        """The order to make for the valves read, then the others worth knowing."""
        setup = self.scene.build.setup
        return choose_pushrods(self.latest, self.scene.basis, setup.lengths(), setup.stock())

    def order(self, by_kind: bool = False) -> Order:
        """What to buy for the valves read, of lengths sold or on hand; `by_kind`: one a kind."""
        one_a_kind = (choice for choice in self.choices if ONE_A_KIND in choice.rules)
        return (next(one_a_kind) if by_kind else self.choices[0]).order

    @property
    def lash_left(self) -> list[Valve]:
        """Valves whose count says only that the pushrod is too short."""
        return [each.reading.valve for each in self.readings if each.lash_left]

    def expected(self, bought: Order) -> list[Expectation]:
        """What each valve should read with what is bought for it; nothing where lash was left."""
        to_come = {v: purchase.pushrod_mm for purchase in bought.buy for v in purchase.valves}
        return [
            expect(each.reading, to_come[each.reading.valve], self.scene.basis)
            for each in self.readings
            if each.reading.valve in to_come and not each.lash_left
        ]


def set_of(scene: Scene) -> PushrodSet:
    """The set of a build under way: every valve's latest reading, and the figures in force."""
    reads = [e.body for s in scene.state.valves.values() for e in (*s.trials, *s.reads)]
    return PushrodSet(scene, tuple(_latest(scene)), repeated(map(reading_of, reads)))


def _latest(scene: Scene) -> Iterable[Counted]:
    """Each valve's latest reading not crossed out: in the engine, or else in a trial."""
    for _, valve_state in sorted(scene.state.valves.items()):
        if reads := valve_state.reads or valve_state.trials:
            yield Counted(reading_of(reads[-1].body))
        elif valve_state.checked and (zero := scene.at_zero_lash(valve_state)):
            body = valve_state.checked.body
            lash = f", {body.lash} of lash over a solid checking lifter" if body.lash else ""
            yield Counted(zero, f"at zero lash by a pushrod of {body.length}{lash}")


def repeated(counts: Iterable[Reading]) -> tuple[tuple[Reading, Repeats], ...]:
    """Put counts together that were made more than once on one valve with one length."""
    groups: dict[tuple[Valve, float], list[Reading]] = {}
    for reading in counts:
        groups.setdefault((reading.valve, reading.pushrod), []).append(reading)
    return tuple(
        (group[0], repeats([r.turns for r in group], max(r.resolution for r in group)))
        for _, group in sorted(groups.items())
        if len(group) > 1
    )


def with_pattern(scene: Scene, prompt: Prompt) -> Prompt:
    """A question on a valve that alone reads apart from the rest says so, and where to look."""
    if prompt.valve is None or prompt.phase not in ("fit", "prove"):
        return prompt
    readings = [each.reading for each in _latest(scene) if each.counted]
    found = find_pattern(scene.build.engine, readings, scene.travel.used) if readings else ()
    about = (each for each in found if each.valves == (prompt.valve,))
    facts = (Fact(f"{each.what}. {each.first_look}", "the counts compared") for each in about)
    return replace(prompt, facts=(*facts, *prompt.facts))
