"""The pushrods to buy: worked out from the trials, then each received one measured."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.entries import (
    Accepted,
    Checked,
    Draft,
    Ordered,
    Read,
    Received,
    Settled,
)
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.figures import length_text
from heelwise.valvetrain.pushrods import Reading, order
from heelwise.valvetrain.valves import Valve
from heelwise.valvetrain.verdict import preload_mm
from heelwise.walk.prompts import Ask, Fact, Option, Prompt, Taken
from heelwise.walk.scene import Scene
from heelwise.walk.standing import ValveStanding
from heelwise.walk.steps import example_of, read_quantity
from heelwise.walk.trial import trial_valves

ORDER = "walk/order"
RECEIVE = "walk/receive"
ANOTHER = "walk/not-as-ordered"
ON_HAND = "the setup's on_hand"


def buying_prompt(scene: Scene) -> Prompt | None:
    """The order, then one prompt a received pushrod; None when all are measured."""
    if not ordered_lengths(scene):
        return _order(scene)
    for valve in scene.build.engine.valves:
        one = scene.standing.valve(valve)
        if one.received is None or not _as_ordered(one, ordered_lengths(scene)[valve]):
            return _receive(scene, one, ordered_lengths(scene)[valve])
    return None


def ordered_lengths(scene: Scene) -> dict[Valve, str]:
    """The length ordered for each valve, as the order has it; empty before it."""
    entry = scene.standing.ordered
    if entry is None or not isinstance(entry.body, Ordered):
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
        one = scene.standing.valve(valve)
        settled = one.settled.body if one.settled else None
        checked = one.checked.body if one.checked else None
        if isinstance(checked, Checked):
            readings[valve] = _as_counted(scene, valve, checked)
            fixed[valve] = checked.wanted_mm
        if isinstance(settled, Settled):
            fixed[valve] = quantities.length_mm(settled.pushrod)
        elif one.trials and isinstance(one.trials[-1].body, Read):
            last = one.trials[-1].body
            length = quantities.length_mm(last.pushrod)
            readings[valve] = Reading(valve, length, quantities.turns(last.turns))
            fixed[valve] = length
    return readings, fixed


def _shortages(scene: Scene, wanted: Mapping[Valve, float]) -> tuple[Fact, ...]:
    """Lengths of which fewer are on hand than the set takes."""
    stock, count = scene.build.setup.stock(), Counter(wanted.values())
    return tuple(
        Fact(f"{count[mm]} of {length_text(mm)} are wanted, {there} on hand: get the rest", ON_HAND)
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
    wanted = wanted_lengths(scene)
    texts = {v: quantities.show_length(mm, "in") for v, mm in wanted.items()}
    count = Counter(texts.values())
    rests = tuple(
        sorted(
            e.number
            for s in scene.standing.valves.values()
            for e in (*s.trials, s.settled, s.checked)
            if e
        )
    )

    def take(answer: str, texts_given: tuple[str, ...], now: datetime) -> Taken:
        names = [str(v) for v in texts]
        body = Ordered(valves=names, pushrods=list(texts.values()))
        return Taken((Draft(body, rests),))

    said = "; ".join(f"{n} of {length} for {_for(texts, length)}" for length, n in count.items())
    return Prompt(
        id=ORDER,
        phase="trial",
        ask=Ask.CHOICE,
        heading="the pushrods to buy",
        question=f"Buy {said}.",
        why="Once run they can't be returned. Each is measured when it comes. Leave the walk "
        "until they are here: it goes on from this place.",
        options=(Option("y", "ordered, or on hand"),),
        facts=(
            Fact("lengths that put every trial inside, nearest the middle", scene.window.said),
            Fact(
                f"{length_text(scene.travel.used.mm)} of travel a turn",
                scene.travel.used.said,
            ),
            *(Fact(note, "the trials compared") for note in scene.travel.notes),
            *_shortages(scene, wanted),
        ),
        guarded=True,
        take=take,
    )


def _for(texts: dict[Valve, str], length: str) -> str:
    return ", ".join(str(v) for v, t in texts.items() if t == length)


def _tolerance_mm(scene: Scene) -> float:
    return quantities.length_mm(scene.build.procedure.defaults.length_tolerance)


def _as_ordered(one: ValveStanding, ordered: str) -> bool:
    body = one.received.body if one.received else None
    if not isinstance(body, Received) or body.ordered != ordered:
        return False
    number = one.received.number if one.received else 0
    return body.as_ordered or any(
        isinstance(a.body, Accepted) and a.body.of == number for a in one.accepted
    )


def _receive(scene: Scene, one: ValveStanding, ordered: str) -> Prompt:
    refused = one.received if one.received and not _as_ordered(one, ordered) else None
    name = str(one.valve)

    def take(answer: str, texts: tuple[str, ...], now: datetime) -> Taken:
        if answer == "k" and refused is not None:
            body = Accepted(valve=name, of=refused.number, person=texts[0], reason=texts[1])
            return Taken((Draft(body, (refused.number,)),))
        return _measured(scene, one, ordered, answer)

    keep = Option("k", "keep the one measured", ("who accepts it", "the reason"))
    said = f"{name}: measure the pushrod for it and write {name} on it. How long is it?"
    if refused is not None and isinstance(refused.body, Received):
        said = (
            f"{name}: {refused.body.pushrod} is not the {ordered} ordered. Measure it again, "
            "or another one."
        )
    done = sum(s.received is not None for s in scene.standing.valves.values())
    return Prompt(
        id=RECEIVE if refused is None else ANOTHER,
        phase="trial",
        ask=Ask.READING,
        question=said,
        why="Packets get mixed, and labels are not measurements. Measured the same way as the "
        "trial pushrods.",
        options=(keep,) if refused is not None else (),
        reading="its length, as measured",
        example=example_of("length"),
        facts=(
            Fact(f"ordered {ordered}", "worked out from the trials"),
            Fact(
                f"taken as that within {scene.build.procedure.defaults.length_tolerance}",
                "the procedure",
            ),
        ),
        valve=one.valve,
        guarded=True,
        progress=f"pushrod {done + 1} of {len(scene.standing.valves)}",
        take=take,
    )


def _measured(scene: Scene, one: ValveStanding, ordered: str, answer: str) -> Taken:
    mm = read_quantity("length", answer)
    fits = abs(mm - quantities.length_mm(ordered)) <= _tolerance_mm(scene) + 1e-9
    body = Received(valve=str(one.valve), pushrod=answer, ordered=ordered, as_ordered=fits)
    # Its length stands by itself: a new order asks for it again only where another is ordered.
    draft = Draft(body)
    if fits:
        return Taken((draft,), f"{one.valve}: {answer}, as ordered.", "good")
    swapped = [
        str(v)
        for v, length in ordered_lengths(scene).items()
        if abs(mm - quantities.length_mm(length)) <= _tolerance_mm(scene) + 1e-9
    ]
    hint = f" It is what {', '.join(swapped)} should have: swapped?" if swapped else ""
    return Taken((draft,), f"{one.valve}: {answer} is not the {ordered} ordered.{hint}", "bad")
