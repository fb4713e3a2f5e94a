"""Moved."""

from heelwise.valvetrain.true_tdc import true_tdc as true_tdc  # moved
