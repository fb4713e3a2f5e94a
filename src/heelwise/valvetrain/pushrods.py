"""Which pushrods to try and to buy, on fixed-height rockers."""

from bisect import bisect_left
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor
from operator import itemgetter

from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.figures import SLACK_TURNS, turns_text
from heelwise.valvetrain.readings import SLACK_MM, Basis, Expectation, expect, expected_turns
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import Window
from heelwise.wording import MM_PER_INCH, Length, Text, text

MOST_LENGTHS = 1000  # more are a slip in the step, not a catalog
GOOD_CHANCE = 0.9  # to land inside, for every valve of an order: our own figure
CHECKING_PITCH_MM = 0.050 * MM_PER_INCH  # a turn of an adjustable checking pushrod, as sold
MOST_LASH_MM = 6.35  # with more the rocker is far from where it runs: common practice, no source
MOST_APART_MM = 25.4  # cup heights further apart were not both taken over the foot or roller

HOW_MEASURED = (
    "Say how the length is measured: over the ends, or at a gauge diameter. With oil holes the "
    "theoretical length can be about 0.017 in (0.43 mm) more than the length over the ends "
    "(two makers' figure, 5/16 ends with 0.100 in holes), a quarter turn or so."
)


@dataclass(frozen=True)
class Purchase:
    """Pushrods of one length in mm, and the valves they are for."""

    pushrod_mm: float
    valves: tuple[Valve, ...]

    @property
    def count(self) -> int:
        """How many to buy."""
        return len(self.valves)


@dataclass(frozen=True)
class Order:
    """What to buy, shortest first, and the valves that nothing serves."""

    buy: tuple[Purchase, ...]
    not_served: tuple[Valve, ...]


@dataclass(frozen=True)
class Choice:
    """An order, the rules that choose it, and what each valve served is to expect of it."""

    rules: tuple[str, ...]
    order: Order
    expected: tuple[Expectation, ...]

    @property
    def rule(self) -> str:
        """The first of the rules."""
        return self.rules[0]

    @property
    def worst_chance(self) -> float:
        """The least chance of any valve served; 1 where none is."""
        return min((each.chance for each in self.expected), default=1.0)


GOOD_FOR_ALL = "fewest lengths that give every valve good odds"
BEST_WORST = "best odds for the worst valve"
FEWEST_LENGTHS = "fewest lengths"
ONE_A_KIND = "one length a kind"
BEST_CHANCE = "best odds"


def length_from_lash(
    pushrod_mm: float,
    lash_mm: float,
    ratio: float,
    preload_mm: float,
    cup_above_solid_mm: float = 0.0,
) -> float:
    """Length to order from lash at the valve, rocker clamped, over a solid checking lifter.

    Lash / ratio at the pushrod; less what a hydraulic cup, plunger against the retainer, stands
    higher than the solid one's (both over the foot or roller).
    """
    return pushrod_mm + lash_mm / ratio - cup_above_solid_mm + preload_mm


def sold_lengths(from_mm: float, to_mm: float, step_mm: float) -> tuple[float, ...]:
    """The lengths sold, growing, both ends inclusive (within 1e-6 mm); at most 1,000."""
    steps = (to_mm - from_mm + SLACK_MM) / step_mm
    if steps >= MOST_LENGTHS:
        raise ValueError(
            f"sold_step {step_mm:g} mm makes more than {MOST_LENGTHS:,} lengths: check the step"
        )
    return tuple(from_mm + i * step_mm for i in range(floor(steps) + 1))


def try_pushrod(
    reading: Reading, window: Window, travel_mm: float, lengths: Iterable[float]
) -> tuple[float, float] | None:
    """The length inside that lands nearest the middle, of two equally near the longer.

    In mm, with the turns to expect of it; None where none lands inside.
    """
    tried = [(length, expected_turns(reading, length, travel_mm)) for length in sorted(lengths)]
    inside = [each for each in reversed(tried) if _inside(each[1], window)]
    return min(inside, key=lambda each: round(abs(each[1] - window.middle), 9), default=None)


