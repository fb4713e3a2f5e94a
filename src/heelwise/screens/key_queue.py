"""Keys and pasted texts one by one: each is dealt with before the next is given to a screen.

Two keys may come in one write (a stalled line, a suspended program). Given at once, the second
would go to the screen that the first is closing, or to the line that the first is leaving.
"""

from __future__ import annotations

from collections import deque
from typing import Any

from textual import events
from textual.app import App
from textual.message import Message
from textual.message_pump import MessagePump

from heelwise.screens.terminal import UNREADABLE

CALM = 2
"""Rounds in which neither screen nor focus changed, until a key counts as dealt with."""

LOST_S = 0.5
"""How often it is looked whether what a key was given to went away with it."""


UNREADABLE_KEY = "That character can't be read here; type deg for °."


class Round(Message):
    """Follows a key through every queue on its way up; when it arrives, the key has been there."""


class KeyQueue(App[int]):
    """A program that gives each key to the screen that stands when all before it was done."""

    def __init__(self) -> None:
        super().__init__()
        self._waiting: deque[events.Key | events.Paste] = deque()
        self._calm = CALM
        self._place: tuple[object, object] = (None, None)
        self._round_of: MessagePump | None = None

    def on_mount(self) -> None:
        """Look now and then whether a round was lost."""
        self.set_interval(LOST_S, self._look_for_lost)

    async def on_event(self, event: events.Event) -> None:
        """Queue keys and pasted texts; all else as it comes."""
        if isinstance(event, events.Key) and event.character == UNREADABLE:
            self.notify(UNREADABLE_KEY, severity="warning", markup=False)
        elif isinstance(event, events.Key | events.Paste) and not event.is_forwarded:
            self._waiting.append(event)
            await self._give()
        else:
            await super().on_event(event)

    @property
    def keys_done(self) -> bool:
        """Whether no key is waiting or under way."""
        return self._calm >= CALM and not self._waiting

    async def _give(self) -> None:
        if self._waiting and self._calm >= CALM:
            self._calm = 0
            self._place = self._target, self.screen
            target = self._target
            await super().on_event(self._waiting.popleft())
            self._send_round(target)

    @property
    def _target(self) -> MessagePump:
        return self.focused or self.screen

    def _send_round(self, target: MessagePump) -> None:
        self._round_of = target
        if not target.post_message(Round()):
            self.call_later(self._arrived)

    def _look_for_lost(self) -> None:
        """Go on where the queue that a round was put in went away with it."""
        if self._round_of is not None and not self._round_of.is_running:
            self.call_later(self._arrived)

    def on_round(self, event: Any) -> None:
        """What the key began in this queue comes first."""
        event.stop()
        self.call_later(self._arrived)

    async def _arrived(self) -> None:
        if self._round_of is None:
            return
        self._round_of = None
        place = self._target, self.screen
        self._calm = self._calm + 1 if place == self._place else 0
        self._place = place
        if self._calm < CALM:
            self._send_round(self._target)
        else:
            await self._give()
