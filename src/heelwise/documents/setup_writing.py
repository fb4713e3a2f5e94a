"""Moved."""

from heelwise.documents.setup_form import setup_text as setup_text  # moved
