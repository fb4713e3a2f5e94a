"""Moved."""

from heelwise.rehearsal.engine import lift_mm as lift_mm  # moved
