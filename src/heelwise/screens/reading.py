"""Screens to be read: the sheet, the set of pushrods, help; each a page that scrolls."""

from collections.abc import Sequence
from importlib.resources import files
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Markdown, Static

from heelwise.documents.record import Record
from heelwise.pictures.cells import ValveSign
from heelwise.plain_text import Part, all_wrapped, one_line
from heelwise.screens.drawn import DrawLines, Drawn
from heelwise.screens.key_actions import LENGTHS_KEY, KeyAction, KeyBar, action_rows, key
from heelwise.screens.styled_text import content, lengths_in
from heelwise.sheet.compare import comparison
from heelwise.sheet.contents import sheet_of
from heelwise.sheet.pushrod_words import pushrod_sections
from heelwise.sheet.sections import Section
from heelwise.sheet.text import Line, section_lines
from heelwise.walk.buying import set_of
from heelwise.walk.scene import Scene


class PageScreen(Screen[None]):
    """A page to be read: sections under a title, unless it draws more than that."""

    CSS_PATH = "reading.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this shows, and every key.", shown=True),
        key("down", "scroll(3)", "Scroll", "Scroll down; Up scrolls back.", shown=True, told="↑↓"),
        key("up", "scroll(-3)", "Up", "Scroll up."),
        key("pagedown,space", "page(1)", "Page", "A screenful on.", shown=True),
        key("pageup", "page(-1)", "Page up", "A screenful back."),
        key("home", "page(-1000)", "Top", "To the top."),
        key("end", "page(1000)", "End", "To the end."),
        LENGTHS_KEY,
        key("escape,f6,f9", "back", "Back", "Back to where you were.", shown=True),
    ]

    def __init__(self, title: str, about: str = "", sections: Sequence[Section] = ()) -> None:
        super().__init__()
        self._title: list[Part] = [(title, "next"), (f"  {about}", "plain")]
        self._sections = sections

    def page_lines(self, width: int) -> list[Line]:
        """The page for a width."""
        return section_lines(self._sections, width, lengths_in(self))

    def compose(self) -> ComposeResult:
        """The title and the page."""
        yield Static(id="title")
        with VerticalScroll(id="page", can_focus=False):
            yield Drawn(id="lines")
        yield KeyBar()

    def on_mount(self) -> None:
        """Show the page, and again in any unit chosen."""
        self.watch(self.app, "lengths", self.show_lengths)

    def show_lengths(self) -> None:
        """Draw the page, in the unit chosen."""
        self.query_one("#title", Static).update(content(self._title))
        self.query_one("#lines", Drawn).show(self.page_lines)

    def action_scroll(self, by: int) -> None:
        """Scroll some lines."""
        self.query_one("#page", VerticalScroll).scroll_relative(y=by, animate=False)

    def action_page(self, pages: int) -> None:
        """Scroll most of a screenful, or many."""
        self.action_scroll(pages * max(self.query_one("#page").size.height - 2, 1))

    def action_back(self) -> None:
        """Back to where it was called from."""
        self.dismiss(None)


FIRST = "valves"
"""The section that comes first on a screen, under the line of result."""


class SheetScreen(PageScreen):
    """All valves, or one."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key("v,right", "valve(1)", "Valve", "One valve alone, the next, all.", shown=True),
        key("left", "valve(-1)", "Valve before", "The valve before."),
    ]

    def __init__(self, record: Record, remark: str = "") -> None:
        self._sheet, self._remark, self._valve = sheet_of(record), remark, ""
        super().__init__("")

    def show_lengths(self) -> None:
        """Draw the sheet of the valve chosen, or of all; why it is only read stands above it."""
        of = f"  {self._valve} alone" if self._valve else ""
        remark = f"  {self._remark}" if self._remark else ""
        self._title = [(one_line(self._sheet.name, 60), "next"), (of, "strong"), (remark, "warn")]
        super().show_lengths()

    def page_lines(self, width: int) -> list[Line]:
        """The sheet for a width."""
        sheet, unit = self._sheet, lengths_in(self)
        if self._valve:
            return section_lines(sheet.of_valve(self._valve), width, unit)
        sections = sorted(sheet.sections, key=lambda section: section.key != FIRST)
        head: list[Line] = [[(sheet.result, "strong")], [(sheet.status, "plain")]]
        return [*all_wrapped(head, width), [], *section_lines(sections, width, unit)]

    def action_valve(self, by: int) -> None:
        """Another valve alone, or all of them."""
        section = self._sheet.section(FIRST)
        names = ["", *(name for row in section.rows for name in row.valves)] if section else [""]
        self._valve = names[(names.index(self._valve) + by) % len(names)]
        self.show_lengths()
        self.action_page(-1000)


class CompareScreen(PageScreen):
    """Records held against each other."""

    def __init__(self, records: Sequence[Record]) -> None:
        about = "what changed, and what the readings can tell"
        super().__init__("Compared", about, comparison(records))


class PushrodsScreen(PageScreen):
    """Readings, order and what to expect, as short tables."""

    def __init__(self, scene: Scene) -> None:
        pushrods = set_of(scene)
        sections = pushrod_sections(pushrods, pushrods.order())
        super().__init__("Pushrods", "what was read, what to try, what to buy", sections)

    def page_lines(self, width: int) -> list[Line]:
        """The tables, and what the signs in them mean."""
        legend: Line = [("[ ]", "good"), (" window  ", "quiet")]
        legend += [("!", "bad"), (" never past  ", "quiet")]
        for sign in (ValveSign.INSIDE, ValveSign.NEAR, ValveSign.SHORT, ValveSign.LONG):
            words = "near a limit" if sign is ValveSign.NEAR else sign.value
            legend += [(sign.shape, sign), (f" {words}  ", "quiet")]
        return [*super().page_lines(width), [], legend]


PAGES = {
    "WalkScreen": "walk",
    "BenchScreen": "bench",
    "StartScreen": "start",
    "TimelineScreen": "timeline",
    "SheetScreen": "sheet",
    "PushrodsScreen": "pushrods",
    "CompareScreen": "compare",
    "SetupFormScreen": "setup-form",
    "CrankPicture": "crank-picture",
}
"""The page of help of every screen that has one."""


class HelpScreen(PageScreen):
    """What is here now, the keys, then the page."""

    BINDINGS: ClassVar[list[BindingType]] = [key("f1", "back", "Back", "Back to where you were.")]

    def __init__(self, page: str, keys: list[KeyAction], here: DrawLines) -> None:
        super().__init__("")
        self._page, self._keys, self._here = page, keys, here

    def compose(self) -> ComposeResult:
        """The question, where there is one; the keys; the page."""
        with VerticalScroll(id="page", can_focus=False):
            yield Drawn(id="here")
            yield Drawn(self._key_rows, id="keys")
            yield Markdown(page_text(self._page), open_links=False)
        yield KeyBar()

    def show_lengths(self) -> None:
        """Draw the question in the unit chosen."""
        self.query_one("#here", Drawn).show(self._here)

    def _key_rows(self, width: int) -> list[Line]:
        keys = action_rows([(each.key, each) for each in self._keys], width)
        return [[("Keys that act here", "next")], *keys]


def page_text(page: str) -> str:
    """A page of help, written for one screen."""
    return (files("heelwise.screens") / "pages" / f"{page}.md").read_text(encoding="utf-8")
