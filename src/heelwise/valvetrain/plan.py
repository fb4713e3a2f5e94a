"""Moved."""

from heelwise.valvetrain.positions import Plan as Plan  # moved
