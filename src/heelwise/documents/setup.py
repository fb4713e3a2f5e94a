"""A setup: the engine, its cam, rockers, lifters, pushrods and wrench, from a file or a record."""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError

from heelwise.documents.faults import Fault, Faulty, in_order, not_said_twice, quoted
from heelwise.documents.growth_table import GrowthTable
from heelwise.documents.lash_table import LashTable
from heelwise.documents.library import load_card
from heelwise.documents.model_faults import faults_of
from heelwise.documents.quantities import length_mm
from heelwise.documents.reading_table import ReadingTable, Taken
from heelwise.documents.setup_checks import setup_faults
from heelwise.documents.setup_tables import (
    CamTable,
    EngineTable,
    LifterTable,
    PushrodsTable,
    RockerTable,
    WrenchTable,
)
from heelwise.documents.toml_reading import read_toml
from heelwise.documents.typed_fields import Table
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.travel import TravelInPlay, Trial, travel_in_play
from heelwise.valvetrain.valves import Kind
from heelwise.valvetrain.verdict import WindowSheet

FORMAT = 1
"""The newest format of our files."""


class Setup(Table):
    """A whole setup. Make it with `load_setup` or `parse_setup`, which find every fault."""

    format: Literal[1]
    engine: Annotated[EngineTable, Field(examples=['[engine] with card = "i4-1342"'])]
    cam: CamTable | None = None
    rocker: RockerTable | None = None
    lifter: LifterTable | None = None
    lash: LashTable | None = None
    growth: GrowthTable | None = None
    pushrods: PushrodsTable | None = None
    wrench: WrenchTable | None = None
    reading: list[ReadingTable] = Field(default_factory=list, max_length=1000)

    def require(self, *tables: str, file: str = "setup") -> "Setup":
        """Make sure of tables that the work at hand needs.

        Args:
            tables: Names of tables ("lifter") or of keys in them ("rocker.torque").
            file: The file's name, for the fault.

        Returns:
            The setup itself.

        Raises:
            Faulty: Naming every one that is missing.
        """
        missing = [name for name in tables if self._at(name) is None]
        if missing:
            raise Faulty(file, [_needed(name) for name in missing])
        return self

    def _at(self, name: str) -> object:
        value: object = self
        for part in name.split("."):
            value = getattr(value, part, None)
        return value

    def make_engine(self) -> Engine:
        """Make the engine the arithmetic works on."""
        return self.engine.make()

    def make_cam(self) -> Cam | None:
        """Make the cam the arithmetic works on, or None where it is not known or not given."""
        return None if self.cam is None else self.cam.make()

    def window_sheet(self) -> WindowSheet:
        """The lifter's limits as its sheet gives them.

        Raises:
            Faulty: If there is no [lifter].
        """
        self.require("lifter")
        assert self.lifter is not None
        return self.lifter.window_sheet()

    def plunger_travel_mm(self) -> float | None:
        """The plunger's whole travel in mm, or None where the sheet doesn't give it."""
        typed = self.lifter.plunger_travel if self.lifter else None
        return None if typed is None else length_mm(typed)

    def growth_mm(self, pushrod_mm: float) -> float | None:
        """Preload lost from cold to hot in mm with a pushrod; None where [growth] isn't given."""
        return None if self.growth is None else self.growth.gap_growth_mm(pushrod_mm)

    def hot_gain_mm(self) -> float:
        """Preload gained from cold to hot in mm, by the pushrod that gains most; 0 at the least."""
        if self.pushrods is None:
            return 0.0
        losses = (self.growth_mm(self.pushrods.length(kind)) for kind in Kind)
        return max((-loss for loss in losses if loss is not None and loss < 0), default=0.0)

    def setting_nm(self) -> float | None:
        """What to set on the wrench for the rocker torque, in N·m; None without a torque."""
        wanted = self.rocker.torque_nm if self.rocker else None
        if wanted is None or self.wrench is None:
            return wanted
        return self.wrench.setting_nm(wanted)

    def lengths(self) -> tuple[float, ...]:
        """Pushrod lengths sold or on hand in mm, shortest first; none where they aren't given."""
        return self.pushrods.lengths() if self.pushrods else ()

    def travel_in_play(self, trials: Iterable[Trial] = ()) -> TravelInPlay:
        """Rank what is known of the travel per turn.

        Args:
            trials: Counts of turns with pushrods of known length.

        Returns:
            The travel in use, every candidate and the largest.

        Raises:
            ValueError: Nothing is known: no trials, no thread and ratio, no sheet's figure.
        """
        sheet = self.lifter.travel_per_turn if self.lifter else None
        return travel_in_play(
            trials,
            None if sheet is None else length_mm(sheet),
            self.rocker.pitch_mm if self.rocker else None,
            self.rocker.ratio if self.rocker else None,
        )

    def stock(self) -> dict[float, int]:
        """How many pushrods there are of each length in mm that is limited."""
        return self.pushrods.stock() if self.pushrods else {}

    def readings(self, seat_turns: float = 0.0) -> tuple[Taken, ...]:
        """The readings taken on paper, made ready for the arithmetic.

        Args:
            seat_turns: Turns that seat the rocker without moving the plunger.
        """
        ratio = self.rocker.ratio if self.rocker else 1.0
        above = self.lifter.cup_above_mm if self.lifter else 0.0
        return tuple(each.take(ratio, above, seat_turns) for each in self.reading)

    def trials(self, resolution: float = 0.125) -> tuple[Trial, ...]:
        """The readings taken on paper, as trials that can measure the travel per turn.

        Args:
            resolution: The smallest step they were read in, in turns.

        Returns:
            One trial a count of turns.
        """
        counted = (each.reading for each in self.readings() if each.counted)
        return tuple(Trial(r.valve, r.pushrod_mm, r.turns, resolution) for r in counted)

    def to_toml_dict(self) -> dict[str, Any]:
        """Lay the setup out for a TOML writer.

        Returns:
            Plain dicts, lists and scalars in the order of the form; text as typed; the card's
            fields beside its name, so that a record stands without the card's file.
        """
        document = self.model_dump(exclude_none=True)
        if not document["reading"]:
            del document["reading"]
        return document


