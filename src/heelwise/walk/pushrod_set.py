"""A set of pushrods as it stands: what was read of each valve, what judges it, what to expect."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

from heelwise.documents.setup_lifters import Counted
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.figures import Repeats, repeats
from heelwise.valvetrain.pattern import find_pattern
from heelwise.valvetrain.pushrods import ONE_A_KIND, Choice, Order, choose_pushrods
from heelwise.valvetrain.readings import Expectation, expect
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import Verdict, judge
from heelwise.walk.prompts import Fact, Prompt
from heelwise.walk.scene import Scene, reading_of
from heelwise.walk.trials import zero_lash_mm

POOR_CHANCE = 0.75
"""Below this chance to land inside a list says so. Our own figure: three in four."""


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
        """What each valve should read with the pushrod bought for it, and how surely.

        Nothing can be expected of a valve whose count says only that lash was left.
        """
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
    for valve, valve_state in sorted(scene.state.valves.items()):
        if reads := valve_state.reads or valve_state.trials:
            yield Counted(reading_of(reads[-1].body))
        elif valve_state.checked is not None:
            body = valve_state.checked.body
            zero = Reading(valve, zero_lash_mm(body), scene.seat_turns, 0.0)
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
