"""Beside the question: the pictures, what was read so far, the last entries."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain
from textwrap import wrap

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Static

from heelwise.documents import quantities
from heelwise.documents.entries import AnyEntry, Gauged, Read
from heelwise.pictures.crank import SMALLEST_CRANK, crank_cells, crank_view, seen_on_the_way
from heelwise.pictures.roles import ValveSign, glyph, legend
from heelwise.pictures.strip import strip, strip_cells, strip_size
from heelwise.pictures.top_view import engine_cells, engine_size, states_of
from heelwise.plain_text import one_line
from heelwise.screens.lengths import lengths_in, number_in
from heelwise.screens.styled_text import Part, wrapped
from heelwise.screens.theme import ROLE_TONES, glyphs
from heelwise.screens.widgets.drawn import Draw, Drawn, Picture
from heelwise.sheet.words import entry_words
from heelwise.valvetrain.engine import Valve
from heelwise.walk.finding import places_left
from heelwise.walk.prompts import Prompt
from heelwise.walk.scene import Scene
from heelwise.walk.state import ValveState
from heelwise.wording import INCHES, painted

LONGEST_ENTRY = 200
TRIAL = "t"
"""Stands before turns counted with a trial pushrod."""
ROW = 13
"""Cells of one valve: its name, a sign, its turns."""


def valve_rows(scene: Scene, asked: Valve | None, width: int, unit: str) -> list[list[Part]]:
    """Every valve in columns, bank by bank, the one asked about pointed at."""
    states = states_of(scene.state)
    rows: list[list[Part]] = []
    columns = max(width // ROW // 2 * 2, 1)  # intake and exhaust side by side
    for bank in scene.build.engine.banks:
        members = [v for v in scene.build.engine.valves if v.cylinder in bank.cylinders]
        if len(scene.build.engine.banks) > 1:
            rows.append([(one_line(bank.name, width), "quiet")])
        cells = [_cell(scene.state.valves[v], states[v], v == asked, unit) for v in members]
        starts = range(0, len(cells), columns)
        rows += [list(chain.from_iterable(cells[i : i + columns])) for i in starts]
    return rows


def sign_rows(scene: Scene, width: int) -> list[list[Part]]:
    """The meaning of the signs in use now, one a line."""
    found = legend(states_of(scene.state).values(), not glyphs().blocks)
    rows: list[list[Part]] = [
        [(sign, ROLE_TONES[role]), (f" {one_line(said, max(width - 2, 1))}", "quiet")]
        for sign, role, said in found
    ]
    if any(reading_of(one, INCHES).startswith(TRIAL) for one in scene.state.valves.values()):
        rows.append([(TRIAL, "plain"), (" counted with a trial pushrod", "quiet")])
    return rows


def _cell(one: ValveState, state: ValveSign, asked: bool, unit: str) -> list[Part]:
    sign = glyph(state, not glyphs().blocks)
    name = f"{glyphs().next if asked else ' '}{one.valve}"
    return [
        (name.ljust(5), "next" if asked else "plain"),
        (sign, ROLE_TONES[state]),
        (f" {reading_of(one, unit)}".ljust(ROW - 6), "plain"),
    ]


def reading_of(one: ValveState, unit: str) -> str:
    """The reading that counts, turns or a gap; a trial's marked t until there are others."""
    gauged = one.gauged[-1].body if one.gauged else None
    if isinstance(gauged, Gauged):
        return number_in(gauged.reading, unit)
    entry = one.reading or (one.trials[-1] if one.trials else None)
    if entry is None or not isinstance(entry.body, Read):
        return ""
    said = quantities.show_turns(quantities.turns(entry.body.turns))
    return said if one.reading else f"{TRIAL}{said}"


def entry_rows(
    entries: Sequence[AnyEntry], scene: Scene, width: int, high: int, unit: str
) -> list[list[Part]]:
    """Entries with their numbers and times, a few lines each; crossed out ones shown so."""
    rows: list[list[Part]] = []
    for entry in entries:
        tone = "plain" if scene.state.counts(entry) else "gone"
        words = painted(entry_words(entry, scene.build.procedure), unit)
        said = one_line(f"{entry.number} {entry.at:%H:%M} {words}", LONGEST_ENTRY)
        found = wrap(said, width, max_lines=high, placeholder=glyphs().more, subsequent_indent=" ")
        rows += [[(line, tone)] for line in found]
    return rows


