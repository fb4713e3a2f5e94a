"""Moved."""

from heelwise.walk.state import RESUME_STEP as RESUME_STEP  # moved
from heelwise.walk.state import BuildState as Standing  # moved
from heelwise.walk.state import fold as fold  # moved
from heelwise.walk.valve_state import ValveState as ValveStanding  # moved

__all__ = ["RESUME_STEP", "Standing", "ValveStanding", "fold"]
