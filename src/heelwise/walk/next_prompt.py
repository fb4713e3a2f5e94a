"""Moved."""

from heelwise.walk.walker import next_prompt as next_prompt  # moved
from heelwise.walk.walker import phase_of as phase_of  # moved

__all__ = ["next_prompt", "phase_of"]
