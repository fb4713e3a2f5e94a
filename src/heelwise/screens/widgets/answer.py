"""The answer line: which key is an answer, which is typed, and what was wrong last."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.message import Message
from textual.widgets import Input, Static

from heelwise.documents.quantities import with_unit
from heelwise.plain_text import plain
from heelwise.screens.key_actions import key
from heelwise.screens.lengths import lengths_in, option_in
from heelwise.screens.styled_text import content, lines
from heelwise.screens.theme import glyphs
from heelwise.screens.widgets.drawn import TextLine
from heelwise.walk.prompts import Ask, Option, Prompt

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
        if self.chosen is not None:
            return self.chosen.wants[len(self.texts)]
        if self.prompt.ask is Ask.CHOICE:
            return ""
        return self.prompt.reading

    @property
    def example(self) -> str:
        """How it is typed."""
        if self.chosen is None:
            return self.prompt.example
        return self.prompt.example if "length" in self.label else ""

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
        self.texts = (*self.texts, typed.strip())
        if len(self.texts) < len(self.chosen.wants):
            return None
        send = Send(self.chosen.key, self.texts)
        self.texts = self.texts[:-1]
        return send

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
        keys = ", ".join(o.key for o in self.prompt.options)
        if self.prompt.ask is Ask.READING and keys:
            return f"{keys}, or {self.prompt.reading}"
        return keys if self.prompt.ask is Ask.CHOICE else self.prompt.reading


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
        answer = self.query_ancestor(AnswerLine)
        if event.key == "enter":
            # At once: left to bubble, it would come after keys that were pressed after it.
            event.stop()
            event.prevent_default()
            answer.take_enter(event)
        elif answer.take_key(event):
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

        def __init__(self, typed: str) -> None:
            super().__init__()
            self.typed = typed

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
        self._held = HeldKey(held_key_s)
        self._ahead = HeldKey(held_key_s)
        self._sent = False
        self._early = False
        self._since = 0.0

    def compose(self) -> ComposeResult:
        """Options, the line, a remark."""
        yield Static(id="options")
        yield Static(id="asked")
        yield Line(id="line")
        yield Static(id="remark")

    def takes(self, prompt: Prompt) -> bool:
        """Whether an answer to a prompt is taken now."""
        asked = self._answering.prompt if self._answering is not None else None
        return asked is prompt and not self._sent

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

    def ask(self, answering: Answering) -> None:
        """Take answers to this prompt from now on; keys pressed before it stood are no answer."""
        self._answering = answering
        self._sent = False
        self._since = Message().time
        self._ask_next()
        if self._early:
            self.remark(EARLY)
        self._early = False

    def carry_on(self, prompt: Prompt) -> None:
        """Go on where the answering was, if the same question still stands."""
        if self._answering is not None and self._answering.prompt == prompt:
            self._answering.prompt = prompt
        else:
            self.ask(Answering(prompt))

    def show_lengths(self) -> None:
        """Show the options anew in the unit chosen; what is typed stays."""
        answering = self._answering
        if answering is None:
            return
        shown = options(answering, lengths_in(self))
        self.query_one("#options", Static).update(shown)
        label = answering.label[:1].upper() + answering.label[1:]
        unit = f" ({lengths_in(self)}, or with its unit)" if self._takes_length() else ""
        asked = content([(label, "next"), (f"{unit}:", "quiet" if unit else "next")])
        self.query_one("#asked", Static).update(asked)

    def _ask_next(self, typed: str = "") -> None:
        self._line.put(typed)
        self.remark(None)
        self._draw()

    def refuse(self, said: Remark) -> None:
        """Say why an answer was not taken, and take another."""
        self._sent = False
        self.remark(said)

    def remark(self, said: Remark | None) -> None:
        """Say why nothing was answered; what was typed stays."""
        place = self.query_one("#remark", Static)
        place.display = said is not None
        if said is not None:
            parts = [(f"{glyphs().bad} {said.problem}; ", "bad"), (said.instead, "plain")]
            place.update(content(parts))
        self.post_message(self.Grew())

    def take_key(self, event: events.Key) -> bool:
        """Let a key act if it is an option's now."""
        if self._answering is None or event.character is None or not event.is_printable:
            return False
        if self._sent:
            self._early = True
            self._ahead.strays(event.time)
            return True
        if self._came_early(event):
            return True
        if not self._answering.key_acts(event.character, self.typed):
            return self._no_answer(event)
        if self._held.amid_typing(event.time):
            self.remark(AMID_TYPING)
            return True
        if self._held.repeats(event.key, event.time):
            self.remark(Remark("the same key again at once", "press it once more if you meant it"))
            return True
        self._choose(event.character)
        return True

    def take_enter(self, event: events.Key) -> None:
        """Send what was typed, unless Enter belongs to keys that came too early."""
        if not self._sent and not self._came_early(event):
            self.action_send()

    def _came_early(self, event: events.Key) -> bool:
        early = event.time < self._since or self._ahead.amid_typing(event.time)
        if early:
            self._ahead.strays(event.time)
            self.remark(EARLY)
        return early

    def choose(self, option_key: str) -> None:
        """Take an option as if its key had been pressed."""
        if self._answering is not None and self._answering.chosen is None:
            self._choose(option_key)

    def back(self) -> bool:
        """Go back one text; whether there was anything to go back from."""
        if self._answering is None:
            return False
        typed = self._answering.back()
        if typed is None:
            return False
        self._ask_next(typed)
        return True

    def _choose(self, option_key: str) -> None:
        assert self._answering is not None
        send = self._answering.choose(option_key)
        if send is None:
            self._ask_next()
        else:
            self._send(send)

    def _send(self, send: Send) -> None:
        assert self._answering is not None
        self._sent = True
        self.post_message(self.Answered(send, self._answering.prompt))

    def _no_answer(self, event: events.Key) -> bool:
        assert self._answering is not None
        if self._answering.types:
            return False
        self._held.strays(event.time)
        keys = ", ".join(o.key for o in self._answering.prompt.options)
        self.remark(Remark(f"{plain(event.character or '')} isn't an answer here", f"press {keys}"))
        return True

    def on_input_changed(self, event: Input.Changed) -> None:
        """Tell what is typed, if it is a reading."""
        event.stop()
        self.post_message(self.Typing(self.reading))

    def action_send(self) -> None:
        """Send what was typed."""
        if self._answering is None or not self._answering.types or self._sent:
            return
        found = self._answering.entered(self._with_unit())
        if isinstance(found, Remark):
            self.remark(found)
        elif found is None:
            self._ask_next()
        else:
            self._send(found)

    def _takes_length(self) -> bool:
        answering = self._answering
        return answering is not None and " mm" in answering.example

    def _with_unit(self) -> str:
        return with_unit(self.typed, lengths_in(self)) if self._takes_length() else self.typed

    def _draw(self) -> None:
        answering = self._answering
        assert answering is not None
        self.show_lengths()
        asked = self.query_one("#asked", Static)
        asked.display = self._line.display = answering.types
        example = f"{answering.example}, " if answering.example else ""
        self._line.placeholder = plain(f"{example}then Enter")
        if answering.types:
            self.screen.set_focus(self._line)  # at once, so that no key is lost on the way
        else:
            self.screen.set_focus(None)


def options(answering: Answering, unit: str) -> Content:
    """The options by their keys; only the chosen one once one is."""
    prompt, chosen = answering.prompt, answering.chosen
    rows = []
    for one in prompt.options if chosen is None else (chosen,):
        option = option_in(one, unit)
        wants = f" (asks {', '.join(option.wants)})" if option.wants and chosen is None else ""
        rows.append([(f" {option.key} ", "key"), (f" {option.label}", "strong"), (wants, "quiet")])
    return lines(rows)
