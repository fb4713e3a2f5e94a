"""The sheet: a record in progress or signed off, laid out for reading."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from heelwise.documents.record import Record
from heelwise.plain_text import one_line
from heelwise.screens.key_actions import key
from heelwise.screens.lengths import lengths_in, lengths_key
from heelwise.screens.page import PageScreen
from heelwise.screens.sections_view import Line, section_lines
from heelwise.screens.styled_text import Part, wrapped
from heelwise.sheet.contents import sheet_of
from heelwise.sheet.sections import Sheet

FIRST = "valves"
"""The section that comes first on a screen, under the line of result."""


def sheet_lines(sheet: Sheet, width: int, valve: str, unit: str) -> list[Line]:
    """A whole sheet, or what it says of one valve."""
    if valve:
        return section_lines(sheet.of_valve(valve), width, unit)
    sections = sorted(sheet.sections, key=lambda section: section.key != FIRST)
    head = [*wrapped([(sheet.result, "strong")], width), *wrapped([(sheet.status, "plain")], width)]
    return [*head, [], *section_lines(sections, width, unit)]


class SheetScreen(PageScreen):
    """All valves, or one."""

    BINDINGS: ClassVar[list[BindingType]] = [
        lengths_key(),
        key("v,right", "valve(1)", "Valve", "One valve alone, the next, all.", shown=True),
        key("left", "valve(-1)", "Valve before", "The valve before."),
        key("f6", "back", "Back", "Back to where you were."),
    ]

    def __init__(self, record: Record, remark: str = "") -> None:
        super().__init__()
        self._sheet, self._remark, self._valve = sheet_of(record), remark, ""

    def title_parts(self) -> list[Part]:
        """The build, which valve of it, and why it is only read."""
        of = f"  {self._valve} alone" if self._valve else ""
        remark = f"  {self._remark}" if self._remark else ""
        return [(one_line(self._sheet.name, 60), "next"), (of, "strong"), (remark, "warn")]

    def page_lines(self, width: int) -> list[Line]:
        """The sheet for a width."""
        return sheet_lines(self._sheet, width, self._valve, lengths_in(self))

    def action_valve(self, by: int) -> None:
        """Another valve alone, or all of them."""
        section = self._sheet.section(FIRST)
        names = ["", *(name for row in section.rows for name in row.valves)] if section else [""]
        self._valve = names[(names.index(self._valve) + by) % len(names)]
        self.show_lengths()
        self.action_end(-1)
