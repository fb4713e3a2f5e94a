"""Moved."""

from heelwise.walk.setup_checks import judge_wrench as judge_wrench  # moved

__all__ = ["judge_wrench"]
