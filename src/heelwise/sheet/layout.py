"""What a sheet says, before it takes a form: plain frozen dataclasses, all text safe to show."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from heelwise.pictures.roles import ValveState
from heelwise.pictures.strip import Strip
from heelwise.pictures.window_bar import Bar
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.valves import Valve

SEAL_SAYS = (
    "Seals show accidental damage and careless editing. They are no signature, and no proof of "
    "who or when. Compare the last seal on paper with the file's: entries taken off its end "
    "can't be seen otherwise."
)


@dataclass(frozen=True)
class Figure:
    """Something known of the build: what, how much, and where it comes from (may be empty)."""

    label: str
    text: str
    source: str = ""


@dataclass(frozen=True)
class ValveRow:
    """What one valve came to, in words; an empty text for what is not there.

    Attributes:
        valve: its name.
        pushrod: the pushrod it was counted with.
        turns: from zero lash to the click, if the count still describes the bolt.
        window: the window it was judged by, in turns.
        verdict: short, inside or long.
        near: whether a limit is near the reading.
        preload: worked out from the turns and the travel per turn.
        preload_from: where that travel comes from.
        accepted: by whom and why, if accepted as is.
        proof: what the bolt did when the torque was set again.
        recount: "yes" if counted again from zero lash as one of the sample.
        outstanding: what it still needs.
        state: as pictures show it.
        bar: turns against the window; None without a reading.
    """

    valve: str
    pushrod: str
    turns: str
    window: str
    verdict: str
    near: bool
    preload: str
    preload_from: str
    accepted: str
    proof: str
    recount: str
    outstanding: str
    state: ValveState
    bar: Bar | None


@dataclass(frozen=True)
class BankRows:
    """A bank's valves, front to rear where that is known."""

    name: str
    rows: tuple[ValveRow, ...]


@dataclass(frozen=True)
class TrialRow:
    """One count with a trial pushrod that still counts."""

    valve: str
    pushrod: str
    turns: str
    verdict: str


@dataclass(frozen=True)
class PushrodRow:
    """A valve's pushrod as ordered and as received; empty where it is neither."""

    valve: str
    ordered: str
    received: str
    remark: str


@dataclass(frozen=True)
class PositionRow:
    """A crank angle at which valves were counted or proved.

    Attributes:
        number: in the order of the crank's turning.
        crank_deg: crank angle, in degrees.
        place: the same in words.
        counted: valves counted there, with their margin where the cam is known.
        proved: valves proved there.
    """

    number: int
    crank_deg: float
    place: str
    counted: str
    proved: str


@dataclass(frozen=True)
class TimelineRow:
    """One entry.

    Attributes:
        number: its number, which is the order.
        at: when.
        by: who.
        words: what, in one line.
        struck: empty for an entry that counts; else "crossed out by entry 9" or "fell with
            entry 5".
        valves: the valves it is about.
        kind: its kind, as in the record.
    """

    number: int
    at: datetime
    by: str
    words: str
    struck: str
    valves: tuple[str, ...]
    kind: str


@dataclass(frozen=True)
class SheetLayout:
    """A whole sheet.

    Attributes:
        name: the build's name.
        status: signed off by whom, or under way and how far.
        header: engine, cam, rocker, lifter, wrench, procedure, who began it and when.
        figures: travel per turn, window and turns never to pass, with their origins.
        banks: valves by bank.
        trials: counts with trial pushrods.
        pushrods: as ordered and received; none before the order.
        positions: crank angles worked at.
        timeline: every entry, crossed-out ones too.
        notes: free text with the entry's number.
        left_out: steps skipped or not confirmed, with the reason.
        not_checked: what the procedure doesn't cover.
        file_notes: a torn end, what was set aside, a clock that went back.
        last_seal: 64 hexadecimal digits.
        seal_says: what seals are good for.
        engine: for the picture from above.
        states: for the same.
        strip: the 720° strip with the positions worked at.
    """

    name: str
    status: str
    header: tuple[Figure, ...]
    figures: tuple[Figure, ...]
    banks: tuple[BankRows, ...]
    trials: tuple[TrialRow, ...]
    pushrods: tuple[PushrodRow, ...]
    positions: tuple[PositionRow, ...]
    timeline: tuple[TimelineRow, ...]
    notes: tuple[str, ...]
    left_out: tuple[str, ...]
    not_checked: tuple[str, ...]
    file_notes: tuple[str, ...]
    last_seal: str
    seal_says: str
    engine: Engine
    states: tuple[tuple[Valve, ValveState], ...]
    strip: Strip

    @property
    def rows(self) -> tuple[ValveRow, ...]:
        """Every valve, bank by bank."""
        return tuple(row for bank in self.banks for row in bank.rows)

    def of_valve(self, valve: str) -> tuple[TimelineRow, ...]:
        """One valve's history.

        Args:
            valve: its name.

        Returns:
            The entries about it, crossed-out ones too.
        """
        return tuple(row for row in self.timeline if valve in row.valves)
