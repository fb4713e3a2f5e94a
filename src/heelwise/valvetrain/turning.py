"""Moved."""

from heelwise.valvetrain.turn import landmark as landmark  # moved
from heelwise.valvetrain.turn import turn_to as turn_to  # moved
from heelwise.valvetrain.turn import turns_in_words as turns_in_words  # moved
