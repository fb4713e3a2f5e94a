"""One moment of a build: what is fixed, how it stands, and the figures that follow from both."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

from heelwise.documents import quantities
from heelwise.documents.entries import Answered, AnyEntry, Measured, Read
from heelwise.documents.entry_base import Entry
from heelwise.documents.procedure import Defaults, Procedure
from heelwise.documents.setup import Setup
from heelwise.documents.steps import Records
from heelwise.valvetrain import window as windows
from heelwise.valvetrain.cam import ANY_CAM, margin
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.figures import turns_text
from heelwise.valvetrain.positions import EACH, FEWEST, Plan, Position
from heelwise.valvetrain.readings import Basis
from heelwise.valvetrain.travel import TravelInPlay
from heelwise.valvetrain.trials import Reading
from heelwise.walk.build import Build, plan_by
from heelwise.walk.prompts import Fact
from heelwise.walk.state import BuildState, ValveState, fold
from heelwise.wording import text

UNKNOWN_CAM = "walk/unknown-cam"
ORDER_OF_WORK = "walk/order-of-work"
ORDER_WISHED = "walk/order-wished"

SHORT_OF_IT_DEG = 2.0
"""Short of a position by more than this, the crank is turned on to it."""
NEAR_A_POSITION_DEG = 20.0
"""How far past a position the crank may have been turned and still be called that position."""

UNKNOWN_CAM_SLACK_DEG = 5.0
"""With the cam not known: how far outside the strokes in which any cam has a valve shut (the
intake's power stroke, the exhaust's compression stroke) it may be worked on. No cam opens a
valve to speak of in those few degrees."""


@dataclass(frozen=True)
class Scene:
    """A build and its state. Everything here is worked out from the two, nothing kept."""

    build: Build
    state: BuildState
    more_trials: tuple[Reading, ...] = ()
    """Trials that no entry holds: one about to be kept, or those taken on paper."""

    @property
    def defaults(self) -> Defaults:
        """The procedure's numbers."""
        return self.build.procedure.defaults

    # ------------------------------------------------------------- the crank

    @property
    def crank_deg(self) -> float | None:
        """Where the crank stands, degrees in the 720° cycle."""
        return self.state.crank.body.at_deg if self.state.crank else None

    @property
    def at_deg(self) -> float:
        """Where the crank stands; LookupError while that isn't known."""
        if self.state.crank is None:
            raise LookupError("the crank's place is asked before anything that needs it")
        return self.state.crank.body.at_deg

    @property
    def crank_number(self) -> tuple[int, ...]:
        """The entry that says where the crank stands, to rest on."""
        return (self.state.crank.number,) if self.state.crank else ()

    @property
    def loaded_lifters_wait(self) -> bool:
        """Whether the lifters hold oil, so that pistons near TDC matter."""
        return self.build.method.reads != "lash" and self.state.lifters in ("pumped", "used")

    @cached_property
    def plan(self) -> Plan:
        """The positions of Fit and Prove, and what was preferred at what price."""
        chosen = self.state.step(UNKNOWN_CAM if self.build.cam is None else ORDER_OF_WORK)
        answered = chosen.when(Answered) if chosen else None
        order = answered.body.answer if answered else FEWEST
        return self.plan_by(EACH if self.build.method.stands else order)

    def plan_by(self, order: str) -> Plan:
        """The plan of an order of work."""
        build = self.build
        return plan_by(order, build.engine, build.cam, build.margin_deg, self.down_deg)

    @property
    def down_deg(self) -> tuple[float, float]:
        """How far pistons are to be from TDC, and where that is free, where lifters hold oil."""
        wanted = self.defaults.pistons_down_deg, self.defaults.most_pistons_down_deg
        return wanted if self.loaded_lifters_wait else (0.0, 0.0)

    def margin(self, valve: Valve, crank_deg: float | None = None) -> float | None:
        """A valve's margin at a crank angle (the present one by default); None without a cam."""
        at = self.crank_deg if crank_deg is None else crank_deg
        if self.build.cam is None or at is None:
            return None
        return margin(self.build.engine, self.build.cam, valve, at)

    def on_heel(self, valve: Valve) -> bool:
        """Whether the valve can be worked on where the crank stands, with the margin asked for."""
        at, cam = self.crank_deg, self.build.cam
        least = -UNKNOWN_CAM_SLACK_DEG if cam is None else self.build.margin_deg - 1e-9
        return at is not None and margin(self.build.engine, cam or ANY_CAM, valve, at) >= least

    def position_here(self, plan: Plan) -> Position | None:
        """The position of a plan the crank stands at, or a little past."""
        at = self.crank_deg
        if at is None or not plan.positions:
            return None
        nearest = min(plan.positions, key=lambda p: abs(_past(p.crank_deg, at)))
        past = _past(nearest.crank_deg, at)
        return nearest if -SHORT_OF_IT_DEG <= past <= NEAR_A_POSITION_DEG else None

    def next_position(self, plan: Plan, needy: Iterable[Valve]) -> Position:
        """The next position in the direction of rotation that has a valve of `needy`."""
        wanted, at = set(needy), self.crank_deg or 0.0
        useful = [p for p in plan.positions if any(v.valve in wanted for v in p.valves)]
        return min(useful, key=lambda p: _ahead(at, p.crank_deg))

    def recorded(self, what: str, valve: Valve | None = None) -> Entry[Measured] | None:
        """The latest reading that counts of a step that records this."""
        steps = [step.id for step in self.build.procedure.steps if step.records == what]
        answers = (self.state.step(step, valve) for step in steps)
        found = [measured for a in answers if a and (measured := a.when(Measured))]
        return max(found, key=lambda entry: entry.number, default=None)

    # ----------------------------------------------------------- the figures

    @cached_property
    def trials(self) -> tuple[Reading, ...]:
        """Every trial that counts, of every valve, and with them every count if so wished."""
        every = self.defaults.travel_by == "every count"
        states = self.state.valves.values()
        found = [t for s in states for t in (*s.trials, *(s.reads if every else ()))]
        kept = tuple(reading_of(e.body) for e in sorted(found, key=lambda e: e.number))
        zeros = (self.at_zero_lash(s) for s in states) if every else ()
        return (*kept, *self.more_trials, *filter(None, zeros))

    def at_zero_lash(self, valve_state: ValveState) -> Reading | None:
        """A checked valve as a count: no preload at its zero lash, whatever one turn gives."""
        if valve_state.checked is None:
            return None
        body = valve_state.checked.body
        worked_out = body.zero_lash_mm
        mm = quantities.length_mm(body.length) if worked_out is None else worked_out
        return Reading(valve_state.valve, mm, self.seat_turns, 0.0)

    @cached_property
    def travel(self) -> TravelInPlay:
        """Travel per turn: measured, the sheet's or worked out, by rank."""
        return self.build.setup.travel_in_play(self.trials)

    @property
    def seat_turns(self) -> float:
        """Turns that seat the rocker and move no plunger: as read, by the setup, or usual."""
        if read := self.recorded(Records.SEAT_TURNS):
            return quantities.turns(read.body.reading)
        lifter = self.build.setup.lifter
        given = lifter.seat_turns if lifter else None
        return self.defaults.seat_turns if given is None else given

    @cached_property
    def window(self) -> windows.Window:
        """The window in turns, by the travel in use; ended at the turns never to pass."""
        return windows.under_ceiling(self._uncut, self.ceiling)

    @cached_property
    def _uncut(self) -> windows.Window:
        sheet = self.build.setup.window_sheet()
        window = windows.window_in_turns(sheet, self.travel.used.mm, self.seat_turns)
        own = self.defaults
        return window if own.least_turns is None else _narrowed(window, own)

    @cached_property
    def basis(self) -> Basis:
        """What pushrods are chosen by."""
        sheet, seat = self.build.setup.window_sheet(), self.seat_turns
        # Limits in preload move with the travel per turn.
        window_at = None if sheet.turns else lambda mm: windows.window_in_turns(sheet, mm, seat)
        tolerance = quantities.length_mm(self.defaults.length_tolerance)
        return Basis(self.window, self.travel.used, window_at, tolerance)

    @cached_property
    def ceiling(self) -> windows.Ceiling:
        """The turns never to pass, by the largest travel in play, as they can be counted."""
        defaults = self.defaults
        return windows.ceiling_of(
            self._uncut,
            self.build.setup.figure("lifter.plunger_travel"),
            self.travel,
            defaults.reserve_turns,
            self.build.setup.hot_gain_mm(),
            defaults.resolution_turns,
        )

    @property
    def never_past(self) -> float:
        """The turns never to pass; half a turn over the window where no plunger travel is given."""
        if self.ceiling.turns is not None:
            return self.ceiling.turns
        return self.window.most_turns + 0.5

    @property
    def never_past_fact(self) -> Fact:
        """The turns never to pass in words, with where they come from."""
        source = self.ceiling.source
        if self.ceiling.turns is None:
            source = "the window's most and half a turn: the lifter's sheet gives no plunger travel"
        never = turns_text(self.never_past)
        return Fact(f"never past {never}; no click by then: stop and back off", source)

    def judged(self, read: Read) -> windows.Verdict:
        """A count judged by the window and the travel in force now."""
        turns, rule = quantities.turns(read.turns), self.defaults.rule
        return windows.judge(turns, self.window, read.resolution_turns, rule)

    @property
    def wanted_turns(self) -> float:
        """The turns to give where an adjuster sets them: the procedure's, or the middle."""
        chosen, window = self.defaults.wanted_turns, self.window
        if chosen is None:
            return round(window.middle * 16) / 16
        return min(max(chosen, window.least_turns), window.most_turns)

    # ---------------------------------------------------------- the pushrods

    def pushrod_text(self, valve_state: ValveState) -> str:
        """The pushrod now meant for a valve in Fit: fitted last, received, or the setup's."""
        given = valve_state.given_pushrod
        return given.body.pushrod if given else self.build.set_length(valve_state.valve)


