"""Moved."""

from heelwise.session import ProcedureFile as Method  # moved
from heelwise.session import Session as Sitting  # moved
from heelwise.session import begin_session as begin_sitting  # moved
from heelwise.session import is_rehearsal  # moved
from heelwise.session import open_session as open_sitting  # moved
from heelwise.session import procedures_for as methods_for  # moved

__all__ = ["Method", "Sitting", "begin_sitting", "is_rehearsal", "methods_for", "open_sitting"]
