"""Figures shown large: which, and how they are drawn; the bar of a count."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from heelwise.documents.entries import AnyEntry, Gauged, NoClick, Read
from heelwise.documents.faults import QuantityFault
from heelwise.documents.quantities import length_mm, turns
from heelwise.pictures.window_bar import Bar, bar_cells
from heelwise.plain_text import Part
from heelwise.screens.drawn import grid_lines
from heelwise.screens.styled_text import number_in
from heelwise.screens.theme import bare
from heelwise.valvetrain.engine import wrap
from heelwise.valvetrain.readings import Basis, expect
from heelwise.walk.buying import set_of
from heelwise.walk.limits import gauge_limits
from heelwise.walk.prompts import A_NOTE, Prompt
from heelwise.walk.scene import Scene
from heelwise.wording import Length, show_turns, show_window

ROWS = 3
"""Rows a large text takes where block signs can be shown."""

_DRAWN = """
0  .##. #..# #..# #..# #..# .##.
1  .#. ##. .#. .#. .#. ###
2  .##. #..# ...# ..#. .#.. ####
3  ###. ...# .##. ...# ...# ###.
4  ..## .#.# #..# #### ...# ...#
5  #### #... ###. ...# ...# ###.
6  .##. #... ###. #..# #..# .##.
7  #### ...# ..#. ..#. .#.. .#..
8  .##. #..# .##. #..# #..# .##.
9  .##. #..# #..# .### ...# .##.
E  #### #... ###. #... #... ####
G  .### #... #.## #..# #..# .###
H  #..# #..# #### #..# #..# #..#
I  ### .#. .#. .#. .#. ###
L  #... #... #... #... #... ####
M  #...# ##.## #.#.# #...# #...# #...#
N  #...# ##..# #.#.# #..## #...# #...#
O  .##. #..# #..# #..# #..# .##.
R  ###. #..# #..# ###. #.#. #..#
S  .### #... .##. ...# ...# ###.
T  ##### ..#.. ..#.. ..#.. ..#.. ..#..
/  ...# ...# ..#. .#.. #... #...
°  .#. #.# .#. ... ... ...
.  . . . . . #
:  . # . . # .
-  ... ... ### ... ... ...
–  ... ... ### ... ... ...
+  ... .#. ### .#. ... ...
"""


def _letters() -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {" ": (".",) * 6}
    for line in _DRAWN.strip().splitlines():
        letter, *rows = line.split()
        found[letter] = tuple(rows)
    return found


_LETTERS = _letters()
_HALVES = {"..": " ", "#.": "▀", ".#": "▄", "##": "█"}


def large(text: str, scale: int = 1) -> tuple[str, ...]:
    """Draw a text large."""
    if bare():
        return (text,)
    drawn = [_LETTERS[c] for c in text.upper() if c in _LETTERS]
    pixels = [" ".join(rows).replace(" ", ".") for rows in zip(*drawn, strict=True)]
    if scale > 1:
        return tuple("".join("██" if p == "#" else "  " for p in row) for row in pixels)
    pairs = zip(pixels[::2], pixels[1::2], strict=True)
    return tuple("".join(_HALVES[a + b] for a, b in zip(*pair, strict=True)) for pair in pairs)


GAP = 3
ROOMY = 40
"""Rows of a console on which figures are drawn twice as large."""


@dataclass(frozen=True)
class Figure:
    """One figure: up to three short lines of words before it, the figure, its tone.

    A spare one is left out sooner than the others are drawn smaller.
    """

    words: str
    large: str
    tone: str = "strong"
    spare: bool = False


def placard(figures: Sequence[Figure], width: int, *, tall: bool = False) -> list[list[Part]]:
    """Figures side by side, twice as large where there is room; what doesn't fit is left out."""
    if not figures:
        return []
    needed = [figure for figure in figures if not figure.spare]
    scale = 2 if tall and not bare() and _wide(needed, 2) <= width else 1
    if _wide(figures, scale) > width:
        figures = needed
    if _wide(figures, scale) > width:
        figures = [replace(figures[0], words=""), *figures[1:]]
    rows: list[list[Part]] = [[] for _ in range(ROWS * scale if not bare() else 1)]
    for count, figure in enumerate(figures):
        if _wide(figures[: count + 1], scale) > width:
            break
        drawn = _drawn(figure, len(rows), scale)
        for row, parts in zip(rows, drawn, strict=True):
            row += [(" " * GAP, "plain"), *parts] if row else parts
    return rows if rows[0] else []


def _wide(figures: Sequence[Figure], scale: int) -> int:
    each = [sum(len(text) for text, _ in _drawn(f, ROWS * scale, scale)[0]) for f in figures]
    return sum(each) + GAP * (len(each) - 1)


def _drawn(figure: Figure, height: int, scale: int) -> list[list[Part]]:
    words = figure.words.split("\n")
    big = large(figure.large, scale)
    words = [" ".join(words)] if len(big) == 1 else words[:height]
    words += [""] * (len(big) - len(words))
    wide = max(map(len, words))
    return [
        [(word.ljust(wide) + (" " if wide else ""), "quiet"), (row, figure.tone)]
        for word, row in zip(words, big, strict=True)
    ]


LONGEST_TYPED = 12
GAP_WORDS = {"tight": "long", "loose": "short", "inside": "inside"}
"""A small gap with the plunger bottomed is much preload, and the other way round."""

