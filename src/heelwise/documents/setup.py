"""A setup: the engine, its cam, rockers, lifters, pushrods and wrench, from a file or a record."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, PrivateAttr

from heelwise.documents import fields as f
from heelwise.documents import setup_lifters
from heelwise.documents.faults import Fault, Faulty, quoted
from heelwise.documents.files import read_toml
from heelwise.documents.library import load_card
from heelwise.documents.oddities import impossible
from heelwise.documents.quantities import length_mm
from heelwise.documents.setup_engine import CamTable, EngineTable, RockerTable, WrenchTable
from heelwise.documents.setup_growth import GrowthTable, LashTable
from heelwise.plain_text import one_line
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.engine import Engine, Valve, ValveKind
from heelwise.valvetrain.travel import Origin, Travel, TravelInPlay, travel_in_play
from heelwise.valvetrain.trials import Reading
from heelwise.valvetrain.window import WindowSheet
from heelwise.wording import Length, Text, counted, joined, listed, span, text

_Records = Annotated[list[f.Paragraph], Field(max_length=1000)]
"""Each by its name and last seal."""


class BeforeTable(f.Table):
    """[before]: copied into a record's head as it begins, so that the record stands alone.

    `record`, `last_seal`: what it was begun from; `engine`: of a rehearsal. `travel_uncertainty`:
    standard, for another build. `intake`, `exhaust`: the lengths that builds ended with.
    `not_used`: records passed over, and why.
    """

    together = ((("travel_per_turn", "travel_uncertainty"), "they go together"),)

    record: f.ShortLine | None = None
    last_seal: f.ShortLine | None = None
    engine: Literal["virtual"] | None = None
    travel_per_turn: f.Length | None = None
    travel_uncertainty: f.Length | None = None
    travel_from: _Records = Field(default_factory=list)
    intake: list[f.Length] = Field(default_factory=list)
    exhaust: list[f.Length] = Field(default_factory=list)
    lengths_from: _Records = Field(default_factory=list)
    not_used: _Records = Field(default_factory=list)

    @property
    def travel(self) -> Travel | None:
        """The travel per turn measured before, as the arithmetic takes it."""
        mm, spread = self.figure("travel_per_turn"), self.figure("travel_uncertainty")
        if mm is None or spread is None:
            return None
        builds = counted(len(self.travel_from), "earlier build")
        source = text("measured before: {} with this rocker, ± {}", builds, Length(2 * spread))
        return Travel(mm, Origin.BEFORE, spread, source)

    @property
    def ended_text(self) -> Text:
        """The lengths ended with: "3 builds: intake 218.5 mm to 219.0 mm, exhaust 219.5 mm"."""
        kinds = (("intake", self.intake), ("exhaust", self.exhaust))
        parts = [Text(f"{name} ", span(map(length_mm, each))) for name, each in kinds if each]
        builds = counted(len(self.lengths_from), "build")
        return Text(f"{builds}: ", joined(", ", parts)) if parts else Text("")

    @property
    def ended_source(self) -> str:
        """Where those lengths come from."""
        names = [each.rpartition(" ")[0] for each in self.lengths_from]
        return f"earlier builds of this engine, heads and lifter: {listed(names)}"


_Initials = Annotated[f.ShortLine, Field(max_length=20)]


_part = partial(f.asked, without="a blank on the sheet", source="")


class JobTable(f.Table):
    """[job]: who it is for, its numbers, the parts fitted, and the people behind initials."""

    form_title = "Job"

    customer: f.ShortLine | None = _part("Customer | Who the engine is for.")
    job: f.ShortLine | None = _part("Job | The shop's number or name for the job.")
    engine_serial: f.ShortLine | None = _part("Engine serial | As stamped on the block.")
    casting: f.ShortLine | None = _part("Casting number | Of the block, or of block and heads.")
    cam: f.ShortLine | None = _part("Cam fitted | Grind or number, as on its card.")
    lifters: f.ShortLine | None = _part("Lifters fitted | As on the box: number, size, batch.")
    pushrods: f.ShortLine | None = _part("Pushrods fitted | As on the box: diameter, wall, ends.")
    rockers: f.ShortLine | None = _part("Rockers fitted | As on the box.")
    gasket: f.ShortLine | None = _part("Head gasket fitted | Number or compressed thickness.")
    wrench_serial: f.ShortLine | None = _part("Wrench serial | Of the torque wrench used.")
    people: Annotated[dict[_Initials, f.ShortLine], Field(max_length=50)] | None = _part(
        "Full names | For the initials in the record: MK = Mary King, JD = John Doe."
    )


class Setup(f.Table):
    """A whole setup. Make it with `load_setup` or `parse_setup`, which find every fault."""

    format: Literal[1]
    engine: Annotated[EngineTable, Field(examples=['[engine] with card = "i6-153624"'])]
    cam: CamTable | None = None
    rocker: RockerTable | None = None
    lifter: setup_lifters.LifterTable | None = None
    lash: LashTable | None = None
    pushrods: setup_lifters.PushrodsTable | None = None
    wrench: WrenchTable | None = None
    growth: GrowthTable | None = None
    job: JobTable | None = None
    before: BeforeTable | None = None
    reading: list[setup_lifters.ReadingTable] = Field(default_factory=list, max_length=1000)

    _unknown: dict[str, object] = PrivateAttr(default_factory=dict)

    @property
    def unknown(self) -> Mapping[str, object]:
        """Tables and keys of a record's head that this version doesn't know, by `table.key`."""
        return self._unknown

    @property
    def whose(self) -> str:
        """What ties a record to its engine: customer, job and serial, as far as given."""
        known = (self.job.customer, self.job.job, self.job.engine_serial) if self.job else ()
        return ", ".join(filter(None, known))

    def named(self, job: str) -> Setup:
        """The setup with whose engine it is, where it doesn't say so itself."""
        text = one_line(job.strip(), 120)
        if self.whose or not text:
            return self
        table = (self.job or JobTable()).model_copy(update={"job": text})
        return self.model_copy(update={"job": table})

    def require(self, *tables: str, file: str = "setup") -> Setup:
        """Make sure of tables ("lifter") or keys ("rocker.torque") the work needs, or Faulty."""
        faults = []
        for name in tables:
            table, _, key = name.partition(".")
            given = getattr(self, table)
            if given is None or (key and getattr(given, key) is None):
                what = f"add {key} to [{table}]" if key else f"add the table [{table}]"
                faults.append(Fault(name, "is missing, and is needed here", what))
        if faults:
            raise Faulty(file, faults)
        return self

    def make_engine(self) -> Engine:
        """Make the engine the arithmetic works on."""
        return self.engine.make()

    def make_cam(self) -> Cam | None:
        """Make the cam the arithmetic works on, or None where it is not known or not given."""
        return None if self.cam is None else self.cam.make()

    def window_sheet(self) -> WindowSheet:
        """The lifter's limits as its sheet gives them; Faulty without a [lifter]."""
        self.require("lifter")
        ends = [self.figure(f"lifter.{key}") for key in setup_lifters.WINDOW_KEYS]
        (least_turns, most_turns), (least, most) = ends[:2], ends[2:]
        return WindowSheet(
            None if least_turns is None or most_turns is None else (least_turns, most_turns),
            None if least is None or most is None else (least, most),
        )

    def figure(self, key: str) -> float | None:
        """The figure at "table.key" as a number; None where it isn't given."""
        name, _, inner = key.partition(".")
        table: f.Table | None = getattr(self, name)
        return None if table is None else table.figure(inner)

    def growth_mm(self, pushrod_mm: float) -> float | None:
        """Preload lost from cold to hot in mm with a pushrod; None where [growth] isn't given."""
        return None if self.growth is None else self.growth.gap_growth_mm(pushrod_mm)

    def hot_gain_mm(self) -> float:
        """Preload gained from cold to hot in mm, by the pushrod that gains most; 0 at the least."""
        if self.pushrods is None:
            return 0.0
        losses = (self.growth_mm(self.pushrods.length(kind)) for kind in ValveKind)
        return max((-loss for loss in losses if loss is not None and loss < 0), default=0.0)

    def setting_nm(self) -> float | None:
        """What to set on the wrench for the rocker torque, in N·m; None without a torque."""
        wanted = self.figure("rocker.torque")
        return wanted if wanted is None or not self.wrench else self.wrench.setting_nm(wanted)

    def lengths(self) -> tuple[float, ...]:
        """Pushrod lengths sold or on hand in mm, shortest first; none where they aren't given."""
        return self.pushrods.lengths() if self.pushrods else ()

    def stock(self) -> dict[float, int]:
        """How many pushrods there are of each length in mm that is limited."""
        return self.pushrods.stock() if self.pushrods else {}

    def travel_in_play(self, trials: Iterable[Reading] = ()) -> TravelInPlay:
        """Rank what is known of the travel per turn, trials first; ValueError for nothing.

        On shafts a turn is of the adjusting screw at the rocker's end, which moves by its pitch.
        """
        return travel_in_play(
            trials,
            self.figure("lifter.travel_per_turn"),
            self.figure("rocker.thread"),
            self.rocker.ratio if self.rocker and self.rocker.mount != "shaft" else None,
            self.before.travel if self.before else None,
        )

    def readings(self, seat_turns: float = 0.0) -> tuple[setup_lifters.Counted, ...]:
        """The readings taken on paper, ready for the arithmetic; `seat_turns` move no plunger."""
        ratio = self.rocker.ratio if self.rocker else 1.0
        above = self.lifter.cup_above_mm if self.lifter else 0.0
        return tuple(each.take(ratio, above, seat_turns) for each in self.reading)

    def trials(self) -> tuple[Reading, ...]:
        """The counts taken on paper, to measure the travel by."""
        return tuple(each.reading for each in self.readings() if each.counted)

    def to_toml_dict(self) -> dict[str, Any]:
        """Lay the setup out for a TOML writer: text as typed, the card's fields beside its name."""
        document = self.model_dump(exclude_none=True)
        if not document["reading"]:
            del document["reading"]
        if "before" in document:
            document["before"] = {k: v for k, v in document["before"].items() if v}
        return document

    def _own_faults(self) -> Iterator[Fault]:
        yield from self._lash_or_preload()
        yield from self._stands()
        yield from self._travel_known()
        yield from self._readings()

    def _lash_or_preload(self) -> Iterator[Fault]:
        if self.lifter is None:
            return
        a_lifter = f"a {quoted(self.lifter.kind)} lifter has"
        if self.lash is not None and self.lifter.hydraulic:
            instead = "leave the table out, or say which solid kind it is"
            yield Fault("lash", f"{a_lifter} preload, not lash", instead)
        if self.growth is not None and self.lifter.solid:
            problem = f"{a_lifter} lash, which [lash] grows"
            yield Fault("growth", problem, "write its materials in [lash]")

    def _valves(self) -> set[Valve]:
        order = self.engine.firing_order if self.engine else None
        return {Valve(number, kind) for number in order or () for kind in ValveKind}

    def _stands(self) -> Iterator[Fault]:
        stands, valves = self.rocker.stands if self.rocker else None, self._valves()
        if not stands or not valves:
            return
        named = [Valve.parse(name) for stand in stands for name in stand]
        where = "rocker.stands"
        for valve in sorted(set(named)):
            if valve not in valves:
                yield Fault(where, f"the engine has no valve {valve}", "name valves of this engine")
            elif named.count(valve) > 1:
                yield Fault(where, f"{valve} stands twice", "each valve has one stand")
        missing = [str(valve) for valve in sorted(valves - set(named))]
        if missing:
            yield Fault(where, f"{listed(missing)} have no stand", "name every valve once")

    def _travel_known(self) -> Iterator[Fault]:
        rocker, lifter = self.rocker, self.lifter
        if rocker is None or lifter is None:
            return
        known = rocker.has("thread") or lifter.has("travel_per_turn")
        if lifter.hydraulic and not known:
            instead = "add it, or lifter.travel_per_turn: one turn must be worth something"
            yield Fault("rocker.thread", "is missing", instead)
        pitch, travel = rocker.figure("thread"), lifter.figure("travel_per_turn")
        if pitch is not None and travel is not None and not pitch / 4 < travel < pitch * 4:
            problem = f"{quoted(lifter.travel_per_turn)} a turn can't come from a thread of "
            problem += f"{pitch:.3g} mm pitch"
            yield Fault("lifter.travel_per_turn", problem, "check its decimal point and unit")

    def _readings(self) -> Iterator[Fault]:
        valves = self._valves()
        cups = self.lifter is not None and any(map(self.lifter.has, setup_lifters.CUP_KEYS))
        for number, reading in enumerate(self.reading or (), start=1):
            name = reading.valve
            if valves and name is not None and Valve.parse(name) not in valves:
                problem = f"the engine has no valve {quoted(name)}"
                instead = f"it has {len(valves) // 2} cylinders"
                yield Fault(f"reading {number}.valve", problem, instead)
            if reading.has("lash") and not cups:
                problem = "needs lifter.cup_height and lifter.checking_cup_height"
                instead = "the two lifters' cups seldom stand equally high"
                yield Fault(f"reading {number}.lash", problem, instead)


