"""Moved."""

from heelwise.documents.form_check import FILE as FILE  # moved
from heelwise.documents.form_check import FormCheck as Checked  # moved
from heelwise.documents.form_check import check as check  # moved

__all__ = ["FILE", "Checked", "check"]
