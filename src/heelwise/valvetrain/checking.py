"""Moved."""

from heelwise.valvetrain.lash import CHECKING_PITCH_MM as CHECKING_PITCH_MM  # moved
from heelwise.valvetrain.lash import HOW_MEASURED as HOW_MEASURED  # moved
from heelwise.valvetrain.lash import MOST_APART_MM as MOST_APART_MM  # moved
from heelwise.valvetrain.lash import MOST_LASH_MM as MOST_LASH_MM  # moved
from heelwise.valvetrain.lash import checking_length as checking_length  # moved
from heelwise.valvetrain.lash import length_from_lash as length_from_lash  # moved
from heelwise.valvetrain.lash import length_from_zero_lash as length_from_zero_lash  # moved