def parse_setup(raw: Mapping[str, object], file: str, resolve: bool = True) -> Setup:
    """Make a setup of a document, or raise Faulty with everything that is wrong with it.

    `resolve`: take what the engine's card says for the fields not given. False for the head of a
    record, which holds the card's fields and must not change with the card; what it holds that
    this version doesn't know is carried in `Setup.unknown`.
    """
    if not resolve:
        try:
            return f.read_model(Setup, raw, file)
        except Faulty:
            known, unknown = f.without_unknown(Setup, raw)
        setup = f.read_model(Setup, known, file)
        setup._unknown.update(unknown)
        return setup
    whole, by_card = dict(raw), list[Fault]()
    engine = raw.get("engine")
    if isinstance(engine, Mapping) and isinstance(name := engine.get("card"), str):
        try:
            whole["engine"] = {**load_card(name), **engine}
        except Faulty as error:
            by_card = [Fault.at("engine.card", fault) for fault in error.faults]
    faults = [*by_card, *impossible(f.as_far_as_read(Setup, whole))]
    try:
        return f.read_model(Setup, whole, file, faults)
    except Faulty as faulty:
        follows = ("engine.firing_order", "is missing") if by_card else ()
        more = [each for each in faulty.faults if (each.where, each.problem) != follows]
        raise Faulty(file, more) from None


def load_setup(path: Path) -> Setup:
    """Read a setup from its file."""
    return parse_setup(read_toml(path), str(path))
