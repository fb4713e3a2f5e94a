"""Moved."""

from heelwise.documents.quantities import CHECKING_EXAMPLE as EXAMPLE  # moved
from heelwise.documents.quantities import by_turns_out as by_turns_out  # moved
from heelwise.documents.quantities import checking_pushrod_mm as checking_pushrod_mm  # moved

__all__ = ["EXAMPLE", "by_turns_out", "checking_pushrod_mm"]
