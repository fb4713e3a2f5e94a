"""The answer line: which key is an answer, which is typed, and what was wrong last."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.message import Message
from textual.widgets import Input, Static

from heelwise.documents.quantities import with_unit
from heelwise.plain_text import Part, plain, wrapped
from heelwise.screens.drawn import Drawn, TextLine
from heelwise.screens.key_actions import key
from heelwise.screens.styled_text import content, lengths_in
from heelwise.screens.theme import glyphs
from heelwise.walk.prompts import Ask, Option, Prompt
from heelwise.wording import painted

HELD_KEY_S = 0.4
"""A key that comes again within this time is taken to be held down."""


@dataclass(frozen=True)
class Send:
    """An answer that is complete."""

    answer: str
    texts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Remark:
    """Nothing is answered; this is why."""

    problem: str
    instead: str


class Answering:
    """How far the answering of one prompt has got."""

    def __init__(self, prompt: Prompt) -> None:
        self.prompt = prompt
        self.chosen: Option | None = None
        self.texts: tuple[str, ...] = ()

    @property
    def types(self) -> bool:
        """Whether something can be typed now."""
        return self.chosen is not None or self.prompt.ask is not Ask.CHOICE

    @property
    def label(self) -> str:
        """What the line asks for now."""
        return self.prompt.reading if self.chosen is None else self.chosen.wants[len(self.texts)]

    @property
    def example(self) -> str:
        """How it is typed."""
        return self.prompt.example if self.chosen is None or "length" in self.label else ""

    def key_acts(self, key: str, typed: str) -> bool:
        """Whether a key is an option's now, and not the first letter of something typed."""
        if self.chosen is not None or typed:
            return False
        return self.prompt.ask is not Ask.NOTE and self.prompt.option(key) is not None

    def choose(self, key: str) -> Send | None:
        """Take an option: complete at once, or the first text it wants is asked for."""
        option = self.prompt.option(key)
        if option is None:
            return None
        if not option.wants:
            return Send(option.key)
        self.chosen, self.texts = option, ()
        return None

    def entered(self, typed: str) -> Send | Remark | None:
        """Take what was typed when it is sent off."""
        if not typed.strip():
            return Remark("nothing was typed", self._instead())
        if self.chosen is None:
            return Send(typed.strip())
        texts = (*self.texts, typed.strip())
        if len(texts) == len(self.chosen.wants):
            return Send(self.chosen.key, texts)
        self.texts = texts
        return None

    def back(self) -> str | None:
        """Go back one text."""
        if self.chosen is None:
            return None
        if not self.texts:
            self.chosen = None
            return ""
        *kept, last = self.texts
        self.texts = tuple(kept)
        return last

    def _instead(self) -> str:
        if self.chosen is not None:
            return f"{self.label}; Esc goes back"
        if self.prompt.ask is Ask.NOTE:
            return self.prompt.reading
        keys = [", ".join(option.key for option in self.prompt.options)]
        return ", or ".join(filter(None, [*keys, self.prompt.reading]))


class HeldKey:
    """Tells a key that is held down, or one amid other typing, from one pressed to answer."""

    def __init__(self, within_s: float = HELD_KEY_S) -> None:
        self._within_s = within_s
        self._last = ("", float("-inf"))
        self._stray = float("-inf")

    def strays(self, at_s: float) -> None:
        """A key was pressed that is no answer: somebody is typing a word meant for elsewhere."""
        self._stray = at_s

    def amid_typing(self, at_s: float) -> bool:
        """Whether a key comes so soon after a stray one that it belongs to the same word."""
        amid = at_s - self._stray < self._within_s
        if amid:
            self._stray = at_s
        return amid

    def repeats(self, key: str, at_s: float) -> bool:
        """Whether this key press is one key held down."""
        before, when = self._last
        self._last = (key, at_s)
        return key == before and at_s - when < self._within_s


AMID_TYPING = Remark(
    "that came in the middle of other typing", "press it by itself if you meant it"
)
EARLY = Remark("keys pressed before this question came up were ignored", "answer it now")


class Line(TextLine):
    """The line of an answer: a key that is an option's acts before it is typed."""

    async def _on_key(self, event: events.Key) -> None:
        if self.query_ancestor(AnswerLine).take_key(event):
            event.stop()
            event.prevent_default()


