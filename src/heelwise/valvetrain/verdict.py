"""Moved."""

from heelwise.valvetrain.figures import SLACK_TURNS as SLACK_TURNS  # moved
from heelwise.valvetrain.window import Verdict as Verdict  # moved
from heelwise.valvetrain.window import Window as Window  # moved
from heelwise.valvetrain.window import WindowSheet as WindowSheet  # moved
from heelwise.valvetrain.window import Word as Word  # moved
from heelwise.valvetrain.window import judge as judge  # moved
from heelwise.valvetrain.window import preload_mm as preload_mm  # moved
from heelwise.valvetrain.window import window_in_turns as window_in_turns  # moved
