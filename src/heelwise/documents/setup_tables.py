"""Moved."""

from heelwise.documents.setup_engine import EVENT_KEYS as EVENT_KEYS  # moved
from heelwise.documents.setup_engine import TIMING_KEYS as TIMING_KEYS  # moved
from heelwise.documents.setup_engine import CamTable as CamTable  # moved
from heelwise.documents.setup_engine import EngineTable as EngineTable  # moved
from heelwise.documents.setup_lifters import LifterKind as LifterKind  # moved
from heelwise.documents.setup_lifters import LifterTable as LifterTable  # moved
from heelwise.documents.setup_lifters import PushrodsTable as PushrodsTable  # moved
from heelwise.documents.setup_rockers import Mount as Mount  # moved
from heelwise.documents.setup_rockers import RockerTable as RockerTable  # moved
from heelwise.documents.setup_rockers import WrenchTable as WrenchTable  # moved
