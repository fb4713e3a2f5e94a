"""What stays fixed through one build, made ready for the arithmetic, and its orders of work.

By eye, for a cam that is not known: exhaust just opening, set that cylinder's intake; intake
almost closed, set its exhaust (a magazine's description, April 2014). How far open differs
between authors: a range, not a point, so the crank angles only put the places in their order.
"""

from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import TypeVar

from heelwise.documents import quantities
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.methods import Method
from heelwise.documents.procedure import Procedure, Step
from heelwise.documents.setup import Setup
from heelwise.documents.setup_engine import RockerTable
from heelwise.documents.setup_growth import LashTable
from heelwise.documents.setup_lifters import PushrodsTable
from heelwise.valvetrain import positions as plans
from heelwise.valvetrain.cam import Cam, margin, tdc_distance
from heelwise.valvetrain.engine import Engine, Valve, ValveKind
from heelwise.wording import INCHES, MILLIMETERS

BY_EYE = "by eye"

ORDER_NAMES = {
    plans.FEWEST: "the fewest positions",
    plans.EACH: "one cylinder at a time, at its TDC on compression",
    BY_EYE: "by eye: exhaust just opening, set the intake; intake almost closed, set the exhaust",
}

EXHAUST_OPENING_DEG = 115.0
"""About where any exhaust begins to open, after its cylinder's firing TDC (a range: 90 to 140)."""
INTAKE_CLOSING_DEG = 585.0
"""About where any intake is almost closed (a range: 560 to 610)."""

T = TypeVar("T")


@dataclass(frozen=True)
class Build:
    """A setup and the procedure it is built by: what stays fixed through one build."""

    setup: Setup
    procedure: Procedure

    @cached_property
    def engine(self) -> Engine:
        """The engine's layout."""
        return self.setup.make_engine()

    @cached_property
    def cam(self) -> Cam | None:
        """The cam, or None when it is not known."""
        return self.setup.make_cam()

    @property
    def margin_deg(self) -> float:
        """Degrees a valve must be from its lobe to be worked on."""
        return self.procedure.defaults.margin_deg

    @property
    def method(self) -> Method:
        """The procedure's method: which rounds there are, how a valve is read."""
        return self.procedure.method

    @cached_property
    def rocker(self) -> RockerTable:
        """[rocker]. Raises Faulty where the setup has none."""
        return _given("rocker", self.setup.rocker)

    @cached_property
    def pushrods(self) -> PushrodsTable:
        """[pushrods]. Raises Faulty where the setup has none."""
        return _given("pushrods", self.setup.pushrods)

    @cached_property
    def lash(self) -> LashTable:
        """[lash]. Raises Faulty where the setup has none."""
        return _given("lash", self.setup.lash)

    @cached_property
    def plunger_mm(self) -> float:
        """The plunger's whole travel. Raises Faulty where the setup doesn't give it."""
        return _given("lifter.plunger_travel", self.setup.figure("lifter.plunger_travel"))

    @cached_property
    def torque(self) -> str:
        """The rocker torque, as the setup says it."""
        return self.rocker.torque or "the sheet's torque"

    @cached_property
    def setting(self) -> str:
        """What is set on the wrench: the torque, or less with an adapter in line."""
        wanted, wrench = self.setup.setting_nm(), self.setup.wrench
        if wanted is None or wrench is None or wrench.adapter is None:
            return self.torque
        return (
            f"{quantities.show_torque(wanted, 'lbf ft')} ({quantities.show_torque(wanted, 'N·m')})"
        )

    def show_length(self, mm: float) -> str:
        """A pushrod's length as text that can be typed back, in the unit they are sold in."""
        metric = self.pushrods.intake.strip().lower().endswith("mm")
        return quantities.show_length(mm, MILLIMETERS if metric else INCHES)

    def set_length(self, valve: Valve) -> str:
        """The length in the setup for a valve's kind; once it has run, the one it was read with."""
        for known in () if self.method.fits else self.setup.reading:
            if known.valve == str(valve) and known.pushrod:
                return known.pushrod
        return self.pushrods.intake if valve.kind is ValveKind.INTAKE else self.pushrods.exhaust

    def stand_of(self, valve: Valve) -> tuple[Valve, ...]:
        """The valves that share a valve's stand: by [rocker] stands, or its cylinder's two."""
        if not self.method.stands:
            return (valve,)
        rocker = self.setup.rocker
        for stand in (rocker.stands if rocker else None) or ():
            valves = tuple(sorted(Valve.parse(name) for name in stand))
            if valve in valves:
                return valves
        return tuple(Valve(valve.cylinder, kind) for kind in ValveKind)

    def steps(self, phase: str, each: str) -> tuple[Step, ...]:
        """The procedure's steps of a phase that are asked once per build, position or valve."""
        return tuple(s for s in self.procedure.steps if s.phase == phase and s.each == each)


