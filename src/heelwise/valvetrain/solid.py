"""Moved."""

from heelwise.valvetrain.lash import CHART_MM as CHART_MM  # moved
from heelwise.valvetrain.lash import CHART_SOURCE as CHART_SOURCE  # moved
from heelwise.valvetrain.lash import LashWord as LashWord  # moved
from heelwise.valvetrain.lash import judge_lash as judge_lash  # moved
from heelwise.valvetrain.lash import lash_cold as lash_cold  # moved
from heelwise.valvetrain.lash import lash_hot as lash_hot  # moved
