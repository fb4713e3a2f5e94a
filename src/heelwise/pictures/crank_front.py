"""Moved."""

from heelwise.pictures.crank import SMALLEST_CRANK, crank_cells
from heelwise.pictures.crank import crank as crank_front

__all__ = ["SMALLEST_CRANK", "crank_cells", "crank_front"]
