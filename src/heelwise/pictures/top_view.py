"""The engine from above: which valve is where, front to rear, bank by bank.

Where a card gives a bank's valve row, its valves lie in one lane in that order. Otherwise each
cylinder shows its intake beside its exhaust, and nothing is claimed about their order.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from heelwise.pictures.cells import Size
from heelwise.pictures.roles import ValveState
from heelwise.valvetrain.engine import Bank, Engine
from heelwise.valvetrain.valves import Kind, Valve

States = Mapping[Valve, ValveState]

LEGEND_WIDTH = 26
"""Columns a legend entry or a title needs; no layout is narrower."""
BANK_NAME_MOST = 12
"""Columns of a bank's name that are shown."""


@dataclass(frozen=True)
class Place:
    """Where a valve is seen.

    Attributes:
        valve: the valve.
        slot: its place from the front, from 0.
        lane: 0, or 1 for the exhausts of a bank whose valve row is not known.
    """

    valve: Valve
    slot: int
    lane: int


@dataclass(frozen=True)
class BankView:
    """A bank as seen.

    Attributes:
        name: its name as given.
        slots: places front to rear.
        lanes: 1 where the valve row is known, else 2.
        places: its valves.
    """

    name: str
    slots: int
    lanes: int
    places: tuple[Place, ...]


@dataclass(frozen=True)
class TopView:
    """The engine from above, its front at the top: banks from left to right."""

    banks: tuple[BankView, ...]

    @property
    def slots(self) -> int:
        """Places of the longest bank."""
        return max(bank.slots for bank in self.banks)

    @property
    def name_width(self) -> int:
        """Characters of the longest valve name."""
        return max(len(str(place.valve)) for bank in self.banks for place in bank.places)


@lru_cache(maxsize=64)
def top_view(engine: Engine) -> TopView:
    """Work out where each valve is seen.

    Args:
        engine: the engine.

    Returns:
        Banks in the order given, but a left and a right bank as they lie seen from above.
    """
    banks = engine.banks
    if [bank.name.strip().lower() for bank in banks] == ["right", "left"]:
        banks = banks[::-1]
    return TopView(tuple(_bank_view(bank) for bank in banks))


def _bank_view(bank: Bank) -> BankView:
    if bank.valve_row:
        places = tuple(Place(valve, slot, 0) for slot, valve in enumerate(bank.valve_row))
        return BankView(bank.name, len(places), 1, places)
    places = tuple(
        Place(Valve(cylinder, kind), slot, lane)
        for slot, cylinder in enumerate(bank.cylinders)
        for lane, kind in enumerate(Kind)
    )
    return BankView(bank.name, len(bank.cylinders), 2, places)


def along_size(engine: Engine) -> Size:
    """The smallest size with the front at the left, each bank a row; a legend comes on top.

    Args:
        engine: the engine.

    Returns:
        Columns: one and a valve's name for each place. Rows: the front, and for each bank its
        name and two for each lane.
    """
    view = top_view(engine)
    width = max(view.slots * (view.name_width + 1) + 1, LEGEND_WIDTH)
    return Size(width, 1 + sum(1 + 2 * bank.lanes for bank in view.banks))


def down_size(engine: Engine) -> Size:
    """The smallest size with the front at the top, each bank a column; a legend comes on top.

    Args:
        engine: the engine.

    Returns:
        Columns: four and a valve's name for each lane, at least the bank's name. Rows: the
        front, the banks' names and one for each place.
    """
    view = top_view(engine)
    width = max(sum(down_width(bank, view.name_width) for bank in view.banks), LEGEND_WIDTH)
    return Size(width, 2 + view.slots)


def down_width(bank: BankView, name_width: int, spare: int = 0) -> int:
    """Columns of one bank with the front at the top.

    Args:
        bank: the bank.
        name_width: characters of the longest valve name.
        spare: more columns for each lane.

    Returns:
        Columns, the gap to the next bank included.
    """
    lanes = bank.lanes * (name_width + 4 + spare)
    return max(lanes, min(len(bank.name), BANK_NAME_MOST) + 1)


def shown(states: States, valve: Valve, next_valve: Valve | None) -> ValveState:
    """The state a valve is drawn with: the next one shows as next until something is known of it.

    Args:
        states: states of valves; one not named is not done.
        valve: the valve.
        next_valve: the one to be worked on next.

    Returns:
        Its state.
    """
    state = states.get(valve, ValveState.NOT_DONE)
    if valve == next_valve and state is ValveState.NOT_DONE:
        return ValveState.NEXT
    return state


def engine_words(engine: Engine, states: States, next_valve: Valve | None = None) -> str:
    """Say what the picture shows, for those who can't see it and where it has no room.

    Args:
        engine: the engine.
        states: states of valves; one not named is not done.
        next_valve: the one to be worked on next.

    Returns:
        One line: "Next 3E, bank left, 6 of 8 from the front. Proved: 1I, 1E. Not done: ...".
    """
    said = [_next_words(engine, next_valve)] if next_valve in engine.valves else []
    for state in ValveState:
        valves = [v for v in engine.valves if shown(states, v, next_valve) is state]
        if valves and state is not ValveState.NEXT:
            said.append(f"{state.value.capitalize()}: {_listed(valves, engine)}.")
    return " ".join(said)


def _next_words(engine: Engine, valve: Valve | None) -> str:
    assert valve is not None
    for bank in top_view(engine).banks:
        for place in bank.places:
            if place.valve == valve:
                what = "" if bank.lanes == 1 else "cylinder "
                many = f"{what}{place.slot + 1} of {bank.slots} from the front"
                return f"Next {valve}, bank {bank.name}, {many}."
    raise AssertionError(f"{valve} is on no bank")


def _listed(valves: Iterable[Valve], engine: Engine) -> str:
    names = [str(valve) for valve in valves]
    return "all" if len(names) == 2 * engine.cylinders else ", ".join(names)
