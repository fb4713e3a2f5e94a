"""The set of pushrods: every valve read against its window, what to try, what to buy."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from heelwise.documents import quantities
from heelwise.documents.entries import Read
from heelwise.documents.length_display import AS_WRITTEN, in_unit, with_other
from heelwise.pictures.roles import ValveSign, glyph
from heelwise.pictures.window_bar import Bar, bar_cells
from heelwise.screens.key_actions import key
from heelwise.screens.lengths import lengths_in, lengths_key
from heelwise.screens.styled_text import ROLE_TONES, Part, all_wrapped, shown
from heelwise.screens.theme import glyphs
from heelwise.screens.widgets.bars import KeyBar
from heelwise.screens.widgets.drawn import Drawn
from heelwise.valvetrain.figures import length_text, turns_text
from heelwise.valvetrain.pushrods import try_pushrod
from heelwise.valvetrain.readings import Expectation, Reading
from heelwise.walk.limits import growth_facts, hot_text
from heelwise.walk.pushrod_set import POOR_CHANCE, PushrodSet, set_of
from heelwise.walk.scene import Scene
from heelwise.walk.valve_state import ValveState


def figures(scene: Scene, unit: str = AS_WRITTEN) -> list[list[Part]]:
    """The window, the travel per turn and the ceiling, with where they come from."""
    window, used = scene.window, scene.travel.used
    least, most = map(quantities.show_turns, (window.least_turns, window.most_turns))
    never = scene.never_past_fact
    rows: list[list[Part]] = [
        [
            (f"window {least} to {most} turns", "strong"),
            (f"  {in_unit(window.source, unit)}", "quiet"),
        ],
        [
            (f"{_length(used.mm, unit)} of travel a turn", "strong"),
            (f"  {in_unit(used.source, unit)}", "quiet"),
        ],
        [
            (f"never past {turns_text(scene.never_past)}", "strong"),
            (f"  {in_unit(never.source, unit)}", "quiet"),
        ],
    ]
    pushrod = scene.set_length(scene.build.engine.valves[0])
    rows += [
        [(in_unit(fact.text, unit), "strong"), (f"  {in_unit(fact.source, unit)}", "quiet")]
        for fact in growth_facts(scene, pushrod)
    ]
    rows += [[(in_unit(note, unit), "warn")] for note in (*scene.travel.notes, *window.notes)]
    return [*rows, [("", "plain")], _legend()]


def _legend() -> list[Part]:
    """What the signs of a bar mean."""
    plain = not glyphs().blocks
    signs = [
        (glyph(state, plain), ROLE_TONES[state.value], said)
        for state, said in (
            (ValveSign.INSIDE, "inside"),
            (ValveSign.NEAR, "near a limit"),
            (ValveSign.SHORT, "short"),
            (ValveSign.LONG, "long"),
        )
    ]
    parts: list[Part] = [("    ", "plain")]
    for sign, tone, said in (("[ ]", "good", "window"), ("!", "bad", "never past"), *signs):
        parts += [(sign, tone), (f" {said}  ", "quiet")]
    return parts


def checked_rows(found: PushrodSet, unit: str = AS_WRITTEN) -> list[list[Part]]:
    """A row for every valve whose length at zero lash is known and that was not counted yet."""
    rows = []
    for each in found.readings:
        if each.counted:
            continue
        reading = each.reading
        tried = try_pushrod(reading, found.window, found.travel.used.mm, found.lengths)
        proposed = ""
        if tried.pushrod_mm is not None and tried.expect_turns is not None:
            proposed = f"  try {_length(tried.pushrod_mm, unit)}, "
            proposed += f"expect {quantities.show_turns(tried.expect_turns)}"
        said = f"{_length(reading.pushrod_mm, unit)} leaves zero lash"
        rows.append(
            [
                (f"{reading.valve!s:<4}", "strong"),
                (said, "plain"),
                (f"  {in_unit(each.source, unit)}", "quiet"),
                (proposed, "next"),
            ]
        )
    return rows


def valve_rows(scene: Scene, bar_width: int, unit: str = AS_WRITTEN) -> list[list[Part]]:
    """A row for every valve read: its bar, turns, verdict, pushrod and what to try."""
    rows = []
    for one in scene.state.valves.values():
        found = latest(one)
        if found is not None:
            rows.append(_row(scene, found, one, bar_width, unit))
    return rows


def latest(one: ValveState) -> Read | None:
    """A valve's latest reading that counts: in the engine, or else in a trial."""
    entry = one.reads[-1] if one.reads else one.trials[-1] if one.trials else None
    return entry.body if entry is not None and isinstance(entry.body, Read) else None


def _row(scene: Scene, read: Read, one: ValveState, wide: int, unit: str) -> list[Part]:
    turns = quantities.turns(read.turns)
    drawn = Bar(
        scene.window.least_turns, scene.window.most_turns, scene.never_past, turns, read.near
    )
    cells = bar_cells(drawn, wide, 1, not glyphs().blocks)[0]
    word = "near" if read.near and read.verdict == "inside" else read.verdict
    trial = " trial" if read.phase == "trial" else ""
    return [
        (f"{one.valve!s:<4}", "strong"),
        *((cell.char, ROLE_TONES.get(cell.role, "plain")) for cell in cells),
        (f" {quantities.show_turns(turns):>6} ", "strong"),
        (f"{word.upper():<7}", ROLE_TONES[word]),
        (f"{with_other(read.pushrod, unit)}{trial}", "plain"),
        (in_unit(hot_text(scene, read.pushrod, turns), unit), "quiet"),
        (_try(scene, read, one, unit), "next"),
    ]


