"""A line to type in that takes no control characters, typed or pasted."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.widgets import Input

from heelwise.plain_text import one_line

LONGEST = 500
"""Characters a line takes."""


class TextLine(Input, inherit_bindings=False):
    """One line of text. Enter is left to whatever holds the line, after all that was typed.

    Left to bubble it comes after keys pressed after it; `on_enter` is called at once.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        binding
        for binding in Input.BINDINGS
        if not (isinstance(binding, Binding) and binding.key == "enter")
    ]

    DEFAULT_CSS = """
    TextLine, TextLine:focus { height: 1; border: none; padding: 0; background: $panel; }
    TextLine > .input--placeholder { color: $hw-quiet; }
    """

    def __init__(
        self,
        *,
        id: str | None = None,
        placeholder: str = "",
        on_enter: Callable[[], None] | None = None,
    ) -> None:
        super().__init__(id=id, placeholder=placeholder, max_length=LONGEST, select_on_focus=False)
        self.cursor_blink = False
        self._entered = on_enter

    async def _on_key(self, event: events.Key) -> None:
        if event.key == "enter" and self._entered is not None:
            event.stop()
            event.prevent_default()
            self._entered()

    def put(self, typed: str) -> None:
        """Put a text in, the cursor after it."""
        self.value = typed
        self.cursor_position = len(typed)

    def _on_paste(self, event: events.Paste) -> None:
        event.prevent_default()
        event.stop()
        self.insert_text_at_cursor(one_line(event.text, LONGEST))