def scene_of(setup: Setup, procedure: Procedure, entries: Iterable[AnyEntry] = ()) -> Scene:
    """The moment a setup, a procedure and a record's entries lead to."""
    build = Build(setup, procedure)
    return Scene(build, fold(build.engine.valves, entries))


def reading_of(body: Read) -> Reading:
    """A count as the arithmetic takes it."""
    return Reading(
        Valve.parse(body.valve),
        quantities.length_mm(body.pushrod),
        quantities.turns(body.turns),
        body.resolution_turns,
    )


def _narrowed(window: windows.Window, own: Defaults) -> windows.Window:
    least = max(window.least_turns, own.least_turns or 0.0)
    most = min(window.most_turns, window.most_turns if own.most_turns is None else own.most_turns)
    if least <= most:
        narrower = (least, most) != (window.least_turns, window.most_turns)
        source = window.source
        source = text("{}, narrowed by the procedure", source) if narrower else source
        return replace(window, least_turns=least, most_turns=most, source=source)
    note = "The procedure's own window lies outside the lifter sheet's: the sheet's is used."
    return replace(window, notes=(*window.notes, note))


def _past(position_deg: float, at: float) -> float:
    return (at - position_deg + 360) % 720 - 360


def _ahead(at: float, to: float) -> float:
    ahead = (to - at) % 720
    return ahead if 1e-6 < ahead < 720 - 1e-6 else 720.0
