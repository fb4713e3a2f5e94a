"""Moved."""

from heelwise.valvetrain.window import Ceiling as Ceiling  # moved
from heelwise.valvetrain.window import bottomed as bottomed  # moved
from heelwise.valvetrain.window import counted_down as counted_down  # moved
from heelwise.valvetrain.window import never_past as never_past  # moved
from heelwise.valvetrain.window import out_of_reach as out_of_reach  # moved
from heelwise.valvetrain.window import out_of_reach_text as out_of_reach_said  # moved
from heelwise.valvetrain.window import under_ceiling as under_ceiling  # moved

__all__ = [
    "Ceiling",
    "bottomed",
    "counted_down",
    "never_past",
    "out_of_reach",
    "out_of_reach_said",
    "under_ceiling",
]
