"""Moved."""

from heelwise.documents.form_rules import CARD as CARD  # moved
from heelwise.documents.form_rules import READ as READ  # moved
from heelwise.documents.form_rules import SHEET as SHEET  # moved
from heelwise.documents.setup_engine import NO_CARD as NO_CARD  # moved
from heelwise.documents.setup_form import LONGEST_TYPED as LONGEST_TYPED  # moved
from heelwise.documents.setup_form import TABLES as TABLES  # moved
from heelwise.documents.setup_form import FormField as FormField  # moved
