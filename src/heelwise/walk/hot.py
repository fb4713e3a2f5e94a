"""Moved."""

from heelwise.walk.limits import growth_facts as growth_facts  # moved
from heelwise.walk.limits import growth_text as growth_said  # moved
from heelwise.walk.limits import hot_text as hot_said  # moved

__all__ = ["growth_facts", "growth_said", "hot_said"]
