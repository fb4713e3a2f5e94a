"""The forms a sheet takes, by name."""

from __future__ import annotations

from typing import Literal, get_args

from heelwise.documents.record import Record
from heelwise.sheet.contents import sheet_of
from heelwise.sheet.csv_json import as_csv, as_json
from heelwise.sheet.html import as_html
from heelwise.sheet.text import as_markdown, as_text

Form = Literal["text", "markdown", "html", "csv", "json"]
FORMS: tuple[Form, ...] = get_args(Form)


def sheet(record: Record, form: Form) -> str:
    """Write a record as a sheet. The record is not touched."""
    if form == "json":
        return as_json(record)
    return {"text": as_text, "markdown": as_markdown, "html": as_html, "csv": as_csv}[form](
        sheet_of(record)
    )
