"""A set of pushrods as it stands: what was read of each valve, what judges it, what to expect."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from heelwise.documents import quantities
from heelwise.documents.entries import Checked
from heelwise.documents.procedure import Defaults
from heelwise.documents.setup import Setup
from heelwise.documents.setup_lifters import Counted
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.figures import Repeats, repeats
from heelwise.valvetrain.growth import HotPreload
from heelwise.valvetrain.pattern import LEAST_READINGS, find_pattern
from heelwise.valvetrain.pushrods import ONE_A_KIND, Choice, Order, choose_pushrods
from heelwise.valvetrain.readings import Basis, Expectation, expect
from heelwise.valvetrain.travel import TravelInPlay
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import Ceiling, Verdict, Window, judge
from heelwise.walk.build import basis_of
from heelwise.walk.limits import hot_of
from heelwise.walk.prompts import Fact, Prompt
from heelwise.walk.scene import Scene, reading_of
from heelwise.walk.trials import zero_lash_mm

POOR_CHANCE = 0.75
"""Below this chance to land inside a list says so. Our own figure: three in four."""

RECEIVED_MM = quantities.length_mm(Defaults().length_tolerance)
"""How far a received pushrod may be from the length ordered, where no procedure says so."""


@dataclass(frozen=True)
class Again:
    """Counts of one valve with one pushrod length (mm), put together."""

    first: Reading
    found: Repeats


@dataclass(frozen=True)
class PushrodSet:
    """The readings of a set, and what they are judged by."""

    setup: Setup
    readings: tuple[Counted, ...]
    repeated: tuple[Again, ...]
    travel: TravelInPlay
    window: Window
    ceiling: Ceiling
    seat_turns: float
    rule: str
    received_mm: float = RECEIVED_MM

    @cached_property
    def lengths(self) -> tuple[float, ...]:
        """Lengths sold or on hand in mm."""
        return self.setup.lengths()

    @property
    def latest(self) -> list[Reading]:
        """The readings alone."""
        return [each.reading for each in self.readings]

    def verdict(self, counted: Counted) -> Verdict:
        """A reading's verdict by the rule in force."""
        return judge(counted.reading.turns, self.window, counted.reading.resolution, self.rule)

    def hot(self, pushrod_mm: float, turns: float) -> HotPreload | None:
        """A count's preload hot; None where the setup has no [growth]."""
        return hot_of(self.setup, self.basis, self.seat_turns, pushrod_mm, turns)

    @cached_property
    def basis(self) -> Basis:
        """What its pushrods are chosen by."""
        travel = self.travel.used
        return basis_of(self.setup, self.window, travel, self.seat_turns, self.received_mm)

    @cached_property
    def choices(self) -> tuple[Choice, ...]:
        """The order to make for the valves read, then the others worth knowing."""
        return choose_pushrods(self.latest, self.basis, self.lengths, self.setup.stock())

    def order(self, by_kind: bool = False) -> Order:
        """What to buy for the valves read, of lengths sold or on hand; `by_kind`: one a kind."""
        best = self.choices[0]
        one_a_kind = (choice for choice in self.choices if ONE_A_KIND in choice.rules)
        return (next(one_a_kind, best) if by_kind else best).order

    @property
    def lash_left(self) -> list[Valve]:
        """Valves whose count says only that the pushrod is too short."""
        return [each.reading.valve for each in self.readings if each.lash_left]

    def expected(self, bought: Order) -> list[Expectation]:
        """What each valve should read with the pushrod bought for it, and how surely.

        Nothing can be expected of a valve whose count says only that lash was left.
        """
        to_come = {v: purchase.pushrod_mm for purchase in bought.buy for v in purchase.valves}
        return [
            expect(each.reading, to_come[each.reading.valve], self.basis)
            for each in self.readings
            if each.reading.valve in to_come and not each.lash_left
        ]


def set_of(scene: Scene) -> PushrodSet:
    """The set of a build under way: every valve's latest reading, and the figures in force."""
    defaults = scene.defaults
    reads = [e.body for s in scene.state.valves.values() for e in (*s.trials, *s.reads)]
    return PushrodSet(
        setup=scene.build.setup,
        readings=tuple(_latest(scene)),
        repeated=repeated([reading_of(body) for body in reads]),
        travel=scene.travel,
        window=scene.window,
        ceiling=scene.ceiling,
        seat_turns=scene.seat_turns,
        rule=defaults.rule,
        received_mm=quantities.length_mm(defaults.length_tolerance),
    )


def _latest(scene: Scene) -> Iterable[Counted]:
    """Each valve's latest reading not crossed out: in the engine, or else in a trial."""
    for valve, valve_state in sorted(scene.state.valves.items()):
        reads = valve_state.reads or valve_state.trials
        if reads:
            body = reads[-1].body
            yield Counted(reading_of(body))
        elif valve_state.checked is not None:
            checked = valve_state.checked.body
            zero = Reading(valve, zero_lash_mm(checked), scene.seat_turns, 0.0)
            yield Counted(zero, _checked_source(checked))


def _checked_source(body: Checked) -> str:
    lash = f", {body.lash} of lash over a solid checking lifter" if body.lash else ""
    return f"at zero lash by a pushrod of {body.length}{lash}"


def repeated(counts: Sequence[Reading]) -> tuple[Again, ...]:
    """Put counts together that were made more than once on one valve with one length."""
    groups: dict[tuple[Valve, float], list[Reading]] = {}
    for reading in counts:
        groups.setdefault((reading.valve, reading.pushrod), []).append(reading)
    return tuple(
        Again(group[0], repeats([r.turns for r in group], max(r.resolution for r in group)))
        for _, group in sorted(groups.items())
        if len(group) > 1
    )


def with_pattern(scene: Scene, prompt: Prompt) -> Prompt:
    """A question on a valve that alone reads apart from the rest says so, and where to look."""
    if prompt.valve is None or prompt.phase not in ("fit", "prove"):
        return prompt
    readings = [each.reading for each in _latest(scene) if each.counted]
    if len(readings) < LEAST_READINGS:
        return prompt
    for finding in find_pattern(scene.build.engine, readings, scene.travel.used):
        if finding.valves == (prompt.valve,):
            fact = Fact(f"{finding.what}. {finding.first_look}", "the counts compared")
            return replace(prompt, facts=(fact, *prompt.facts))
    return prompt
