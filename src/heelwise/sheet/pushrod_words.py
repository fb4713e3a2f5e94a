"""The set of pushrods in words, once for every place that shows it: readings, order, odds."""

from __future__ import annotations

from collections.abc import Iterable

from heelwise.pictures.roles import ValveSign
from heelwise.pictures.window_bar import Bar
from heelwise.sheet.sections import BAR_HEAD, Row, Section, fact, facts, safe, sentences
from heelwise.sheet.setup_words import judged_by
from heelwise.sheet.words import length, turns_figure
from heelwise.valvetrain.figures import turns_text
from heelwise.valvetrain.pattern import Finding, find_pattern
from heelwise.valvetrain.pushrods import Order, nothing_serves, try_pushrod
from heelwise.valvetrain.window import Word, preload_mm
from heelwise.walk.limits import growth_text
from heelwise.walk.pushrod_set import POOR_CHANCE, Counted, PushrodSet
from heelwise.wording import joined, listed, text


def pushrod_sections(pushrods: PushrodSet, order: Order) -> tuple[Section, ...]:
    """What the readings are worth, what to buy, and what to expect of it; none without rows."""
    pattern = (
        safe(text("{}. Look first: {}", each.what, each.first_look))
        for each in pattern_of(pushrods)
    )
    readings = tuple(_reading(pushrods, count) for count in pushrods.readings)
    sections = (
        Section("readings", "Readings", READING_HEADS, readings),
        _repeats(pushrods),
        _buy(pushrods, order),
        _other_orders(pushrods, order),
        _expect(pushrods, order),
        sentences("before buying", "Before buying", _before_buying(pushrods, order)),
        sentences("pattern", "A pattern to look into first", pattern),
        facts("figures", "Figures used", _figures(pushrods)),
    )
    return tuple(section for section in sections if section.rows)


def _figures(pushrods: PushrodSet) -> Iterable[Row]:
    ceiling = pushrods.ceiling
    never = "not known: a walk ends the count half a turn over the window"
    if ceiling.turns is not None:
        never = turns_text(ceiling.turns)
    yield from judged_by(pushrods.window, pushrods.travel, never, ceiling.source)
    growth = pushrods.setup.growth
    lengths = [each.reading.pushrod_mm for each in pushrods.readings]
    lost = pushrods.setup.growth_mm(max(lengths)) if lengths else None
    if growth is not None and lost is not None:
        yield fact("cold to hot", growth_text(lost), growth.growth_source)


READING_HEADS = (
    "valve",
    "pushrod",
    "count",
    BAR_HEAD,
    "verdict",
    "preload",
    "hot",
    "try",
    "expect",
    "remarks",
)


def _reading(pushrods: PushrodSet, count: Counted) -> Row:
    """A valve's latest count; of a length at zero lash only the length and what to try."""
    reading, window = count.reading, pushrods.window
    verdict = pushrods.verdict(count)
    hot = pushrods.hot(reading.pushrod_mm, reading.turns) if count.counted else None
    limits = f"{turns_figure(window.least_turns)} to {turns_figure(window.most_turns)}"
    preload = preload_mm(reading.turns, pushrods.travel.used.mm, pushrods.seat_turns)
    near = ", near a limit" if verdict.near else ""
    counted = (turns_text(reading.turns), limits, f"{verdict.word.value}{near}", length(preload))
    name, remarks = str(reading.valve), list(hot.notes) if hot else []
    if count.lash_left:
        remarks.append("lash was left at the click: try a longer one and count again")
    if not count.counted:
        counted = ("at zero lash", "", "", "")
        remarks.append(count.source)
    cells = (
        name,
        length(reading.pushrod_mm),
        *counted,
        "" if hot is None else length(max(hot.hot_mm, 0.0)),
        *_proposed(pushrods, count),
        safe("; ".join(remarks)),
    )
    drawn = Bar(
        window.least_turns,
        window.most_turns,
        pushrods.ceiling.turns,
        reading.turns if count.counted else None,
        verdict.near,
    )
    sign = drawn.state if count.counted else ValveSign.NOT_DONE
    return Row(cells, "", (name,), sign, drawn if count.counted else None)


