"""Moved."""

from heelwise.documents.typed_numbers import thread_pitch_mm as thread_pitch_mm  # moved
