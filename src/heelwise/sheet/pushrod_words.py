"""The set of pushrods in words, once for every place that shows it: readings, order, odds."""

from collections.abc import Iterable
from typing import Any

from heelwise.documents.setup_lifters import Counted
from heelwise.pictures.cells import ValveSign
from heelwise.pictures.window_bar import Bar
from heelwise.sheet.sections import Cells, Row, Section, facts, safe, sentences, table
from heelwise.sheet.setup_words import turns_facts
from heelwise.sheet.words import length
from heelwise.valvetrain.figures import turns_text
from heelwise.valvetrain.pattern import Finding, find_pattern
from heelwise.valvetrain.pushrods import Order, nothing_serves, try_pushrod
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import Word, preload_mm
from heelwise.walk.buying import POOR_CHANCE, PushrodSet
from heelwise.walk.limits import growth_facts, hot_of
from heelwise.walk.scene import Scene
from heelwise.wording import joined, listed, show_window, text


def pushrod_sections(pushrods: PushrodSet, order: Order) -> tuple[Section, ...]:
    """What the readings are worth, what to buy, and what to expect of it; none without rows."""
    rules = (choice.rule for choice in pushrods.choices if choice.order == order)
    bought = f"Worked out from the readings: {next(rules, 'for every valve read')}."
    pattern = (
        safe(text("{}. Look first: {}", each.what, each.first_look))
        for each in pattern_of(pushrods)
    )
    sections = (
        table("readings", "Readings", READ, (_reading(pushrods, c) for c in pushrods.readings)),
        table("repeats", "Counted more than once", REPEATED, _repeats(pushrods), LATEST),
        table("buy", "To buy", "count|pushrod|valves", _buy(order), bought),
        table("other orders", "Other orders", OTHERS, _other_orders(pushrods, order)),
        table("expect", "Then expect", EXPECTED, _expect(pushrods, order), SPREAD),
        sentences("before buying", "Before buying", _before_buying(pushrods, order)),
        sentences("pattern", "A pattern to look into first", pattern),
        facts("figures", "Figures used", _figures(pushrods)),
    )
    return tuple(section for section in sections if section.rows)


READ = "valve|pushrod|count|window|verdict|preload|hot|try|expect|remarks"
REPEATED = "valve|pushrod|mean|counts"
LATEST = "The latest count is the one judged."
OTHERS = "to buy|worst odds|what for|nothing for"
EXPECTED = "valve|pushrod|expected turns|odds of landing inside"
SPREAD = "± one standard uncertainty, worked out from each reading."


def _figures(pushrods: PushrodSet) -> Iterable[Cells]:
    scene = pushrods.scene
    yield from turns_facts(scene)
    longest = max((each.reading.pushrod_mm for each in pushrods.readings), default=0.0)
    for fact in growth_facts(scene.build.setup, longest) if longest else ():
        yield "cold to hot", fact.text, fact.source


def judged(pushrods: PushrodSet, count: Counted) -> dict[str, Any]:
    """A valve's latest count and what to try, under the keys of `pushrods --json`."""
    reading, verdict, scene = count.reading, pushrods.verdict(count), pushrods.scene
    inside = count.counted and verdict.word is Word.INSIDE
    proposed = None if inside else _try(scene, reading)
    hot = hot_of(scene, reading) if count.counted else None
    return {
        "valve": str(reading.valve),
        "pushrod_mm": reading.pushrod_mm,
        "turns": reading.turns,
        "preload_mm": preload_mm(reading.turns, scene.travel.used.mm, scene.seat_turns),
        "hot_preload_mm": hot and hot.hot_mm,
        "verdict": verdict.word.value,
        "near": verdict.near,
        "counted": count.counted,
        "lash_left": count.lash_left,
        "reading_from": count.source,
        "try_pushrod_mm": proposed and proposed[0],
        "expect_turns": proposed and proposed[1],
        "notes": [count.source] if not count.counted else [*hot.notes] if hot else [],
    }


