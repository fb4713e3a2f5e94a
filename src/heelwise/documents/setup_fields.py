"""The fields of a setup as a form asks for them: data, a row a field, in the order of the form.

To add one: a row in its table's place in one of the files `fields_*.py`. The form's screen, the
writer and the checks follow.
"""

from __future__ import annotations

from collections.abc import Mapping

from heelwise.documents.fields_engine import CAM_FIELDS, ENGINE_FIELDS
from heelwise.documents.fields_pushrods import PUSHRODS_FIELDS, WRENCH_FIELDS
from heelwise.documents.fields_rocker import (
    GROWTH_FIELDS,
    LASH_FIELDS,
    LIFTER_FIELDS,
    ROCKER_FIELDS,
)
from heelwise.documents.form_fields import FormField, Typed

FIELDS: tuple[FormField, ...] = (
    *ENGINE_FIELDS,
    *CAM_FIELDS,
    *ROCKER_FIELDS,
    *LIFTER_FIELDS,
    *LASH_FIELDS,
    *PUSHRODS_FIELDS,
    *WRENCH_FIELDS,
    *GROWTH_FIELDS,
)
"""Every field, in the order of the form."""

FIELD: Mapping[str, FormField] = {field.where: field for field in FIELDS}
"""Every field by `table.key`."""


def fitting(typed: Typed) -> list[FormField]:
    """The fields to offer beside what stands in them.

    Args:
        typed: What stands in the fields.

    Returns:
        They in the order of the form.
    """
    return [field for field in FIELDS if field.fits(typed)]


def missing(typed: Typed) -> list[FormField]:
    """The fields that are needed and empty.

    Args:
        typed: What stands in the fields.

    Returns:
        They in the order of the form.
    """
    return [
        field
        for field in fitting(typed)
        if field.needed(typed) and not typed.get(field.where, "").strip()
    ]