class AnswerLine(Vertical):
    """Takes the answer to one prompt at a time."""

    DEFAULT_CSS = """
    AnswerLine { height: auto; }
    AnswerLine Static { height: auto; }
    AnswerLine Line { width: 1fr; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        key("enter", "send", "Send", "Send what was typed. Enter alone answers nothing."),
    ]

    class Typing(Message):
        """Something is typed."""

    class Grew(Message):
        """A remark came or went, so that the line takes more room or less."""

    class Answered(Message):
        """A complete answer to one prompt, and to no other that has come since."""

        def __init__(self, send: Send, prompt: Prompt) -> None:
            super().__init__()
            self.send, self.prompt = send, prompt

    def __init__(self, *, held_key_s: float, id: str | None = None) -> None:
        super().__init__(id=id)
        self._answering: Answering | None = None
        self._held, self._ahead = HeldKey(held_key_s), HeldKey(held_key_s)
        self._sent = False
        self.early = False
        """Whether a key came before the question that is to come."""
        self.asked_s = 0.0
        """When the question was put; a key pressed before is no answer to it."""

    def compose(self) -> ComposeResult:
        """Options, the line, a remark."""
        yield Drawn(id="options")
        yield Static(id="asked")
        yield Line(id="line")
        yield Static(id="remark")

    def takes(self, prompt: Prompt) -> bool:
        """Whether an answer to a prompt is taken now."""
        return self._answering is not None and self._answering.prompt is prompt and not self._sent

    @property
    def typed(self) -> str:
        """What stands in the line."""
        return self._line.value

    @property
    def reading(self) -> str:
        """What is typed, if it is a reading and no text an option wants."""
        taking = self._answering is not None and self._answering.chosen is None
        return self.typed if taking else ""

    @property
    def _line(self) -> Line:
        return self.query_one(Line)

    # ------------------------------------------------------------- what is asked

    def ask(self, prompt: Prompt) -> None:
        """Take answers to this prompt from now on; keys pressed before it stood are no answer."""
        self._answering, self._sent, self.asked_s = Answering(prompt), False, Message().time
        self._ask_next()
        if self.early:
            self.remark(EARLY)
        self.early = False

    def carry_on(self, prompt: Prompt) -> None:
        """Go on where the answering was, if the same question still stands."""
        if self._answering is not None and self._answering.prompt == prompt:
            self._answering.prompt = prompt
        else:
            self.ask(prompt)

    def _ask_next(self, typed: str = "") -> None:
        answering = self._answering
        assert answering is not None
        self._line.put(typed)
        self.remark(None)
        self.show_lengths()
        self.query_one("#asked").display = self._line.display = answering.types
        example = f"{answering.example}, " if answering.example else ""
        self._line.placeholder = plain(f"{example}then Enter")
        # at once, so that no key is lost on the way
        self.screen.set_focus(self._line if answering.types else None)

    def show_lengths(self) -> None:
        """Show the options anew in the unit chosen; what is typed stays."""
        answering, unit = self._answering, lengths_in(self)
        if answering is None:
            return
        self.query_one("#options", Drawn).show(lambda width: option_rows(answering, unit, width))
        label = answering.label[:1].upper() + answering.label[1:]
        asked: list[Part] = [(label, "next"), (":", "next")]
        if self._takes_length():
            asked[1:] = [(f" ({unit}, or with its unit):", "quiet")]
        self.query_one("#asked", Static).update(content(asked))

    def _takes_length(self) -> bool:
        return self._answering is not None and " mm" in self._answering.example

    # ------------------------------------------------------------ what is answered

    def refuse(self, remark: Remark) -> None:
        """Say why an answer was not taken, and take another."""
        self._sent = False
        self.remark(remark)

    def remark(self, remark: Remark | None) -> None:
        """Say why nothing was answered; what was typed stays."""
        place = self.query_one("#remark", Static)
        place.display = remark is not None
        if remark is not None:
            parts = [(f"{glyphs().bad} {remark.problem}; ", "bad"), (remark.instead, "plain")]
            place.update(content(parts))
        self.post_message(self.Grew())

    def take_key(self, event: events.Key) -> bool:
        """Let a key act if it is an option's now, or Enter; whether it is not to be typed."""
        answering = self._answering
        if event.key == "enter":
            # At once: left to bubble, it would come after keys that were pressed after it.
            if not self._sent and not self._came_early(event):
                self.action_send()
            return True
        if answering is None or event.character is None or not event.is_printable:
            return False
        if self._sent:
            self.early = True
            self._ahead.strays(event.time)
        elif self._came_early(event):
            pass
        elif not answering.key_acts(event.character, self.typed):
            if answering.types:
                return False
            self._held.strays(event.time)
            keys = ", ".join(option.key for option in answering.prompt.options)
            self.remark(Remark(f"{plain(event.character)} isn't an answer here", f"press {keys}"))
        elif self._held.amid_typing(event.time):
            self.remark(AMID_TYPING)
        elif self._held.repeats(event.key, event.time):
            self.remark(Remark("the same key again at once", "press it once more if you meant it"))
        else:
            self.choose(event.character)
        return True

    def _came_early(self, event: events.Key) -> bool:
        early = event.time < self.asked_s or self._ahead.amid_typing(event.time)
        if early:
            self._ahead.strays(event.time)
            self.remark(EARLY)
        return early

    def choose(self, option_key: str) -> None:
        """Take an option, where none is taken yet."""
        if self._answering is not None and self._answering.chosen is None:
            self._next(self._answering.choose(option_key))

    def back(self) -> bool:
        """Go back one text; whether there was anything to go back from."""
        typed = None if self._answering is None else self._answering.back()
        if typed is None:
            return False
        self._ask_next(typed)
        return True

    def on_input_changed(self, event: Input.Changed) -> None:
        """Tell that something is typed."""
        event.stop()
        self.post_message(self.Typing())

    def action_send(self) -> None:
        """Send what was typed."""
        answering = self._answering
        if answering is None or self._sent:
            return
        if not answering.types:
            self.remark(Remark("Enter alone answers nothing here", "press a key shown"))
            return
        typed = with_unit(self.typed, lengths_in(self)) if self._takes_length() else self.typed
        self._next(answering.entered(typed))

    def _next(self, given: Send | Remark | None) -> None:
        if isinstance(given, Remark):
            self.remark(given)
        elif given is None:
            self._ask_next()
        else:
            assert self._answering is not None
            self._sent = True
            self.post_message(self.Answered(given, self._answering.prompt))


def option_rows(answering: Answering, unit: str, width: int) -> list[list[Part]]:
    """The options by their keys; only the chosen one once one is."""
    chosen, rows = answering.chosen, []
    for option in answering.prompt.options if chosen is None else (chosen,):
        wants = f" (asks {', '.join(option.wants)})" if option.wants and chosen is None else ""
        words: list[Part] = [(painted(option.label, unit), "strong"), (wants, "quiet")]
        first, *more = wrapped(words, width - 4)
        rows += [[(f" {option.key} ", "key"), (" ", "plain"), *first]]
        rows += [[("    ", "plain"), *line] for line in more]
    return rows
