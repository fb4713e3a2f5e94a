"""Moved."""

from heelwise.documents.setup_form import Source as Source  # moved
from heelwise.documents.setup_form import lifters_in as lifters_in  # moved
from heelwise.documents.setup_form import setups_in as setups_in  # moved
