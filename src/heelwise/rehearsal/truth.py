"""Moved."""

from heelwise.rehearsal.engine import Truth as Truth  # moved
from heelwise.rehearsal.engine import make_truth as make_truth  # moved