def _proposed(pushrods: PushrodSet, count: Counted) -> tuple[str, str]:
    if count.counted and pushrods.verdict(count).word is Word.INSIDE:
        return "", ""
    travel = pushrods.travel.used.mm
    proposed = try_pushrod(count.reading, pushrods.window, travel, pushrods.lengths)
    if proposed.pushrod_mm is None or proposed.expect_turns is None:
        return "none available lands inside", ""
    return length(proposed.pushrod_mm), turns_text(proposed.expect_turns)


def _repeats(pushrods: PushrodSet) -> Section:
    rows = tuple(
        Row(
            (
                str(again.first.valve),
                length(again.first.pushrod_mm),
                turns_text(again.found.mean),
                again.found.text,
            ),
            valves=(str(again.first.valve),),
        )
        for again in pushrods.repeated
    )
    heads = ("valve", "pushrod", "mean", "what the counts say")
    caption = "The latest count is the one judged."
    return Section("repeats", "Counted more than once", heads, rows, caption=caption)


def _buy(pushrods: PushrodSet, order: Order) -> Section:
    rows = tuple(
        Row(
            (str(len(each.valves)), length(each.pushrod_mm), listed(each.valves)),
            valves=tuple(map(str, each.valves)),
        )
        for each in order.buy
    )
    rules = (choice.rule for choice in pushrods.choices if choice.order == order)
    caption = f"Worked out from the readings: {next(rules, 'for every valve read')}."
    return Section("buy", "To buy", ("count", "pushrod", "valves"), rows, caption=caption)


def _other_orders(pushrods: PushrodSet, order: Order) -> Section:
    rows = tuple(
        Row(
            (
                joined(
                    ", ", (text("{} of {}", b.count, length(b.pushrod_mm)) for b in c.order.buy)
                ),
                f"{c.worst_chance:.0%}",
                listed(c.rules),
                listed(c.order.not_served),
            )
        )
        for c in pushrods.choices
        if c.order != order and c.order.buy
    )
    heads = ("to buy", "worst odds", "what for", "nothing for")
    return Section("other orders", "Other orders", heads, rows)


def _expect(pushrods: PushrodSet, order: Order) -> Section:
    rows = tuple(
        Row(
            (
                str(each.valve),
                length(each.pushrod_mm),
                f"{each.turns:.2f} ± {each.uncertainty_turns:.2f}",
                f"{each.chance:.0%}",
            ),
            valves=(str(each.valve),),
            state=ValveSign.NEAR if each.chance < POOR_CHANCE else ValveSign.INSIDE,
        )
        for each in pushrods.expected(order)
    )
    heads = ("valve", "pushrod", "expected turns", "odds of landing inside")
    caption = "± one standard uncertainty, worked out from each reading."
    return Section("expect", "Then expect", heads, rows, caption=caption)


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
    for reading in pushrods.latest:
        if reading.valve in order.not_served:
            travel = pushrods.travel.used.mm
            alone = try_pushrod(reading, pushrods.window, travel, pushrods.lengths).pushrod_mm
            if alone is None:
                yield safe(nothing_serves(reading, pushrods.window, travel, pushrods.lengths))
                continue
            short = (
                "On hand there aren't enough" if pushrods.setup.stock() else "One length won't do"
            )
            yield text("{} to serve {} too; {} would.", short, reading.valve, length(alone))


def pattern_of(pushrods: PushrodSet) -> tuple[Finding, ...]:
    """What explains the spread; across different lengths only with the travel measured."""
    engine = pushrods.setup.make_engine()
    return find_pattern(engine, pushrods.latest, pushrods.travel.used)
