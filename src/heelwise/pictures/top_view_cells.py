"""Moved."""

from heelwise.pictures.top_view import engine_cells as engine_cells  # moved
