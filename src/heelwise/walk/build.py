"""What stays fixed through one build: its setup and procedure, made ready for the arithmetic."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from heelwise.documents.procedure import Procedure, Step
from heelwise.documents.quantities import show_torque
from heelwise.documents.setup import Setup
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.valves import Kind, Valve
from heelwise.walk.ways import WAYS, Way


@dataclass(frozen=True)
class Build:
    """A setup and the procedure it is built by."""

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
    def way(self) -> Way:
        """What the procedure's method makes of the walk."""
        return WAYS[self.procedure.method]

    @cached_property
    def torque(self) -> str:
        """The rocker torque, as the setup says it."""
        rocker = self.setup.require("rocker").rocker
        assert rocker is not None
        return rocker.torque or "the sheet's torque"

    @cached_property
    def setting(self) -> str:
        """What is set on the wrench: the torque, or less with an adapter in line."""
        wanted, wrench = self.setup.setting_nm(), self.setup.wrench
        if wanted is None or wrench is None or wrench.adapter is None:
            return self.torque
        return f"{show_torque(wanted, 'lbf ft')} ({show_torque(wanted, 'N·m')})"

    def stand_of(self, valve: Valve) -> tuple[Valve, ...]:
        """The valves whose rockers share a valve's stand, itself among them.

        Without [rocker] stands a cylinder's two valves share one. Where the method draws
        down no stands, a valve stands alone.
        """
        if not self.way.stands:
            return (valve,)
        rocker = self.setup.rocker
        for stand in (rocker.stands if rocker else None) or ():
            valves = tuple(sorted(Valve.parse(name) for name in stand))
            if valve in valves:
                return valves
        return tuple(Valve(valve.cylinder, kind) for kind in Kind)

    def steps(self, phase: str, each: str) -> tuple[Step, ...]:
        """The procedure's steps of a phase that are asked once per build, position or valve."""
        return tuple(s for s in self.procedure.steps if s.phase == phase and s.each == each)
