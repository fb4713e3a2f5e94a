"""Moved."""

from heelwise.documents.setup_sources import Source as Source  # moved
from heelwise.documents.setup_sources import lifters_in as lifters_in  # moved
from heelwise.documents.setup_sources import setups_in as setups_in  # moved