WIDEST_BAR = 60
COUNT, GAUGES = "count", ("gauge", "locked")


def prompt_figures(
    prompt: Prompt, scene: Scene, now: datetime | None, typed: str, unit: str
) -> list[Figure]:
    """The figures of a prompt, the most important first; `now`: None where waits pass at once."""
    figures: list[Figure] = []
    left = time_left(prompt, now)
    if left:
        figures.append(Figure("time\nleft", left, "warn"))
    if prompt.valve is not None:
        figures.append(Figure("", str(prompt.valve), "next"))
    drawable = prompt.reading != A_NOTE and set(typed.upper()) <= set(_LETTERS)
    if typed and drawable:  # else some of it would be missing
        figures.append(Figure("you\ntyped", typed[:LONGEST_TYPED]))
    figures += _turn(prompt, scene)
    if prompt.records == COUNT and prompt.valve is not None and not typed:
        figures.append(_aim(prompt, scene))
    gauged = scene.build.method.reads != "turns" and prompt.records in GAUGES
    if gauged and prompt.valve is not None and not typed:
        number, unit = Length(gauge_limits(scene, prompt.valve).wanted_mm).painted(unit).split()
        figures.append(Figure(f"aim for\n({unit})", number))
    if prompt.suggested and not typed:
        figures.append(Figure(f"try\n({unit})", number_in(prompt.suggested, unit)))
    return figures


def _aim(prompt: Prompt, scene: Scene) -> Figure:
    """What to aim for: the turns to give, those expected, or else the window."""
    if not scene.build.method.clicks:
        return Figure("give\n(turns)", show_turns(scene.wanted_turns))
    expected = expected_turns(prompt, scene)
    if expected is not None:
        return Figure("expect\nabout\n(turns)", show_turns(round(expected * 8) / 8))
    window = scene.window
    limits = show_window(window.least_turns, window.most_turns)
    return Figure("aim\nfor\n(turns)", limits.replace(" to ", "–"))


def expected_turns(prompt: Prompt, scene: Scene) -> float | None:
    """The turns a count should come to, by readings and the pushrod's length.

    By this valve's own last reading; without one by the mean of its kind's. None without any.
    """
    valve = prompt.valve
    if valve is None:
        return None
    basis = Basis(scene.window, scene.travel.used)
    valve_state = scene.state.valves[valve]
    trial = valve_state.fitted if prompt.phase == "trial" else None
    meant = length_mm(trial.body.pushrod if trial else scene.pushrod_text(valve_state))
    counted = [each for each in set_of(scene).readings if not each.lash_left]
    own = [each for each in counted if each.reading.valve == valve]
    kin = own or [each for each in counted if each.reading.valve.kind is valve.kind]
    turns = [expect(e.reading, meant, basis).turns for e in kin]
    return max(sum(turns) / len(turns), 0.0) if turns else None


def _turn(prompt: Prompt, scene: Scene) -> list[Figure]:
    target, at = prompt.crank_target_deg, scene.crank_deg
    if target is None:
        return []
    to = Figure("crank\nto", f"{target:g}°", spare=at is not None)
    return [to] if at is None else [Figure("turn\non", f"{wrap(target - at):g}°", "next"), to]


def time_left(prompt: Prompt, now: datetime | None) -> str:
    """What is left of a prompt's wait as minutes and seconds, or an empty text."""
    if prompt.wait_until is None or now is None:
        return ""
    seconds = int(max((prompt.wait_until - now).total_seconds(), 0))
    return f"{seconds // 60}:{seconds % 60:02d}" if seconds else ""


def verdict_figures(entries: tuple[AnyEntry, ...], unit: str) -> list[Figure]:
    """A verdict that calls for something else to be done: a reading SHORT or LONG, or no click."""
    for entry in reversed(entries):
        body = entry.body
        if isinstance(body, NoClick):
            return [Figure(f"{body.valve}\nno\nclick", "long", "bad")]
        if isinstance(body, Read) and body.verdict != "inside":
            return [Figure(body.valve, f"{show_turns(turns(body.turns))} {body.verdict}", "bad")]
        if isinstance(body, Gauged) and body.verdict != "inside":
            word = GAP_WORDS[body.verdict] if body.what == "gap" else body.verdict
            return [Figure(body.valve, f"{number_in(body.reading, unit)} {word}", "bad")]
    return []


def count_bar(prompt: Prompt, scene: Scene, typed: str, width: int) -> list[list[Part]]:
    """The window, what is expected, the turns never to pass, and the count as far as typed."""
    if prompt.records != COUNT:
        return []
    window, never = scene.window, show_turns(scene.never_past)
    limits = show_window(window.least_turns, window.most_turns)
    tail: list[Part] = [
        (f" {limits}", "good"),
        ("  never past ", "quiet"),
        (f"{never} ✗", "bad"),
    ]
    wide = min(width - sum(len(text) for text, _ in tail), WIDEST_BAR)
    expected = expected_turns(prompt, scene) if scene.build.method.clicks else scene.wanted_turns
    reading = _turns(typed)
    drawn = Bar(
        window.least_turns, window.most_turns, scene.never_past, reading, expect_turns=expected
    )
    if wide < 16:
        return [tail]
    return [[*grid_lines(bar_cells(drawn, wide))[0], *tail]]


def _turns(typed: str) -> float | None:
    try:
        return turns(typed) if typed else None
    except QuantityFault:
        return None
