"""Moved."""

from heelwise.walk.trials import FIT_TRIAL as FIT_TRIAL  # moved
from heelwise.walk.trials import trial_valves as trial_valves  # moved

__all__ = ["FIT_TRIAL", "trial_valves"]
