"""What the screens look like: three themes, tones for text, roles of pictures, signs."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass

from textual.theme import Theme

CHOICE = "HEELWISE_THEME"
"""Environment variable naming the look to begin with: dark, light or contrast."""

ON_SAFETY_COLOURS = {
    "hw-danger": "#b3001b",
    "hw-on-danger": "#ffffff",
    "hw-warning": "#f28c00",
    "hw-on-warning": "#000000",
    "hw-caution": "#f5d000",
    "hw-on-caution": "#000000",
    "hw-notice": "#0b4f9e",
    "hw-on-notice": "#ffffff",
}
"""The safety colours of ANSI Z535 and what is legible on them; the same in every look."""


def _theme(name: str, dark: bool, base: dict[str, str], tones: dict[str, str]) -> Theme:
    return Theme(
        name=name,
        primary=tones["hw-next"],
        secondary=tones["hw-quiet"],
        warning=tones["hw-warn"],
        error=tones["hw-bad"],
        success=tones["hw-good"],
        accent=tones["hw-next"],
        dark=dark,
        variables={
            **ON_SAFETY_COLOURS,
            **tones,
            "footer-key-foreground": tones["hw-next"],
            "text-muted": tones["hw-quiet"],
            "block-cursor-background": tones["hw-next"],
            "block-cursor-foreground": base["background"],
            "input-cursor-background": base["foreground"],
            "input-cursor-foreground": base["background"],
            "input-selection-background": f"{tones['hw-next']} 40%",
            "scrollbar": tones["hw-quiet"],
            "scrollbar-background": base["surface"],
        },
        foreground=base["foreground"],
        background=base["background"],
        surface=base["surface"],
        panel=base["panel"],
    )


THEMES = {
    "dark": _theme(
        "dark",
        True,
        {
            "background": "#101416",
            "surface": "#181d20",
            "panel": "#242b2f",
            "foreground": "#f1efe8",
        },
        {
            "hw-quiet": "#b3babd",
            "hw-good": "#56d6a2",
            "hw-warn": "#f2cf4f",
            "hw-bad": "#ff946b",
            "hw-next": "#79c8f4",
            "hw-line": "#6d787d",
        },
    ),
    "light": _theme(
        "light",
        False,
        {
            "background": "#fbf9f3",
            "surface": "#f2efe6",
            "panel": "#e6e2d5",
            "foreground": "#15181a",
        },
        {
            "hw-quiet": "#4a5155",
            "hw-good": "#005c3b",
            "hw-warn": "#6f4400",
            "hw-bad": "#9c2400",
            "hw-next": "#004f94",
            "hw-line": "#7a8185",
        },
    ),
    "contrast": _theme(
        "contrast",
        True,
        {
            "background": "#000000",
            "surface": "#000000",
            "panel": "#1c1c1c",
            "foreground": "#ffffff",
        },
        {
            "hw-quiet": "#e2e2e2",
            "hw-good": "#3dffa8",
            "hw-warn": "#ffea3d",
            "hw-bad": "#ffab7d",
            "hw-next": "#7fe3ff",
            "hw-line": "#ffffff",
        },
    ),
}


def first_theme() -> str:
    """The look to begin with: the one the environment names, else dark."""
    named = os.environ.get(CHOICE, "").strip().lower()
    return named if named in THEMES else "dark"


def after(name: str) -> str:
    """The look that follows another when they are gone through."""
    names = list(THEMES)
    return names[(names.index(name) + 1) % len(names)] if name in names else names[0]


def colour_as_asked() -> None:
    """NO_COLOR counts when it is set and not empty; Textual takes an empty one for set."""
    if not os.environ.get("NO_COLOR"):
        os.environ.pop("NO_COLOR", None)


@dataclass(frozen=True)
class Glyphs:
    """One set of signs. Every one is a single cell wide."""

    good: str
    warn: str
    bad: str
    short: str
    long: str
    proved: str
    inside: str
    near: str
    none: str
    slack: str
    next: str
    bullet: str
    full: str
    empty: str
    rule: str
    dot: str
    more: str
    blocks: bool


RICH = Glyphs(
    good="✓",
    warn="!",
    bad="✗",
    short="▼",
    long="▲",
    proved="●",
    inside="○",
    near="◐",
    none="·",
    slack="~",
    next="▶",
    bullet="▪",
    full="█",
    empty="░",
    rule="─",
    dot="·",
    more="…",
    blocks=True,
)

PLAIN = Glyphs(
    good="+",
    warn="!",
    bad="x",
    short="v",
    long="^",
    proved="*",
    inside="o",
    near="%",
    none=".",
    slack="~",
    next=">",
    bullet="-",
    full="#",
    empty=".",
    rule="-",
    dot="-",
    more=">",
    blocks=False,
)

_in_use = RICH


def glyphs() -> Glyphs:
    """The set in use."""
    return _in_use


def use(chosen: Glyphs) -> None:
    """Draw with this set from now on."""
    global _in_use
    _in_use = chosen


def choose_by(encoding: str | None) -> Glyphs:
    """The set an encoding can carry: the plain one unless it is a form of Unicode."""
    return RICH if (encoding or "").lower().replace("_", "-").startswith("utf") else PLAIN


def fit_console() -> None:
    """Use the set the console can show, and let nothing it can't show stop the program."""
    stream = sys.__stderr__
    chosen = choose_by(getattr(stream, "encoding", None))
    use(chosen)
    reconfigure = getattr(stream, "reconfigure", None)
    if chosen is PLAIN and reconfigure is not None:
        reconfigure(errors="replace")
