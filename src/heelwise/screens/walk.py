"""The walk: one question, its answer line, the verdict at once, and what was read so far."""

from collections.abc import Callable
from functools import partial
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.message import Message
from textual.screen import Screen

from heelwise.plain_text import Part
from heelwise.screens import walk_view as view
from heelwise.screens.answer import AnswerLine
from heelwise.screens.drawn import Drawn, Picture
from heelwise.screens.key_actions import LENGTHS_KEY, KeyAction, KeyBar, key
from heelwise.screens.modals import AskScreen, keep
from heelwise.screens.placard import ROOMY, time_left
from heelwise.screens.styled_text import content, lengths_in
from heelwise.screens.theme import bare
from heelwise.screens.walk_beside import beside_rows
from heelwise.session import Session
from heelwise.valvetrain.engine import Valve
from heelwise.valvetrain.turn import landmark
from heelwise.walk.prompts import Ask, Refused
from heelwise.walk.walker import Feedback
from heelwise.wording import painted


class Left(Vertical):
    """The question's column, which is filled anew when there is more room or less."""

    def on_resize(self) -> None:
        """Tell so, as the answer line does."""
        self.post_message(AnswerLine.Changed())


class WalkScreen(Screen[None]):
    """Shows the prompt that stands and keeps what it is answered."""

    CSS_PATH = "walk.tcss"
    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What is asked here, why, and every key.", shown=True),
        key("f2", "record", "Record", "The record so far, entry by entry.", shown=True),
        key("f3", "crank", "Crank?", "The crank has moved, or you aren't sure of it.", shown=True),
        key("f4", "cross_out", "Cross out", "Cross out an entry, with a reason.", shown=True),
        key("f5", "pause", "Pause", "Stop for now; you pick up from here.", shown=True),
        key("f6", "sheet", "Sheet", "The record laid out.", shown=True),
        key("f7", "note", "Note", "Add a note on the build or on a valve.", shown=True),
        key("f8", "hand_over", "Hand over", "Someone else takes over.", shown=True),
        key("f9", "pushrods", "Pushrods", "Counts against the window, what to buy.", shown=True),
        key("tab", "picture", "Picture", "Crank and cam cycle large, with a ghost crank."),
        LENGTHS_KEY,
        key("pagedown", "more(1)", "More", "Scroll down the why and the figures."),
        key("pageup", "more(-1)", "Back up", "Scroll up the why and the figures."),
        key("escape", "back", "More", "Back one step; else list all you can do.", shown=True),
    ]

    class HoldChanged(Message):
        """A hold began, or is over."""

        def __init__(self, title: str, *, over: bool) -> None:
            super().__init__()
            self.title, self.over = title, over

    def __init__(self, session: Session, held_key_s: float) -> None:
        super().__init__()
        self.session = session
        self._held_key_s = held_key_s
        self._last: Feedback | None = None
        self._holding = False
        self._found = ""

    def compose(self) -> ComposeResult:
        """The top lines over two columns: the question and its answer; what was read so far."""
        yield Drawn(id="top")
        with Horizontal(id="middle"):
            with Left(id="left"):
                yield Drawn(id="above")
                yield AnswerLine(self._held_key_s)
                yield Drawn(id="told")
                with VerticalScroll(id="more", can_focus=False):
                    yield Drawn(id="reason")
            yield Picture(id="right")
        yield KeyBar()

    def on_mount(self) -> None:
        """Show the prompt; look at the clock once a second while one waits."""
        self.set_class(bare(), "bare")
        self.show()
        self.watch(self.app, "lengths", self.show_lengths, init=False)
        self.set_interval(1.0, self._tick)

    @property
    def _answer(self) -> AnswerLine:
        return self.query_one(AnswerLine)

    def show(self, feedback: Feedback | None = None) -> None:
        """Show the prompt that stands now, and what the last answer came to."""
        self._last = feedback or self._last
        self._answer.ask(self.session.walker.prompt)
        self._show()

    def _show(self) -> None:
        session, unit = self.session, lengths_in(self)
        prompt, scene = session.walker.prompt, session.walker.scene
        sensed = None if session.walker.closed else session.sense()
        self._found = painted(sensed.report, unit) if sensed else ""
        self.query_one("#top", Drawn).show(lambda width: view.top_rows(session, width, unit))
        self.query_one("#reason", Drawn).show(lambda width: view.reason_rows(session, width, unit))
        self.query_one("#right", Picture).show(
            lambda width, height: beside_rows(prompt, scene, width, height, unit)
        )
        self.query_one("#more").scroll_home(animate=False)
        self._fit()
        self.refresh_bindings()

    def _fit(self) -> None:
        """Show all with air, then let that and what is large give way to question and answer."""
        if not self.is_attached:
            return  # left in between
        left, answer, tall = self.query_one("#left"), self._answer, self.app.size.height >= ROOMY
        width, height = left.content_size
        if answer.sent or not width:
            return
        prompt, taken, unit = self.session.walker.prompt, answer.height(width), lengths_in(self)
        large = view.large_parts(self.session, answer.reading, width, unit)
        for left_out in range(view.AIRY, view.TERSE + 1):
            room = view.Room(width, unit, tall, left_out)
            above = view.above_rows(prompt, large, self._found, room)
            told = view.told_rows(self._last, prompt.question, room)
            if height - len(above) - taken - len(told) >= view.SPARE[left_out]:
                break
        self.query_one("#above", Drawn).show(lambda _: above)
        self.query_one("#told", Drawn).show(lambda _: told)

    def show_lengths(self) -> None:
        """Show the prompt anew in the unit chosen; what is typed stays."""
        self._answer.show_options()
        self._show()

    def _tick(self) -> None:
        prompt = self.session.walker.prompt
        if prompt.wait_until is not None:
            self._fit()
        holding = bool(time_left(prompt, self.session.walker.now()))
        if holding != self._holding:
            self._holding = holding
            title = "Heelwise: holding" if holding else "Heelwise: the hold is over"
            self.post_message(self.HoldChanged(title, over=not holding))

    def on_key(self, event: events.Key) -> None:
        """A key of an option acts; Enter alone answers nothing."""
        if self.focused is None and self._answer.take_key(event):
            event.stop()

    def on_answer_line_changed(self) -> None:
        """Show a reading large while it is typed."""
        self._fit()

    def on_answer_line_answered(self, event: AnswerLine.Answered) -> None:
        """Keep an answer, then show what it came to and the next question."""
        walker = self.session.walker
        if event.prompt is walker.prompt:  # else another question stands by now
            act = partial(walker.reply, event.answer, event.texts)
            keep(self, self.session, act, self._went_on, self._refused)

    def _went_on(self, feedback: Feedback) -> None:
        """Tell what the answer came to at once; the next question when that is painted."""
        self._last, above = feedback, self.query_one("#above", Drawn)
        width, unit = above.content_size.width, lengths_in(self)
        told = view.told_rows(feedback, "", view.Room(width, unit))
        asked = above.rows(width)
        rows = [*told, *asked][: max(len(told), len(asked))]
        above.show(lambda _: rows)  # mostly as many as before: nothing is laid out anew
        above.call_after_refresh(self.go_on)

    def go_on(self) -> None:
        """Show the next question, once what the answer came to is painted."""
        if self.is_attached:  # else it was left in between
            self.show()
            if self.session.walker.closed:
                self.action_sheet()

    def _refused(self, fault: Refused) -> None:
        self._answer.refuse(fault.problem, fault.instead)

    # ------------------------------------------------------------------ keys

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only what can be done now, and tells a second person nothing of the first one's."""
        walker = self.session.walker
        if action in ("cross_out", "pause", "note", "hand_over", "crank"):
            return not walker.closed and (action != "crank" or walker.state.crank is not None)
        if action == "pushrods":
            valves = walker.state.valves.values()
            read = any(each.trials or each.reads or each.checked for each in valves)
            return walker.build.method.clicks and read and not walker.prompt.blind
        return action not in ("record", "sheet") or not walker.prompt.blind

    def action_more(self, pages: int) -> None:
        """Scroll the reason and the figures."""
        more = self.query_one("#more", VerticalScroll)
        more.scroll_relative(y=pages * max(more.size.height - 1, 1), animate=False)

    def action_back(self) -> None:
        """Back one text; where there is none, everything that can be done."""
        if not self._answer.back():
            self.app.call_later(self.app.run_action, "app.menu")

    def action_crank(self) -> None:
        """Say that the crank's place is not sure, and why."""
        walker = self.session.walker
        at = walker.scene.at_deg
        about: list[Part] = [
            ("The walk thinks it is at ", "plain"),
            (f"{at:g}°", "strong"),
            (f": {landmark(walker.build.engine, at)}.\n", "plain"),
            ("You'll find where it really is by feeling lifters.", "plain"),
        ]
        self._ask("Where is the crank?", about, ("what happened",), walker.lose_crank)

    def action_note(self) -> None:
        """Add a note, and the valve it is about."""
        walker = self.session.walker

        def valve_of(text: str) -> Valve | None:
            names = {str(valve).lower(): valve for valve in walker.state.valves}
            if text and text.lower() not in names:
                raise Refused(f"there is no valve {text}", f"like {next(iter(names.values()))}")
            return names.get(text.lower())

        valve = walker.prompt.valve or walker.build.engine.valves[0]
        wants = (
            f"which valve ({valve}, say); leave blank for the whole build",
            "the note",
            "photo file name; leave blank for none",
        )
        about: list[Part] = [("Anything worth knowing later. It stays with the record.", "plain")]

        def act(of: str, text: str, photo: str) -> Feedback:
            return walker.note(text, valve_of(of), photo)

        self._ask("A note", about, wants, act, valve_of)

    def action_hand_over(self) -> None:
        """Let another person go on."""
        walker = self.session.walker
        about: list[Part] = [("Their initials go on every entry from here.", "plain")]
        wants = ("initials of whoever is taking over",)
        self._ask(f"{walker.by} hands over", about, wants, walker.hand_over)

    def _ask(
        self,
        title: str,
        about: list[Part],
        wants: tuple[str, ...],
        act: Callable[..., Feedback],
        check_first: Callable[[str], object] = str,
    ) -> None:
        asking = AskScreen(self.session, title, content(about), wants, act, check_first)
        self.app.push_screen(asking, self._after)

    def _after(self, feedback: Feedback | None) -> None:
        if feedback is not None:
            self._last = feedback
            self._show()
            self._answer.carry_on(self.session.walker.prompt)

    def action_pause(self) -> None:
        """Pause and go back to the bench."""
        self.pause_then(partial(self.app.run_action, "app.leave_for_bench"))

    def pause_then(self, then: Callable[[], object]) -> None:
        """Keep that work was paused, then do what comes after it."""
        act = self.session.walker.pause
        keep(self, self.session, act, lambda _: self.app.call_later(then), self._refused)

    def action_record(self) -> None:
        """Show the record entry by entry."""
        from heelwise.screens.timeline import TimelineScreen

        self.app.push_screen(TimelineScreen(self.session), self._after)

    def action_cross_out(self) -> None:
        """Choose an entry to cross out."""
        self.action_record()

    def action_sheet(self) -> None:
        """Show the record laid out."""
        from heelwise.screens.reading import SheetScreen  # the layout of sheets, once one is wanted

        self.app.push_screen(SheetScreen(self.session.record.as_record()))

    def action_picture(self) -> None:
        """Show the crank and the cam cycle large."""
        from heelwise.screens.crank_picture import CrankPicture

        self.app.push_screen(CrankPicture(self.session.walker.scene))

    def action_pushrods(self) -> None:
        """Show what was read against the window."""
        from heelwise.screens.reading import PushrodsScreen

        self.app.push_screen(PushrodsScreen(self.session.walker.scene))

    # ------------------------------------------------- for the help and the menu

    def here(self, width: int) -> list[list[Part]]:
        """The prompt in full, for the help."""
        return view.in_full(self.session.walker.prompt, width, lengths_in(self))

    def options_now(self) -> list[KeyAction]:
        """Options that no key of theirs reaches now: those of a prompt that takes a note."""
        prompt = self.session.walker.prompt

        async def choose(option_key: str) -> None:
            self._answer.choose(option_key)

        options = prompt.options if prompt.ask is Ask.NOTE else ()
        return [KeyAction(o.key, "Answer", o.label, False, partial(choose, o.key)) for o in options]