def _given(name: str, value: T | None) -> T:
    if value is None:
        raise Faulty("setup", [Fault(name, "is missing, and is needed here", f"give {name}")])
    return value


# ---------------------------------------------------------------- orders of work


def by_eye_plan(engine: Engine) -> plans.Plan:
    """Two places a cylinder, in the direction of rotation; nominal angles, margins not known."""
    places = sorted(
        (round((engine.phase(c) + nominal) % 720.0, 6), c, kind)
        for c in range(1, engine.cylinders + 1)
        for nominal, kind in (
            (EXHAUST_OPENING_DEG, ValveKind.INTAKE),
            (INTAKE_CLOSING_DEG, ValveKind.EXHAUST),
        )
    )
    positions, before = [], 0.0
    for number, (deg, cylinder, kind) in enumerate(places, start=1):
        valve = Valve(cylinder, kind)
        placed = plans.Placed(valve, None, tdc_distance(engine, cylinder, deg))
        intake = kind is ValveKind.INTAKE
        sign = f"{cylinder}E just begins to open" if intake else f"{cylinder}I is almost closed"
        positions.append(plans.Position(number, deg, deg - before, sign, (placed,), ()))
        before = deg
    why = "Set by eye, by the cylinder's other valve."
    return plans.Plan(BY_EYE, None, tuple(positions), (why,))


@lru_cache(maxsize=64)
def plan_by(
    order: str, engine: Engine, cam: Cam | None, margin_deg: float, down_deg: tuple[float, float]
) -> plans.Plan:
    """The plan of an order of work; NoPlan where the cam leaves a valve without its margin."""
    if order == BY_EYE:
        return by_eye_plan(engine)
    if order == plans.EACH and cam is not None:
        why = "A cylinder's two valves are on their heels together."
        at_tdc = replace(plans.each_cylinder(engine, cam, margin_deg), reasons=(why,))
        least = max(margin_deg, (at_tdc.least_margin_deg or 0.0) / 2)
        for past in sorted(filter(None, down_deg), reverse=True):
            with suppress(plans.NoPlan):
                down = f"Pistons {past:g}° past TDC, and down, as the lifters are full of oil."
                plan = plans.each_cylinder(engine, cam, least, past)
                return replace(plan, reasons=(why, down))
        return at_tdc
    plan = plans.preferred_plan(engine, cam, margin_deg, *down_deg)
    if cam is None and any(down_deg):
        bleed = "Pistons are at TDC here: bleed lifters full of oil down before tightening."
        return replace(plan, reasons=(*plan.reasons, bleed))
    return plan


def orders(
    engine: Engine, cam: Cam | None, margin_deg: float, down_deg: tuple[float, float]
) -> dict[str, plans.Plan]:
    """The orders that put every valve on its heel with its margin, the fewest positions first."""
    found = {}
    for order in (plans.FEWEST, plans.EACH, BY_EYE) if cam is not None else (plans.EACH, BY_EYE):
        try:
            plan = plan_by(order, engine, cam, margin_deg, down_deg)
        except plans.NoPlan:
            continue
        placed = [(p.valve, at.crank_deg) for at in plan.positions for p in at.valves]
        if cam is None or all(margin(engine, cam, v, at) >= margin_deg - 1e-9 for v, at in placed):
            found[order] = plan
    return found
