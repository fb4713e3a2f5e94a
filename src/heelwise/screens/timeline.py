"""The record entry by entry: what was crossed out stays readable, and more can be crossed out."""

from functools import partial
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from heelwise.documents.entries import Answered, AnyEntry, BackedOff, Crank, Held, Unloaded
from heelwise.plain_text import Part, one_line
from heelwise.screens.drawn import Rows
from heelwise.screens.key_actions import LENGTHS_KEY, KeyBar, key
from heelwise.screens.modals import AskScreen
from heelwise.screens.styled_text import content, lengths_in, lines
from heelwise.session import Session
from heelwise.sheet.words import WALKS_OWN, entry_valves, entry_words
from heelwise.valvetrain.engine import Valve
from heelwise.walk.state import BuildState
from heelwise.walk.walker import Feedback, can_be_crossed_out
from heelwise.wording import painted


class TimelineScreen(Screen[Feedback]):
    """Every entry, the latest last."""

    CSS_PATH = "timeline.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this shows, and every key.", shown=True),
        key("f4", "cross_out", "Cross out", "Cross out what is pointed at.", shown=True),
        key("v", "valve", "Valve", "One valve's entries, the next's, all.", shown=True),
        LENGTHS_KEY,
        key("escape", "back", "Back", "Back to the question.", shown=True),
    ]

    def __init__(self, session: Session) -> None:
        super().__init__()
        self._session = session
        self._procedure = session.walker.build.procedure
        self._valve: Valve | None = None
        self._entries: list[AnyEntry] = []

    def compose(self) -> ComposeResult:
        """A title, the rows, the entry pointed at in full."""
        yield Static(id="title")
        yield Rows()
        yield Static(id="whole")
        yield KeyBar()

    def on_mount(self) -> None:
        """Show all entries, pointing at the last of the engine's that can be crossed out."""
        self._fill()
        self.query_one(Rows).focus()
        self.watch(self.app, "lengths", self.show_lengths)

    @property
    def _state(self) -> BuildState:
        return self._session.walker.state

    def _fill(self) -> None:
        entries, of = self._state.entries, self._valve
        self._entries = [e for e in entries if of is None or str(of) in entry_valves(e)]
        open_ones = [n for n, e in enumerate(self._entries) if self._can_go(e)]
        told = [n for n in open_ones if not _is_bookkeeping(self._entries[n])] or open_ones
        cursor = told[-1] if told else len(self._entries) - 1
        self.query_one(Rows).show(len(self._entries), self._row, cursor)
        whose = f"Entries of {self._valve}" if self._valve else "The record so far"
        about = f"  {len(self._entries)} entries  "
        about += "" if self._session.walker.closed else "Enter crosses out what is pointed at."
        title: list[Part] = [(f" {whose}", "next"), (about, "quiet")]
        self.query_one("#title", Static).update(content(title))
        self.refresh_bindings()

    def _can_go(self, entry: AnyEntry) -> bool:
        open_still = not self._session.walker.closed and self._state.counts(entry)
        return open_still and can_be_crossed_out(entry.body)

    def _row(self, number: int, width: int) -> list[Part]:
        entry = self._entries[number]
        start = f"{entry.number:>4} {entry.at:%b %d %H:%M} {one_line(entry.by, 6):<6} "
        fate = "" if self._state.counts(entry) else " ✗ no longer counts"
        if entry.number in self._state.crossed:
            fate = " ✗ crossed out"
        words = painted(entry_words(entry, self._procedure), lengths_in(self))
        shown = one_line(words, max(width - len(start) - len(fate), 8))
        tone = "gone" if fate else "plain"
        return [(start, "quiet"), (shown, tone), (fate, "bad")]

    def on_rows_moved(self, event: Rows.Moved) -> None:
        """Show the entry pointed at in full."""
        event.stop()
        self.show_lengths()
        self.refresh_bindings()

    def show_lengths(self) -> None:
        """Show the rows, and the entry pointed at in full, in the unit chosen."""
        rows = self.query_one(Rows)
        rows.refresh()
        if self._entries:
            whole = self._whole(self._entries[rows.cursor])
            self.query_one("#whole", Static).update(whole)

    def on_rows_chosen(self, event: Rows.Chosen) -> None:
        """Cross the entry out that was taken, if it can be."""
        event.stop()
        if self.check_action("cross_out", ()):
            self.action_cross_out()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only what can be done to the entry pointed at."""
        if action != "cross_out":
            return True
        cursor = self.query_one(Rows).cursor
        return bool(self._entries) and self._can_go(self._entries[cursor])

    def action_cross_out(self) -> None:
        """Ask for the reason, then cross out."""
        entry = self._entries[self.query_one(Rows).cursor]
        act = partial(self._session.walker.cross_out, entry.number)

        def crossed(feedback: Feedback | None) -> None:
            if feedback is not None:
                self.dismiss(feedback)

        title, about = f"Cross out entry {entry.number}", self._whole(entry)
        ask = AskScreen(self._session, title, about, ("the reason",), act)
        self.app.push_screen(ask, crossed)

    def action_valve(self) -> None:
        """Show the next valve's entries; after the last valve, all of them."""
        every: list[Valve | None] = [None, *self._state.valves]
        self._valve = every[(every.index(self._valve) + 1) % len(every)]
        self._fill()

    def action_back(self) -> None:
        """Back without a change."""
        self.dismiss(None)

    def _whole(self, entry: AnyEntry) -> Content:
        """An entry in full, with what became of it and why."""
        state = self._state
        start = f"{entry.at:%Y-%m-%d %H:%M} {entry.by}  "
        words = painted(entry_words(entry, self._procedure), lengths_in(self))
        rows: list[list[Part]] = [
            [(f"{entry.number} ", "strong"), (start, "quiet"), (words, "plain")]
        ]
        struck = state.crossed.get(entry.number)
        if struck is not None:
            who = f"crossed out by {struck.by} at {struck.at:%Y-%m-%d %H:%M}: "
            rows.append([(who, "bad"), (getattr(struck.body, "reason", ""), "plain")])
        elif not state.counts(entry):
            gone = ", ".join(str(n) for n in entry.rests_on if n in state.void)
            rows.append([(f"no longer counts: it depended on {gone}", "bad")])
        elif entry.rests_on:
            rows.append([(f"depends on {', '.join(map(str, entry.rests_on))}", "quiet")])
        return lines(rows)


def _is_bookkeeping(entry: AnyEntry) -> bool:
    body = entry.body
    if isinstance(body, Answered):
        return body.step.startswith(WALKS_OWN)
    return isinstance(body, Crank | Held | Unloaded | BackedOff)