def _try(scene: Scene, read: Read, one: ValveState, unit: str) -> str:
    if read.verdict == "inside":
        return ""
    reading = _reading(read, one)
    found = try_pushrod(reading, scene.window, scene.travel.used.mm, scene.build.setup.lengths())
    if found.pushrod_mm is None or found.expect_turns is None:
        return "  nothing to be had lands inside"
    expect = quantities.show_turns(found.expect_turns)
    return f"  try {_length(found.pushrod_mm, unit)}, expect {expect}"


def _reading(read: Read, one: ValveState) -> Reading:
    length, turns = quantities.length_mm(read.pushrod), quantities.turns(read.turns)
    return Reading(one.valve, length, turns)


def repeats_said(found: PushrodSet, unit: str = AS_WRITTEN) -> list[list[Part]]:
    """A row for every valve counted more than once with one length."""
    rows = []
    for each in found.repeated:
        first, tone = each.first, "plain" if each.found.agree else "warn"
        said = f"  with {_length(first.pushrod_mm, unit)}, mean {turns_text(each.found.mean)} "
        said += f"(the latest is judged): {each.found.text}"
        rows.append([(str(first.valve), "strong"), (said, tone)])
    return rows


def to_buy(found: PushrodSet, unit: str = AS_WRITTEN) -> list[list[Part]]:
    """The fewest lengths that put every valve read inside, and what is then to be expected."""
    bought = found.order()
    source = "worked out from the readings above: the fewest lengths, then nearest the middle"
    rows: list[list[Part]] = [
        [("", "plain")],
        [("to put every valve read inside", "next"), (f"  {source}", "quiet")],
    ]
    for purchase in bought.buy:
        names = " ".join(map(str, purchase.valves))
        said = f"{len(purchase.valves):>3} of {_length(purchase.pushrod_mm, unit)}"
        rows.append([(said, "strong"), (f"  {names}", "plain")])
    if bought.not_served:
        names = " ".join(map(str, bought.not_served))
        few = " in what is on hand" if found.setup.stock() else ""
        rows.append([(f"nothing to be had lands inside for {names}{few}", "bad")])
    if found.lash_left:
        names = " ".join(map(str, found.lash_left))
        said = f"{names} left lash at the click: count again with a longer one before buying"
        rows.append([(f"{glyphs().warn} {said}", "warn")])
    return [*rows, *_expected(found.expected(bought))]


def _expected(expected: list[Expectation]) -> list[list[Part]]:
    if not expected:
        return []
    source = "  turns ± standard uncertainty and the chance inside, worked out from each reading"
    rows: list[list[Part]] = [[("", "plain")], [("then expect", "next"), (source, "quiet")]]
    for each in expected:
        poor = each.chance < POOR_CHANCE
        said = f"{each.turns:.2f} ± {each.uncertainty_turns:.2f}, {each.chance:.0%} inside"
        advice = ": count again, finer, or try that length first" if poor else ""
        rows.append(
            [
                (f"{each.valve!s:<4}", "strong"),
                (f"{glyphs().warn} " if poor else "  ", "warn"),
                (f"{said}{advice}", "warn" if poor else "plain"),
            ]
        )
    return rows


def _length(mm: float, unit: str) -> str:
    if unit:
        return quantities.show_length(mm, unit)
    return length_text(mm)


BESIDE_BAR, LEAST_BAR, MOST_BAR = 56, 16, 40


class PushrodsScreen(Screen[None]):
    """One row a valve, then the order."""

    CSS_PATH = "pushrods.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this shows, and every key.", shown=True),
        key("down,pagedown", "scroll(1)", "Down", "Read on.", shown=True),
        key("up,pageup", "scroll(-1)", "Up", "Read back.", shown=True),
        lengths_key(),
        key("escape,f9", "back", "Back", "Back to the question.", shown=True),
    ]

    def __init__(self, scene: Scene) -> None:
        super().__init__()
        self._scene = scene

    def compose(self) -> ComposeResult:
        """The figures in use, the valves, the order."""
        yield Static(
            shown(" Pushrods: what was read, what to try, what to buy", "next"), id="title"
        )
        with VerticalScroll(id="page", can_focus=False):
            yield Drawn(id="rows")
        yield KeyBar()

    def on_mount(self) -> None:
        """Show the set."""
        self.show_lengths()

    def show_lengths(self) -> None:
        """Show the set in the unit chosen."""
        self.query_one("#rows", Drawn).show(self._lines)

    def _lines(self, width: int) -> list[list[Part]]:
        bar_width = min(max(width - BESIDE_BAR, LEAST_BAR), MOST_BAR)
        unit = lengths_in(self)
        found = set_of(self._scene)
        rows = [
            *figures(self._scene, unit),
            *valve_rows(self._scene, bar_width, unit),
            *checked_rows(found, unit),
            *repeats_said(found, unit),
            *to_buy(found, unit),
        ]
        return all_wrapped(rows, width, indent=4)

    def action_scroll(self, pages: int) -> None:
        """Scroll most of a screenful."""
        page = self.query_one("#page", VerticalScroll)
        page.scroll_relative(y=pages * max(page.size.height - 2, 1), animate=False)

    def action_back(self) -> None:
        """Back to the question."""
        self.dismiss(None)
