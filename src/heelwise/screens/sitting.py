"""Moved."""

from heelwise.session import ProcedureFile as Method  # moved
from heelwise.session import Session as Sitting  # moved
from heelwise.session import begin_session as begin_sitting  # moved
from heelwise.session import is_rehearsal as is_rehearsal  # moved
from heelwise.session import open_session as open_sitting  # moved
from heelwise.session import procedures_for as methods_for  # moved
