"""All text is legible in the three looks: 4.5:1 on every ground it is used on (WCAG 2.1, 1.4.3)."""

from __future__ import annotations

import pytest

from heelwise.screens.theme import BASES, COLORS, LOOKS, ON_SAFETY, SAFETY, THEMES, TONES

GROUNDS = ("background", "surface", "panel")
LEAST = 4.5


def _luminance(color: str) -> float:
    """Relative luminance of "#rrggbb" (WCAG 2.1)."""
    parts = [int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return sum(share * c for share, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def _contrast(one: str, other: str) -> float:
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def _palette(look: str) -> dict[str, str]:
    grounds, colors = LOOKS[look]
    palette = dict(zip(BASES, grounds.split(), strict=True))
    return palette | {f"hw-{c}": v for c, v in zip(COLORS, colors.split(), strict=True)}


@pytest.mark.parametrize("look", THEMES)
@pytest.mark.parametrize("tone", TONES)
def test_every_tone_is_legible_on_every_ground(look: str, tone: str) -> None:
    palette = _palette(look) | {f"hw-{level}": value for level, value in SAFETY.items()}
    palette |= {f"hw-on-{level}": value for level, value in ON_SAFETY.items()}
    front, _, behind = TONES[tone].partition(" on ")
    named = [word[1:] for word in front.split() if word.startswith("$")]
    text = palette[named[0] if named else "foreground"]
    for ground in [behind[1:]] if behind else GROUNDS:
        ratio = _contrast(text, palette[ground])
        assert ratio >= LEAST, f"{tone} on {ground} in {look}: {ratio:.1f}"


@pytest.mark.parametrize("look", THEMES)
def test_scroll_bars_are_quieter_than_text(look: str) -> None:
    palette = _palette(look)
    ground, bar = palette["background"], THEMES[look].variables["scrollbar"]
    assert _contrast(bar, ground) < _contrast(palette["hw-quiet"], ground)
