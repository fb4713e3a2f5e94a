"""The fewest points when a thing may be pierced in one of several arcs.

With several arcs for a thing, taking the nearest end is no longer best, and the question is an
exact set cover: candidates are the ends of arcs, each with the set of things it pierces, kept as
the bits of a whole number.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from heelwise.valvetrain.piercing import Circle

Arc = tuple[int, int]


class SeveralArcs:
    """Things to be pierced, each within its own arc and within one of its zones.

    Args:
        circle: the circle.
        arcs: beginning and end of each thing's arc, in ticks; depth shrinks these.
        zones: for each thing the zones points for it must lie in, apart from each other and not
            shrunk; the whole circle if None.
    """

    def __init__(
        self, circle: Circle, arcs: Sequence[Arc], zones: Sequence[Sequence[Arc] | None]
    ) -> None:
        self._circle = circle
        self._pieces = [
            (thing, left, right, *zone)
            for thing, ((left, right), own) in enumerate(zip(arcs, zones, strict=True))
            for zone in zones_met(circle, (left, right), own)
        ]
        self._everything = (1 << len(arcs)) - 1

    def pierce(self, depth: int, most: int | None = None) -> list[int] | None:
        """Find points that pierce every thing at least so deep.

        Args:
            depth: ticks from the nearer end of the thing's arc, 0 or more.
            most: points allowed; None for the fewest.

        Returns:
            The fewest points, or any number up to ``most``, in ticks; None if there are none.
        """
        points = self._candidates(depth)
        cover = Cover(points.values(), self._everything)
        chosen = cover.fewest() if most is None else cover.within(most)
        if chosen is None:
            return None
        places = {mask: point for point, mask in reversed(points.items())}
        return [places[mask] for mask in chosen]

    def _candidates(self, depth: int) -> dict[int, int]:
        """Points worth considering, with the things each pierces.

        Between two neighbouring ends with no beginning between them, the earlier pierces all
        that the later does: only an end that follows a beginning counts.
        """
        circle = self._circle
        inside = 0
        events = []
        for thing, left, right, zone_left, zone_right in self._pieces:
            begin = circle.up(max(left + depth, zone_left))
            end = circle.down(min(right - depth, zone_right))
            if begin > end:
                continue
            last = begin % circle.ticks + end - begin
            if last >= circle.ticks:
                inside |= 1 << thing
                last -= circle.ticks
            events.append((begin % circle.ticks, 0, thing))
            events.append((last, 1, thing))
        events.sort()
        found = {}
        begun = True
        for place, ends, thing in events:
            if not ends:
                inside |= 1 << thing
                begun = True
                continue
            if begun:
                found[place] = inside
                begun = False
            inside &= ~(1 << thing)
        return found


def zones_met(circle: Circle, arc: Arc, zones: Sequence[Arc] | None) -> list[Arc]:
    """Zones that an arc meets, counted on from the arc's beginning.

    Args:
        circle: the circle.
        arc: beginning and end, in ticks.
        zones: beginning and end of each, anywhere on the circle; the whole circle if None.

    Returns:
        Beginning and end of each zone met; twice for a zone met at both ends of the arc.
    """
    left, right = arc
    if zones is None:
        return [arc]
    met = []
    for begin, end in zones:
        begun = left - (left - begin) % circle.ticks
        for start in (begun, begun + circle.ticks):
            stop = start + end - begin
            if start <= right and stop >= left:
                met.append((start, stop))
    return met


class Cover:
    """An exact set cover, each set being the bits of a whole number.

    Args:
        masks: the sets.
        everything: what has to be covered.
    """

    def __init__(self, masks: Iterable[int], everything: int) -> None:
        kept: list[int] = []
        for mask in sorted(set(masks), key=lambda mask: (-mask.bit_count(), mask)):
            if not any(mask & other == mask for other in kept):
                kept.append(mask)
        self._everything = everything
        self._largest = kept[0].bit_count() if kept else 0
        self._with: dict[int, list[int]] = {}
        self._neighbours: dict[int, int] = {}
        bits = (1 << place for place in range(everything.bit_length()))
        for bit in bits:
            self._with[bit] = [mask for mask in kept if mask & bit]
            together = 0
            for mask in self._with[bit]:
                together |= mask
            self._neighbours[bit] = together
        # Hardest to cover first: fewest sets, then fewest neighbours.
        self._order = sorted(
            self._with,
            key=lambda bit: (len(self._with[bit]), self._neighbours[bit].bit_count(), bit),
        )
        self._failed: dict[int, int] = {}

    def fewest(self) -> list[int] | None:
        """The fewest sets that cover everything; None if nothing does."""
        if not all(self._with[bit] for bit in self._order if bit & self._everything):
            return None
        most = self._at_least(self._everything)
        while (chosen := self.within(most)) is None:
            most += 1
        return chosen

    def within(self, most: int) -> list[int] | None:
        """Sets that cover everything, at most so many; None if there are none."""
        return self._search(self._everything, most)

    def _at_least(self, left: int) -> int:
        """Sets needed at the least: things of which no set holds two."""
        count = 0
        for bit in self._order:
            if left & bit:
                count += 1
                left &= ~self._neighbours[bit]
        return count

    def _search(self, left: int, most: int) -> list[int] | None:
        if not left:
            return []
        if left.bit_count() > most * self._largest or self._failed.get(left, -1) >= most:
            return None
        if self._at_least(left) <= most:
            hardest = next(bit for bit in self._order if left & bit)
            rests = sorted(
                ((left & ~mask, mask) for mask in self._with[hardest]),
                key=lambda choice: choice[0].bit_count(),
            )
            for rest, mask in rests:
                if rest.bit_count() > (most - 1) * self._largest:
                    break
                chosen = self._search(rest, most - 1)
                if chosen is not None:
                    return [mask, *chosen]
        self._failed[left] = most
        return None