def _needed(name: str) -> Fault:
    table, _, key = name.partition(".")
    what = f"add {key} to [{table}]" if key else f"add the table [{table}]"
    return Fault(name, "is missing, and is needed here", what)


def format_faults(raw: Mapping[str, object]) -> list[Fault]:
    """Check a document's format number.

    Args:
        raw: The document.

    Returns:
        One fault, or none.
    """
    value = raw.get("format")
    if value is None:
        return [Fault("format", "is missing", f"write format = {FORMAT} as the first line")]
    if not isinstance(value, int) or isinstance(value, bool) or value < 1:
        return [Fault("format", f"is {quoted(value)}", f"write format = {FORMAT}")]
    if value > FORMAT:
        problem = f"made for a newer Heelwise: format {quoted(value)}"
        return [Fault("format", problem, f"this one reads format {FORMAT}")]
    return []


def parse_setup(raw: Mapping[str, object], file: str, resolve: bool = True) -> Setup:
    """Make a setup of a document, or tell everything that is wrong with it.

    Args:
        raw: The document as TOML gives it.
        file: Its name, for the faults.
        resolve: Take what the engine's card says for the fields not given. False for the head of
            a record, which holds the card's fields and must not change with the card.

    Returns:
        The setup, the card's fields in it.

    Raises:
        Faulty: With every fault; of a document made for a newer Heelwise, that alone.
    """
    faults = format_faults(raw)
    if faults and "newer" in faults[0].problem:
        raise Faulty(file, faults)
    whole, card_faults = _with_card(raw) if resolve else (dict(raw), [])
    faults += card_faults
    setup: Setup | None = None
    try:
        setup = Setup.model_validate({**whole, "format": FORMAT})
    except ValidationError as error:
        faults += [f for f in faults_of(error, model=Setup) if not (card_faults and _by_card(f))]
    faults += not_said_twice(faults, setup_faults(whole))
    if faults or setup is None:
        raise Faulty(file, in_order(faults, raw))
    return setup


def _by_card(fault: Fault) -> bool:
    missing = fault.where == "engine.firing_order" and fault.problem == "is missing"
    return missing or fault.where == "engine.card"


def _with_card(raw: Mapping[str, object]) -> tuple[dict[str, object], list[Fault]]:
    engine = raw.get("engine")
    name = engine.get("card") if isinstance(engine, Mapping) else None
    if not isinstance(engine, Mapping) or not isinstance(name, str):
        return dict(raw), []
    try:
        card = load_card(name)
    except Faulty as error:
        return dict(raw), [Fault("engine.card", f.problem, f.instead) for f in error.faults]
    return {**raw, "engine": {**card, **engine}}, []


def load_setup(path: Path) -> Setup:
    """Read a setup from its file.

    Args:
        path: The file.

    Returns:
        The setup.

    Raises:
        Faulty: With every fault found in it.
    """
    return parse_setup(read_toml(path), str(path))
