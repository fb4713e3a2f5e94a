"""What the screens look like: three themes, the tones of text, and signs for any console."""

import os
import sys

from textual.theme import Theme

CHOICE = "HEELWISE_THEME"
"""Environment variable naming the look to begin with: dark, light or contrast."""

SAFETY = {"danger": "#b3001b", "warning": "#f28c00", "caution": "#f5d000", "notice": "#0b4f9e"}
ON_SAFETY = {"danger": "#ffffff", "warning": "#000000", "caution": "#000000", "notice": "#ffffff"}
"""The safety colors of ANSI Z535 and what is legible on them; the same in every look."""

BASES = ("background", "surface", "panel", "foreground")
COLORS = ("quiet", "good", "warn", "bad", "next", "line", "intake", "exhaust")
LOOKS = {
    "dark": (
        "#101416 #181d20 #242b2f #f1efe8",
        "#b3babd #56d6a2 #f2cf4f #ff946b #79c8f4 #8d989d #6f9fc0 #b59a6a",
    ),
    "light": (
        "#fbf9f3 #f2efe6 #e6e2d5 #15181a",
        "#4a5155 #005c3b #6f4400 #9c2400 #004f94 #5c6468 #356487 #745a2a",
    ),
    "contrast": (
        "#000000 #000000 #1c1c1c #ffffff",
        "#e2e2e2 #3dffa8 #ffea3d #ffab7d #7fe3ff #ffffff #9fd4ff #ffd9a0",
    ),
}
"""Per look the grounds and the text color, then `COLORS`, for $hw-…: all 4.5:1 or better."""


def _theme(name: str, grounds: str, colors: str) -> Theme:
    base = dict(zip(BASES, grounds.split(), strict=True))
    hw = dict(zip(COLORS, colors.split(), strict=True))
    return Theme(
        name=name,
        primary=hw["next"],
        secondary=hw["quiet"],
        warning=hw["warn"],
        error=hw["bad"],
        success=hw["good"],
        accent=hw["next"],
        dark=name != "light",
        variables={
            **{f"hw-{color}": value for color, value in hw.items()},
            **{f"hw-{level}": value for level, value in SAFETY.items()},
            **{f"hw-on-{level}": value for level, value in ON_SAFETY.items()},
            "footer-key-foreground": hw["next"],
            "text-muted": hw["quiet"],
            "text-disabled": hw["quiet"],
            "block-cursor-background": hw["next"],
            "block-cursor-foreground": base["background"],
            "input-cursor-background": base["foreground"],
            "input-cursor-foreground": base["background"],
            "input-selection-background": f"{hw['next']} 40%",
            "scrollbar": base["panel"],
            "scrollbar-hover": hw["line"],
            "scrollbar-background": base["surface"],
        },
        foreground=base["foreground"],
        background=base["background"],
        surface=base["surface"],
        panel=base["panel"],
    )


THEMES = {name: _theme(name, *colors) for name, colors in LOOKS.items()}

TONES = {
    "plain": "",
    "strong": "bold",
    "quiet": "$hw-quiet",
    "good": "bold $hw-good",
    "warn": "bold $hw-warn",
    "bad": "bold $hw-bad",
    "next": "bold $hw-next",
    "line": "$hw-line",
    "intake": "$hw-intake",
    "exhaust": "$hw-exhaust",
    "key": "bold reverse",
    "find": "bold $hw-next on $panel",
    "gone": "strike $hw-quiet",
    "danger": "bold $hw-on-danger on $hw-danger",
    "warning": "bold $hw-on-warning on $hw-warning",
    "caution": "bold $hw-on-caution on $hw-caution",
    "notice": "bold $hw-on-notice on $hw-notice",
}
"""What each tone looks like. A tone never stands alone: a word or a shape says the same."""

_SIGNS = {
    "plain": "",
    "quiet": "not done|trial",
    "good": "inside|proved",
    "warn": "counted|near|accepted|backed off",
    "bad": "short|long",
}
TONES |= {sign: TONES[tone] for tone, signs in _SIGNS.items() for sign in signs.split("|")}


def first_theme() -> str:
    """The look to begin with: the one the environment names, else dark."""
    named = os.environ.get(CHOICE, "").strip().lower()
    return named if named in THEMES else "dark"


def after(name: str) -> str:
    """The look that follows another when they are gone through."""
    names = list(THEMES)
    return names[(names.index(name) + 1) % len(names)] if name in names else names[0]


def color_as_asked() -> None:
    """NO_COLOR counts when it is set and not empty; Textual takes an empty one for set."""
    if not os.environ.get("NO_COLOR"):
        os.environ.pop("NO_COLOR", None)


ASCII = str.maketrans("✓✗▶►▪█░…○◐▼▲◆◇●↑·─═│┃┆▓▒◄▽▀▄", "+x>>-#:~onv^@*Pb.-=|||##<vIE")
"""What stands for each of our signs on a console that has ASCII alone."""

_bare = False


def bare() -> bool:
    """Whether the console has ASCII alone."""
    return _bare


def use(ascii_only: bool) -> None:
    """Draw for a console of either kind from now on."""
    global _bare
    _bare = ascii_only


def fit_console() -> None:
    """Use the signs the console can show, and let nothing it can't show stop the program."""
    stream = sys.__stderr__
    use(not (getattr(stream, "encoding", None) or "").lower().startswith("utf"))
    reconfigure = getattr(stream, "reconfigure", None)
    if bare() and reconfigure is not None:
        reconfigure(errors="replace")