def choose_pushrods(
    readings: Iterable[Reading],
    basis: Basis,
    lengths: Iterable[float],
    stock: Mapping[float, int] | None = None,
) -> tuple[Choice, ...]:
    """The order to make for the whole engine, and then the others worth knowing.

    First, of the orders that give every valve served a chance of `GOOD_CHANCE` the one with the
    fewest lengths; where none does, the one whose worst chance is best, and in which every
    valve that can still has a good chance. Then nearest the middle, then the longer.
    Behind it, where they differ: fewest lengths, one length a kind, best chance.

    `stock`: how many there are of a length, in the engine or not; without a limit if not named.
    """
    given = sorted(readings, key=lambda each: each.valve)
    sold = tuple(sorted(set(lengths)))
    counts = (stock or {}).items()
    limits = [
        next((count for named, count in counts if abs(named - length) <= SLACK_MM), None)
        for length in sold
    ]
    valves, every = [r.valve for r in given], [_options(r, basis, sold) for r in given]
    choices: list[Choice] = []

    wants = [_wanted(each, basis.window, basis.travel.mm) for each in given]
    odds = [{p: min(e.chance, GOOD_CHANCE) for p, e in options.items()} for options in every]

    def fewest(least: float) -> Chosen:
        served = [_likely(options, least) for options in every]
        return fewest_lengths(wants, served, sold, limits)

    def add(rule: str, chosen: Chosen) -> None:
        order = _as_order(valves, sold, chosen)
        for place, other in enumerate(choices):
            if other.order == order:
                choices[place] = replace(other, rules=(*other.rules, rule))
                return
        served = [options[p] for options, p in zip(every, chosen, strict=True) if p is not None]
        choices.append(Choice((rule,), order, tuple(served)))

    served = fewest(0.0).count(None)
    levels = sorted({chance for each in odds for chance in each.values()})
    # The highest level at which as many are served: fewer are as it rises.
    above = bisect_left(levels, True, key=lambda least: fewest(least).count(None) > served)
    add(GOOD_FOR_ALL, fewest(levels[above - 1] if levels else 0.0))
    if choices[0].worst_chance < GOOD_CHANCE:
        choices[0] = replace(choices[0], rules=(BEST_WORST,))
    add(FEWEST_LENGTHS, fewest(0.0))
    add(ONE_A_KIND, one_length_each([v.kind for v in valves], wants, odds, sold, limits))
    add(BEST_CHANCE, fewest(1.0))
    return tuple(choices)


Chosen = Sequence[int | None]
"""For each valve the place of its length among those sold, or None where it is not served."""

_Score = tuple[int, int, int, int]
"""Valves missed, distinct lengths, total distance, total length (negative): less is better."""
_Path = tuple[_Score, tuple[int | None, ...]]
_Paths = dict[tuple[int, int], _Path]
"""The best choices so far, by the longest length in use (-1: none) and how many of it are gone."""


def fewest_lengths(
    wants: Sequence[float],
    served: Sequence[Collection[int]],
    lengths: Sequence[float],
    limits: Chosen,
) -> Chosen:
    """Most served, then fewest distinct lengths, then least total distance, then the longer.

    `wants`: each valve's length in mm; `served`: the places of the lengths that serve it, an
    interval around that; `limits`: how many there are of each length, None for no limit.

    One pass over the sorted valves is exact. Where of two valves a ≤ b the first got the longer of
    two lengths, they can change, or one length can serve both, with no more lengths and no more
    distance in all. So some best choice gives growing lengths to growing wants.
    """
    rank = sorted(range(len(wants)), key=wants.__getitem__)
    paths: _Paths = {(-1, 0): ((0, 0, 0, 0), ())}
    for i in rank:
        paths = _next(paths, wants[i], served[i], lengths, limits)
    _, places = min(paths.values(), key=itemgetter(0))
    chosen = dict(zip(rank, places, strict=True))
    return [chosen[i] for i in range(len(wants))]


def one_length_each(
    groups: Sequence[str],
    wants: Sequence[float],
    chances: Sequence[Mapping[int, float]],
    lengths: Sequence[float],
    limits: Chosen,
) -> Chosen:
    """One length a group: most served, the best worst chance, least distance, the longer.

    The first group takes its share of a limit first.
    """
    chosen: list[int | None] = [None] * len(wants)
    for group in sorted(set(groups)):
        members, picks = [i for i, name in enumerate(groups) if name == group], []
        for place in {place for i in members for place in chances[i]}:
            of = [i for i in members if place in chances[i]]
            of.sort(key=lambda i: abs(lengths[place] - wants[i]))
            limit = limits[place]
            of = of[: None if limit is None else limit - chosen.count(place)]
            worst = min((chances[i][place] for i in of), default=1.0)
            away = sum(_taken(wants[i], lengths[place])[0] for i in of)
            picks.append((-len(of), -worst, away, -lengths[place], place, of))
        for *_, place, of in sorted(picks)[:1]:
            for i in of:
                chosen[i] = place
    return chosen


