"""Moved."""

from heelwise.documents.setup_form import FIELD as FIELD  # moved
from heelwise.documents.setup_form import FIELDS as FIELDS  # moved
from heelwise.documents.setup_form import fitting as fitting  # moved
