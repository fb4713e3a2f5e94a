"""The answer line's part in a prompt: which key is an answer, which is typed, what is asked next.

Knows no screen: a key or a typed text goes in, what to do about it comes out.
"""

from __future__ import annotations

from dataclasses import dataclass

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