def _next(
    paths: _Paths, want: float, served: Collection[int], lengths: Sequence[float], limits: Chosen
) -> _Paths:
    new: _Paths = {}

    def keep(state: tuple[int, int], path: _Path, place: int | None, add: _Score) -> None:
        missed, distinct, away, total = map(sum, zip(path[0], add, strict=True))
        score = missed, distinct, away, total
        if state not in new or score < new[state][0]:
            new[state] = score, (*path[1], place)

    for (place, used), path in paths.items():
        keep((place, used), path, None, (1, 0, 0, 0))
        limit = None if place < 0 else limits[place]
        if place in served and (limit is None or used < limit):
            # Without a limit nobody need know how many are gone.
            state = (place, used if limit is None else used + 1)
            keep(state, path, place, (0, 0, *_taken(want, lengths[place])))
    waiting = sorted(paths, reverse=True)
    best = paths[-1, 0]  # nothing chosen yet is always one of the paths
    for place in sorted(served):
        while waiting and waiting[-1][0] < place:
            best = min(best, paths[waiting.pop()], key=itemgetter(0))
        if limits[place] != 0:
            keep((place, 1), best, place, (0, 1, *_taken(want, lengths[place])))
    return new


def _taken(want: float, length_mm: float) -> tuple[int, int]:
    # Whole 1e-9 mm, so that equal distances compare equal.
    return round(abs(length_mm - want) * 1e9), -round(length_mm * 1e9)


def length_sets_preload(mount: str) -> str | None:
    """Why a pushrod's length is not chosen by preload on a setup's mount; None where it is."""
    if mount != "stud":
        return None
    return (
        "On a stud the nut sets the preload, whatever the pushrod's length. The length sets the "
        "place and width of the rocker's path on the valve tip instead: choose it by the "
        "witness mark on the tip with an adjustable checking pushrod, then set the preload by "
        "the nut from zero lash."
    )


def nothing_serves(
    reading: Reading, window: Window, travel_mm: float, lengths: Sequence[float]
) -> Text:
    """What to do where no length puts a valve inside: common practice, without a source."""
    wanted = _wanted(reading, window, travel_mm)
    near_text = Text("")
    if lengths:
        near = min(lengths, key=lambda each: (abs(each - wanted), -each))
        turns = turns_text(expected_turns(reading, near, travel_mm))
        near_text = text("; the nearest, {}, would read {}", Length(near), turns)
    words = (
        "Nothing sold or on hand puts {} inside: the middle of its window needs {} (worked out "
        "from the reading){}. First read it again, finer. Then: have a pushrod made to length, "
        "look for one sold in a finer step, or find what makes this valve differ (stem height, "
        "seat depth, lifter cup). Shims under a rocker stand lessen preload, where the maker "
        "allows them."
    )
    return text(words, reading.valve, Length(wanted), near_text)


def _inside(turns: float, window: Window) -> bool:
    return window.least_turns - SLACK_TURNS <= turns <= window.most_turns + SLACK_TURNS


def _wanted(reading: Reading, window: Window, travel_mm: float) -> float:
    return reading.pushrod_mm + (window.middle - reading.turns) * travel_mm


def _options(reading: Reading, basis: Basis, sold: Sequence[float]) -> dict[int, Expectation]:
    travel = basis.travel.mm
    return {
        place: expect(reading, length, basis)
        for place, length in enumerate(sold)
        if _inside(expected_turns(reading, length, travel), basis.window)
    }


def _likely(options: Mapping[int, Expectation], least: float) -> set[int]:
    """Lengths with a chance of at least so much, or as much as any has."""
    enough = min(least, max((each.chance for each in options.values()), default=0.0))
    return {place for place, each in options.items() if each.chance >= enough}


def _as_order(valves: Sequence[Valve], sold: Sequence[float], chosen: Chosen) -> Order:
    buy: dict[int | None, list[Valve]] = {}
    for valve, place in zip(valves, chosen, strict=True):
        buy.setdefault(place, []).append(valve)
    missed = tuple(buy.pop(None, ()))
    places = sorted(place for place in buy if place is not None)
    return Order(tuple(Purchase(sold[place], tuple(buy[place])) for place in places), missed)
