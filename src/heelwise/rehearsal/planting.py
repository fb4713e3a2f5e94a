"""Moved."""

from heelwise.rehearsal.faults import FAULTS as FAULTS  # moved
from heelwise.rehearsal.faults import EngineFault as EngineFault  # moved
from heelwise.rehearsal.faults import Planted as Planted  # moved
from heelwise.rehearsal.faults import plant as plant  # moved

Fault = EngineFault  # moved
