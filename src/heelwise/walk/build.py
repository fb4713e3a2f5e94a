"""What stays fixed through one build: its setup and procedure, made ready for the arithmetic."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from heelwise.documents import quantities
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.methods import Method
from heelwise.documents.procedure import Procedure, Step
from heelwise.documents.setup import Setup
from heelwise.documents.setup_engine import RockerTable
from heelwise.documents.setup_growth import LashTable
from heelwise.documents.setup_lifters import PushrodsTable
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.engine import Engine, Valve, ValveKind
from heelwise.valvetrain.readings import Basis
from heelwise.valvetrain.travel import Travel
from heelwise.valvetrain.window import Window, window_in_turns
from heelwise.wording import INCHES, MILLIMETRES, listed

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
        return _given("lifter.plunger_travel", self.setup.plunger_travel_mm())

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

    @cached_property
    def unit(self) -> str:
        """The unit pushrods are sold in, by which a length to fit or to buy is written."""
        return MILLIMETRES if self.pushrods.intake.strip().lower().endswith("mm") else INCHES

    def show_length(self, mm: float) -> str:
        """A pushrod's length as text that can be typed back, in the unit they are sold in."""
        return quantities.show_length(mm, self.unit)

    def set_length(self, valve: Valve) -> str:
        """The length in the setup for a valve's kind."""
        return self.pushrods.intake if valve.kind is ValveKind.INTAKE else self.pushrods.exhaust

    def stand_of(self, valve: Valve) -> tuple[Valve, ...]:
        """The valves whose rockers share a valve's stand, itself among them.

        Without [rocker] stands a cylinder's two valves share one. Where the method draws
        down no stands, a valve stands alone.
        """
        if not self.method.stands:
            return (valve,)
        rocker = self.setup.rocker
        for stand in (rocker.stands if rocker else None) or ():
            valves = tuple(sorted(Valve.parse(name) for name in stand))
            if valve in valves:
                return valves
        return tuple(Valve(valve.cylinder, kind) for kind in ValveKind)

    def stand_text(self, valve: Valve) -> str:
        """The valves of a valve's stand, by name."""
        return listed(self.stand_of(valve))

    def steps(self, phase: str, each: str) -> tuple[Step, ...]:
        """The procedure's steps of a phase that are asked once per build, position or valve."""
        return tuple(s for s in self.procedure.steps if s.phase == phase and s.each == each)


def _given(name: str, value: T | None) -> T:
    if value is None:
        raise Faulty("setup", [Fault(name, "is missing, and is needed here", f"give {name}")])
    return value


def basis_of(
    setup: Setup, window: Window, travel: Travel, seat_turns: float, received_mm: float
) -> Basis:
    """What pushrods are chosen by; limits in preload move with the travel per turn."""
    sheet = setup.window_sheet()
    in_turns = sheet.least_turns is not None and sheet.most_turns is not None

    def window_at(travel_mm: float) -> Window:
        return window_in_turns(sheet, travel_mm, seat_turns)

    return Basis(window, travel, None if in_turns else window_at, received_mm)
