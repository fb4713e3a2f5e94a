"""The answer line: which key is an answer, which is typed, and what was wrong last."""

from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.message import Message
from textual.widgets import Input

from heelwise.documents.quantities import MEASURES, with_unit
from heelwise.plain_text import Part, plain, wrapped
from heelwise.screens.drawn import Drawn, TextLine
from heelwise.screens.key_actions import key
from heelwise.screens.styled_text import fault_parts, lengths_in
from heelwise.walk.prompts import Ask, Option, Prompt
from heelwise.wording import painted

HELD_KEY_S = 0.4
"""A key that comes again within this time is taken to be held down."""

EARLY = "keys pressed before this question came up were ignored", "answer it now"
TOO_SOON = "that came right behind another key", "press it by itself if you meant it"
NEVER = float("-inf")
STRAY = ""
"""Stands for the last key where that was no answer: whatever follows at once is typed as well."""


class Line(TextLine):
    """The line of an answer: a key that is an option's acts before it is typed."""

    async def _on_key(self, event: events.Key) -> None:
        if self.query_ancestor(AnswerLine).take_key(event):
            event.stop()
            event.prevent_default()


class AnswerLine(Vertical):
    """Takes the answer to one prompt at a time."""

    DEFAULT_CSS = "AnswerLine { height: auto; } AnswerLine Line { width: 1fr; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("enter", "send", "Send", "Send what was typed. Enter alone answers nothing."),
    ]

    class Changed(Message):
        """Something is typed, or the line takes more room or less."""

    class Answered(Message):
        """A complete answer to one prompt, and to no other that has come since."""

        def __init__(self, prompt: Prompt, answer: str, texts: tuple[str, ...] = ()) -> None:
            super().__init__()
            self.prompt, self.answer, self.texts = prompt, answer, texts

    def __init__(self, held_key_s: float) -> None:
        super().__init__(id="answer")
        self.prompt: Prompt | None = None
        self.sent = False
        """Whether the prompt is answered: the next is on its way."""
        self.early = False
        """Whether a key came before the question that is to come."""
        self.asked_s = 0.0
        """When the question was put; a key pressed before is no answer to it."""
        self._chosen: Option | None = None
        self._texts: tuple[str, ...] = ()
        self._held_key_s = held_key_s
        self._last = (STRAY, NEVER)
        self._early_s = NEVER

    def compose(self) -> ComposeResult:
        """Options, the line, a remark."""
        yield Drawn(self._options, id="options")
        yield Line(id="line")
        yield Drawn(id="remark")

    @property
    def typed(self) -> str:
        """What stands in the line."""
        return self.query_one(Line).value

    @property
    def reading(self) -> str:
        """What is typed, if it is a reading and no text an option wants."""
        return self.typed if self._chosen is None else ""

    @property
    def _types(self) -> bool:
        return self._chosen is not None or bool(self.prompt and self.prompt.ask is not Ask.CHOICE)

    @property
    def _label(self) -> str:
        assert self.prompt is not None
        return self.prompt.reading if self._chosen is None else self._chosen.wants[len(self._texts)]

    @property
    def _example(self) -> str:
        if self._chosen is None or self.prompt is None:
            return self.prompt.example if self.prompt else ""
        # What an option asks for besides has no example of its own.
        return MEASURES["length"].example if "length" in self._label else ""

    def height(self, width: int) -> int:
        """Rows it takes at a width."""
        return self._types + sum(len(part.rows(width)) for part in self.query(Drawn))

    # ------------------------------------------------------------- what is asked

    def ask(self, prompt: Prompt) -> None:
        """Take answers to this prompt from now on; keys pressed before it stood are no answer."""
        self.prompt, self.sent, self.asked_s = prompt, False, Message().time
        self._chosen, self._texts = None, ()
        self._ask_next()
        if self.early:
            self.remark(*EARLY)
        self.early = False

    def carry_on(self, prompt: Prompt) -> None:
        """Go on where the answering was, if the same question still stands."""
        if self.prompt == prompt:
            self.prompt = prompt
        else:
            self.ask(prompt)

    def _ask_next(self, typed: str = "") -> None:
        line = self.query_one(Line)
        line.put(typed)
        line.display = self._types
        line.placeholder = plain(", ".join(filter(None, [self._example, "then Enter"])))
        # at once, so that no key is lost on the way
        self.screen.set_focus(line if self._types else None)
        self.show_options()
        self.remark()

    def show_options(self) -> None:
        """Show the options anew in the unit chosen."""
        self.query_one("#options", Drawn).show(self._options)

    def _options(self, width: int) -> list[list[Part]]:
        """The options by their keys, only the chosen one once one is; and what is to be typed."""
        unit, rows = lengths_in(self), list[list[Part]]()
        if self.prompt is None:
            return rows
        for option in self.prompt.options if self._chosen is None else (self._chosen,):
            asks = option.wants and self._chosen is None
            wants = f" (asks {', '.join(option.wants)})" if asks else ""
            words: list[Part] = [(painted(option.label, unit), "strong"), (wants, "quiet")]
            first, *more = wrapped(words, width - 4)
            rows += [[(f" {option.key} ", "key"), (" ", "plain"), *first]]
            rows += [[("    ", "plain"), *line] for line in more]
        if self._types:
            label = self._label[:1].upper() + self._label[1:]
            end = (f" ({unit}, or with its unit):", "quiet") if self._a_length else (":", "next")
            rows += wrapped([(label, "next"), end], width)
        return rows

    @property
    def _a_length(self) -> bool:
        return " mm" in self._example

    # ------------------------------------------------------------ what is answered

    def refuse(self, problem: str, instead: str) -> None:
        """Say why an answer was not taken, and take another."""
        self.sent = False
        self.remark(problem, instead)

    def remark(self, problem: str = "", instead: str = "") -> None:
        """Say why nothing was answered; what was typed stays."""
        parts = fault_parts(problem, instead) if problem else []
        self.query_one("#remark", Drawn).show(lambda width: wrapped(parts, width) if parts else [])
        self.post_message(self.Changed())

    def take_key(self, event: events.Key) -> bool:
        """Let a key act if it is an option's now, or Enter; whether it is not to be typed."""
        typed, enter = event.character or "", event.key == "enter"
        if self.prompt is None or not (enter or event.is_printable):
            return False
        if self.sent:
            if not enter:
                self.early, self._early_s = True, event.time
        elif event.time < self.asked_s or event.time - self._early_s < self._held_key_s:
            self._early_s = event.time
            self.remark(*EARLY)
        elif enter:
            # At once: left to bubble, it would come after keys that were pressed after it.
            self.action_send()
        elif self._option_of(typed) is not None:
            key, at_s = self._last
            soon = event.time - at_s < self._held_key_s and key in (STRAY, event.key)
            self._last = (key if soon else event.key, event.time)
            if soon:
                self.remark(*TOO_SOON)
            else:
                self.choose(typed)
        elif self._types:
            return False
        else:
            self._last = (STRAY, event.time)
            keys = ", ".join(option.key for option in self.prompt.options)
            self.remark(f"{plain(typed)} isn't an answer here", f"press {keys}")
        return True

    def _option_of(self, key: str) -> Option | None:
        """The option a key stands for now, where it isn't the first letter of something typed."""
        if self.prompt is None or self.prompt.ask is Ask.NOTE or self._chosen or self.typed:
            return None
        return self.prompt.option(key)

    def choose(self, key: str) -> None:
        """Take an option, where none is taken: complete at once, or its first text is asked for."""
        option = self.prompt.option(key) if self.prompt else None
        if option is None or self._chosen is not None:
            return
        if option.wants:
            self._chosen = option
            self._ask_next()
        else:
            self._send(option.key)

    def back(self) -> bool:
        """Go back one text; whether there was anything to go back from."""
        if self._chosen is None:
            return False
        *kept, last = self._texts or ("",)
        if not self._texts:
            self._chosen = None
        self._texts = tuple(kept)
        self._ask_next(last)
        return True

    def on_input_changed(self, event: Input.Changed) -> None:
        """Tell that something is typed."""
        event.stop()
        self.post_message(self.Changed())

    def action_send(self) -> None:
        """Send what was typed."""
        if self.prompt is None or self.sent:
            return
        typed = self.typed.strip()
        if not self._types:
            self.remark("Enter alone answers nothing here", "press a key shown")
        elif not typed:
            self.remark("nothing was typed", self._instead(self.prompt))
        else:
            typed = with_unit(typed, lengths_in(self)) if self._a_length else typed
            texts = (*self._texts, typed)
            if self._chosen is None:
                self._send(typed)
            elif len(texts) == len(self._chosen.wants):
                self._send(self._chosen.key, texts)
            else:
                self._texts = texts
                self._ask_next()

    def _instead(self, prompt: Prompt) -> str:
        if self._chosen is not None:
            return f"{self._label}; Esc goes back"
        keys = ", ".join(o.key for o in prompt.options if prompt.ask is not Ask.NOTE)
        return ", or ".join(filter(None, [keys, prompt.reading]))

    def _send(self, answer: str, texts: tuple[str, ...] = ()) -> None:
        assert self.prompt is not None
        self.sent = True
        self.post_message(self.Answered(self.prompt, answer, texts))