BLIND = "Earlier results are hidden: this proof is by another person, independently."
SHOWN_ENTRIES = 3
LEGEND_ROWS = 2
CRANK_ROWS = SMALLEST_CRANK.height + 1
FEW_ROWS = 30
"""Below this many rows an entry takes two lines at most."""

TITLES = {
    "above": "Engine",
    "crank": "Crank",
    "strip": "Cam cycle",
    "valves": "Readings",
    "last": "Last entries",
}
TURNING = ("crank", "strip", "above", "last", "valves")
WORKING = ("valves", "last", "strip", "above", "crank")
"""What is shown beside a question, first what goes before all else where there is little room."""


class Beside(Vertical):
    """Panes beside the question: those that there is room for."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._moment: tuple[Prompt, Scene] | None = None

    def compose(self) -> ComposeResult:
        """Each pane under its title, empty until something is shown."""
        for name, title in TITLES.items():
            yield Static(title, classes="pane", id=f"title-{name}")
            picture = name in ("above", "crank", "strip")
            yield Picture(id=name) if picture else Drawn(id=name)

    def show(self, prompt: Prompt, scene: Scene) -> None:
        """Show a moment of the build."""
        self._moment = (prompt, scene)
        width, height = self.content_size
        if width < 1:
            return
        rows = self._rows(prompt, scene, width)
        turning = prompt.crank_target_deg is not None and rows["crank"] > 0
        self._fit(TURNING if turning else WORKING, rows, height)

    def on_resize(self) -> None:
        """Find room again."""
        if self._moment is not None:
            self.show(*self._moment)

    def _rows(self, prompt: Prompt, scene: Scene, width: int) -> dict[str, int]:
        """Fill every pane; how many rows each takes, 0 for one that has nothing or no room."""
        engine, bare = scene.build.engine, not glyphs().blocks
        at, cam, unit = scene.crank_deg, scene.build.cam, lengths_in(self)
        states = {} if prompt.blind else states_of(scene.state)
        view = crank_view(engine, at, prompt.crank_target_deg)
        beside: tuple[str, ...] = ()
        if cam is not None and at is not None and prompt.crank_target_deg is not None:
            beside = seen_on_the_way(engine, cam, at, view.turn_deg or 0.0)
        plan = None if at is None else scene.plan
        cycle = strip(engine, cam, scene.build.margin_deg, at, plan, places_left(scene))
        pictures: dict[str, Draw] = {
            "above": lambda w, h: engine_cells(engine, states, prompt.valve, w, h, bare),
            "crank": lambda w, h: crank_cells(view, w, h, bare, beside),
            "strip": lambda w, h: strip_cells(cycle, w, h, bare),
        }
        for name, draw in pictures.items():
            self.query_one(f"#{name}", Picture).show(draw)
        high = 2 if self.size.height < FEW_ROWS else 3
        entries = [] if prompt.blind else scene.state.entries[-SHOWN_ENTRIES:]
        last = entry_rows(entries, scene, width, high, unit)
        valves = wrapped([(BLIND, "quiet")], width)
        if not prompt.blind:
            valves = [*valve_rows(scene, prompt.valve, width, unit), *sign_rows(scene, width)]
        self.query_one("#last", Drawn).show(lambda _: last)
        self.query_one("#valves", Drawn).show(lambda _: valves)
        above, whole = engine_size(engine, width), strip_size(cycle)
        return {
            "above": above.height + LEGEND_ROWS if width >= above.width else 0,
            "crank": CRANK_ROWS if width >= SMALLEST_CRANK.width and at is not None else 0,
            "strip": whole.height if width >= whole.width else 0,
            "valves": len(valves),
            "last": len(last),
        }

    def _fit(self, order: tuple[str, ...], rows: dict[str, int], height: int) -> None:
        shown: set[str] = set()
        for name in order:
            twice = {"above": "valves", "valves": "above"}.get(name) in shown and height < ROOMY
            if rows[name] and rows[name] + 1 <= height and not twice:
                shown.add(name)
                height -= rows[name] + 2
        for name in TITLES:
            pane = self.query_one(f"#{name}")
            pane.display = self.query_one(f"#title-{name}").display = name in shown
            pane.styles.height = rows[name]
            pane.styles.margin = (0, 0, 1, 0)


ROOMY = 6
"""Rows that must be left for the same states to be shown in a second form."""
