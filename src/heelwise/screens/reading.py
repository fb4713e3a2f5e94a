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
from heelwise.plain_text import Part, all_wrapped, one_line, wrapped
from heelwise.screens.drawn import DrawLines, Drawn
from heelwise.screens.key_actions import LENGTHS_KEY, KeyAction, KeyBar, key
from heelwise.screens.styled_text import content, lengths_in
from heelwise.sheet.compare import comparison
from heelwise.sheet.contents import sheet_of
from heelwise.sheet.pushrod_words import pushrod_sections
from heelwise.sheet.text import Line, section_lines
from heelwise.walk.buying import set_of
from heelwise.walk.scene import Scene


class PageScreen(Screen[None]):
    """A page to be read; it gives its title and its lines."""

    CSS_PATH = "reading.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this shows, and every key.", shown=True),
        key("down", "scroll(3)", "Scroll", "Scroll down; Up scrolls back.", shown=True, told="↑↓"),
        key("up", "scroll(-3)", "Up", "Scroll up."),
        key("pagedown,space", "page(1)", "Page", "A screenful on.", shown=True),
        key("pageup", "page(-1)", "Page up", "A screenful back."),
        key("home", "page(-1000)", "Top", "To the top."),
        key("end", "page(1000)", "End", "To the end."),
        key("escape", "back", "Back", "Back to where you were.", shown=True),
    ]

    def title_parts(self) -> list[Part]:
        """The line above the page."""
        raise NotImplementedError

    def page_lines(self, width: int) -> list[list[Part]]:
        """The page for a width."""
        raise NotImplementedError

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
        self.query_one("#title", Static).update(content(self.title_parts()))
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
        LENGTHS_KEY,
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

    BINDINGS: ClassVar[list[BindingType]] = [
        LENGTHS_KEY,
        key("f6", "back", "Back", "Back to the bench."),
    ]

    def __init__(self, records: Sequence[Record]) -> None:
        super().__init__()
        self._sections = comparison(records)

    def title_parts(self) -> list[Part]:
        """What this is."""
        return [("Compared", "next"), ("  what changed, and what the readings can tell", "plain")]

    def page_lines(self, width: int) -> list[Line]:
        """The records, what stands out, valve by valve."""
        return section_lines(self._sections, width, lengths_in(self))


SIGNS = (
    (ValveSign.INSIDE, "inside"),
    (ValveSign.NEAR, "near a limit"),
    (ValveSign.SHORT, "short"),
    (ValveSign.LONG, "long"),
)


class PushrodsScreen(PageScreen):
    """Readings, order and what to expect, as short tables."""

    BINDINGS: ClassVar[list[BindingType]] = [
        LENGTHS_KEY,
        key("f9", "back", "Back", "Back to the question."),
    ]

    def __init__(self, scene: Scene) -> None:
        super().__init__()
        pushrods = set_of(scene)
        self._sections = pushrod_sections(pushrods, pushrods.order())

    def title_parts(self) -> list[Part]:
        """What this is."""
        return [("Pushrods", "next"), ("  what was read, what to try, what to buy", "plain")]

    def page_lines(self, width: int) -> list[Line]:
        """The tables, and what the signs in them mean."""
        legend: Line = [
            ("[ ]", "good"),
            (" window  ", "quiet"),
            ("!", "bad"),
            (" never past  ", "quiet"),
        ]
        for sign, words in SIGNS:
            mark = sign.shape
            legend += [(mark, sign), (f" {words}  ", "quiet")]
        return [
            *section_lines(self._sections, width, lengths_in(self)),
            [],
            legend,
        ]


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

    def __init__(self, page: str, keys: list[KeyAction], here: DrawLines | None = None) -> None:
        super().__init__()
        self._page, self._keys, self._here = page, keys, here

    def compose(self) -> ComposeResult:
        """The question, where there is one; the keys; the page."""
        with VerticalScroll(id="page", can_focus=False):
            if self._here is not None:
                yield Drawn(self._here, id="here")
            yield Drawn(self._key_rows, id="keys")
            yield Markdown(page_text(self._page), open_links=False)
        yield KeyBar()

    def show_lengths(self) -> None:
        """Nothing here is made for a unit."""

    def _key_rows(self, width: int) -> list[Line]:
        rows: list[Line] = [[("Keys that act here", "next")]]
        for each in self._keys:
            start: Line = [(f"{each.key:>6}  ", "next"), (f"{each.label:<13}", "strong")]
            rows += wrapped([*start, (each.help, "plain")], width, 21)
        return rows


def page_text(page: str) -> str:
    """A page of help, written for one screen."""
    return (files("heelwise.screens") / "pages" / f"{page}.md").read_text(encoding="utf-8")