def _try(scene: Scene, reading: Reading) -> tuple[float, float] | None:
    lengths = scene.build.setup.lengths()
    return try_pushrod(reading, scene.window, scene.travel.used.mm, lengths)


def _reading(pushrods: PushrodSet, count: Counted) -> Row:
    """Of a length at zero lash only the length and what to try."""
    found, window, bar = judged(pushrods, count), pushrods.scene.window, None
    cells, turns = ("at zero lash", "", "", ""), found["expect_turns"]
    if count.counted:
        limits = show_window(window.least_turns, window.most_turns)
        verdict = found["verdict"] + ", near a limit" * found["near"]
        cells = (turns_text(found["turns"]), limits, verdict, length(found["preload_mm"]))
        figures = pushrods.scene.ceiling.turns, found["turns"], found["near"]
        bar = Bar(window.least_turns, window.most_turns, *figures)
    hot = "" if found["hot_preload_mm"] is None else length(max(found["hot_preload_mm"], 0.0))
    proposed = ("", "") if turns is None else (length(found["try_pushrod_mm"]), turns_text(turns))
    ends = hot, *proposed, safe("; ".join(found["notes"]))
    state = bar.state if bar else ValveSign.NOT_DONE
    return Row((found["valve"], length(found["pushrod_mm"]), *cells, *ends), state=state, bar=bar)


def _repeats(pushrods: PushrodSet) -> Iterable[Cells]:
    for first, found in pushrods.repeated:
        yield str(first.valve), length(first.pushrod_mm), turns_text(found.mean), found.text


def _buy(order: Order) -> Iterable[Row]:
    for each in order.buy:
        cells = str(len(each.valves)), length(each.pushrod_mm), listed(each.valves)
        yield Row(cells, valves=tuple(map(str, each.valves)))


def _other_orders(pushrods: PushrodSet, order: Order) -> Iterable[Cells]:
    for choice in pushrods.choices:
        if choice.order != order and choice.order.buy:
            each = (text("{} of {}", b.count, length(b.pushrod_mm)) for b in choice.order.buy)
            odds, without = f"{choice.worst_chance:.0%}", listed(choice.order.not_served)
            yield joined(", ", each), odds, listed(choice.rules), without


def _expect(pushrods: PushrodSet, order: Order) -> Iterable[Row]:
    for each in pushrods.expected(order):
        turns = f"{each.turns:.2f} ± {each.uncertainty_turns:.2f}"
        cells = str(each.valve), length(each.pushrod_mm), turns, f"{each.chance:.0%}"
        state = ValveSign.NEAR if each.chance < POOR_CHANCE else ValveSign.INSIDE
        yield Row(cells, state=state)


def _before_buying(pushrods: PushrodSet, order: Order) -> Iterable[str]:
    if pushrods.lash_left:
        names = listed(pushrods.lash_left)
        yield f"{names} left lash at the click: count again with a longer pushrod."
    doubtful = [each.valve for each in pushrods.expected(order) if each.chance < POOR_CHANCE]
    if doubtful:
        yield (
            f"{listed(doubtful)} may still land outside. Before buying, count again more finely "
            "(marked socket or degree wheel), or try that length on the valve first."
        )
    scene = pushrods.scene
    short = "On hand there aren't enough" if scene.build.setup.stock() else "One length won't do"
    for reading in (each for each in pushrods.latest if each.valve in order.not_served):
        alone = _try(scene, reading)
        if alone is None:
            travel, lengths = scene.travel.used.mm, scene.build.setup.lengths()
            yield safe(nothing_serves(reading, scene.window, travel, lengths))
        else:
            yield text("{} to serve {} too; {} would.", short, reading.valve, length(alone[0]))


def pattern_of(pushrods: PushrodSet) -> tuple[Finding, ...]:
    """What explains the spread; across different lengths only with the travel measured."""
    engine = pushrods.scene.build.setup.make_engine()
    return find_pattern(engine, pushrods.latest, pushrods.scene.travel.used)
