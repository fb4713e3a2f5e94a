"""The forms a sheet takes, by name."""

from __future__ import annotations

from typing import Literal, get_args

from heelwise.documents.record_reading import Record
from heelwise.sheet.as_csv import as_csv
from heelwise.sheet.as_html import as_html
from heelwise.sheet.as_json import as_json
from heelwise.sheet.as_markdown import as_markdown
from heelwise.sheet.as_text import as_text
from heelwise.sheet.laying_out import lay_out

Form = Literal["text", "markdown", "html", "csv", "json"]
FORMS: tuple[Form, ...] = get_args(Form)
ENDINGS: dict[Form, str] = {
    "text": ".txt",
    "markdown": ".md",
    "html": ".html",
    "csv": ".csv",
    "json": ".json",
}


def sheet(record: Record, form: Form, ascii_only: bool = False) -> str:
    """Write a record as a sheet. The record is not touched.

    Args:
        record: the record as read.
        form: which form.
        ascii_only: for text, use no character outside ASCII.

    Returns:
        The whole sheet.
    """
    if form == "json":
        return as_json(record)
    layout = lay_out(record)
    if form == "text":
        return as_text(layout, ascii_only)
    return {"markdown": as_markdown, "html": as_html, "csv": as_csv}[form](layout)
