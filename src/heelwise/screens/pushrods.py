"""The set of pushrods: every valve read against its window, what to try, what to buy."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from heelwise.pictures.roles import ValveSign, glyph
from heelwise.screens.key_actions import key
from heelwise.screens.lengths import lengths_in, lengths_key
from heelwise.screens.page import PageScreen
from heelwise.screens.sections_view import Line, section_lines
from heelwise.screens.styled_text import Part
from heelwise.screens.theme import ROLE_TONES, glyphs
from heelwise.sheet.pushrod_words import pushrod_sections
from heelwise.walk.pushrod_set import set_of
from heelwise.walk.scene import Scene

SIGNS = (
    (ValveSign.INSIDE, "inside"),
    (ValveSign.NEAR, "near a limit"),
    (ValveSign.SHORT, "short"),
    (ValveSign.LONG, "long"),
)


class PushrodsScreen(PageScreen):
    """Readings, order and what to expect, as short tables."""

    BINDINGS: ClassVar[list[BindingType]] = [
        lengths_key(),
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
        return [*section_lines(self._sections, width, lengths_in(self)), [], legend()]


def legend() -> Line:
    """What the signs of a window's bar mean."""
    parts: Line = [
        ("[ ]", "good"),
        (" window  ", "quiet"),
        ("!", "bad"),
        (" never past  ", "quiet"),
    ]
    for sign, words in SIGNS:
        mark = glyph(sign, not glyphs().blocks)
        parts += [(mark, ROLE_TONES[sign.value]), (f" {words}  ", "quiet")]
    return parts
