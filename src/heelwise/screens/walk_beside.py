"""Beside the question: the pictures, what was read so far, the last entries."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from textwrap import wrap

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical

from heelwise.documents import quantities
from heelwise.documents.entries import AnyEntry, Gauged, Read
from heelwise.documents.length_display import AS_WRITTEN, number_in
from heelwise.pictures.cells import Grid
from heelwise.pictures.crank import SMALLEST_CRANK, crank_cells, crank_view
from heelwise.pictures.roles import ValveSign, glyph, legend
from heelwise.pictures.states import states_of
from heelwise.pictures.strip import Strip, strip, strip_cells, strip_size
from heelwise.pictures.top_view import along_size, down_size, engine_cells
from heelwise.plain_text import one_line
from heelwise.screens.lengths import lengths_in
from heelwise.screens.styled_text import ROLE_TONES, Part, wrapped
from heelwise.screens.theme import glyphs
from heelwise.screens.widgets.drawn import Drawn, Picture
from heelwise.sheet.words import entry_words
from heelwise.valvetrain.engine import Valve
from heelwise.walk.finding import places_left
from heelwise.walk.prompts import Prompt
from heelwise.walk.scene import Scene
from heelwise.walk.state import BuildState
from heelwise.walk.valve_state import ValveState

LONGEST_ENTRY = 200
TRIAL = "t"
"""Stands before turns counted with a trial pushrod."""
ROW = 13
"""Cells of one valve: its name, a sign, its turns."""


def valve_rows(
    scene: Scene, asked: Valve | None, width: int, unit: str = AS_WRITTEN
) -> list[list[Part]]:
    """Every valve in columns, bank by bank, the one asked about pointed at."""
    states = states_of(scene.state)
    rows: list[list[Part]] = []
    columns = max(width // ROW // 2 * 2, 1)  # intake and exhaust side by side
    for bank in scene.build.engine.banks:
        members = [v for v in scene.build.engine.valves if v.cylinder in bank.cylinders]
        if len(scene.build.engine.banks) > 1:
            rows.append([(one_line(bank.name, width), "quiet")])
        cells = [_cell(scene.state.valve(v), states[v], v == asked, unit) for v in members]
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
    if any(reading_of(one).startswith(TRIAL) for one in scene.state.valves.values()):
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


def reading_of(one: ValveState, unit: str = AS_WRITTEN) -> str:
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
    entries: Sequence[AnyEntry], standing: BuildState, width: int, high: int
) -> list[list[Part]]:
    """Entries with their numbers and times, a few lines each; crossed out ones shown so."""
    rows: list[list[Part]] = []
    for entry in entries:
        tone = "plain" if standing.counts(entry) else "gone"
        said = one_line(f"{entry.number} {entry.at:%H:%M} {entry_words(entry)}", LONGEST_ENTRY)
        found = wrap(said, width, max_lines=high, placeholder=glyphs().more, subsequent_indent=" ")
        rows += [[(line, tone)] for line in found]
    return rows


APART = "What was found before is not shown: this is proved apart, by another person."
SHOWN_ENTRIES = 3
LEGEND_ROWS = 2
CRANK_WIDTH, CRANK_HEIGHT = SMALLEST_CRANK.width + 2, SMALLEST_CRANK.height + 1
FEW_ROWS = 30
"""Below this many rows an entry takes two lines at most."""


@dataclass(frozen=True)
class Room:
    """What there is room for, in rows; 0 for what has none."""

    pictures: int
    crank: bool
    strip: int
    signs: bool


class Beside(Vertical):
    """Pictures give way first where there is little room; the readings never do."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._moment: tuple[Prompt, Scene] | None = None

    def compose(self) -> ComposeResult:
        """The parts, empty until something is shown."""
        with Horizontal(id="pictures"):
            yield Picture(id="above")
            yield Picture(id="crank")
        yield Picture(id="strip")
        yield Drawn(id="valves")
        yield Drawn(id="signs")
        yield Drawn(id="last")

    def show(self, prompt: Prompt, scene: Scene) -> None:
        """Show a moment of the build."""
        self._moment = (prompt, scene)
        build, at = scene.build, scene.crank_deg
        plan = None if at is None else scene.plan
        left = places_left(scene)
        cycle = strip(build.engine, build.cam, build.margin_deg, at, plan, left)
        self._show_lists(prompt, scene)
        self._show_pictures(prompt, scene, cycle)
        self._fit(scene, cycle)

    def on_resize(self) -> None:
        """Find room anew."""
        if self._moment is not None:
            self.show(*self._moment)

    def _show_lists(self, prompt: Prompt, scene: Scene) -> None:
        def valves(width: int) -> list[list[Part]]:
            if prompt.blind:
                return wrapped([(APART, "quiet")], width)
            return valve_rows(scene, prompt.valve, width, lengths_in(self))

        def signs(width: int) -> list[list[Part]]:
            return [] if prompt.blind else sign_rows(scene, width)

        def last(width: int) -> list[list[Part]]:
            return [] if prompt.blind else self._last(scene, width)

        self.query_one("#valves", Drawn).show(valves)
        self.query_one("#signs", Drawn).show(signs)
        self.query_one("#last", Drawn).show(last)

    def _last(self, scene: Scene, width: int) -> list[list[Part]]:
        standing = scene.state
        high = 2 if self.size.height < FEW_ROWS else 3
        return entry_rows(standing.entries[-SHOWN_ENTRIES:], standing, width, high)

    def _show_pictures(self, prompt: Prompt, scene: Scene, cycle: Strip) -> None:
        engine, bare = scene.build.engine, not glyphs().blocks
        states = {} if prompt.blind else states_of(scene.state)
        damper = crank_view(engine, scene.crank_deg, prompt.crank_target_deg)

        def above(width: int, height: int) -> Grid:
            return engine_cells(engine, states, prompt.valve, width, height, bare)

        def crank(width: int, height: int) -> Grid:
            return crank_cells(damper, width, height, bare)

        def lobes(width: int, height: int) -> Grid:
            return strip_cells(cycle, width, height, bare)

        self.query_one("#above", Picture).show(above)
        self.query_one("#crank", Picture).show(crank)
        self.query_one("#strip", Picture).show(lobes)

    def _fit(self, scene: Scene, cycle: Strip) -> None:
        width, height = self.content_size
        if width < 1:
            return
        lists = len(valve_rows(scene, None, width)) + len(self._last(scene, width)) + 1
        signs = len(sign_rows(scene, width))
        found = room(scene, cycle, width, height - lists, signs)
        pictures, place = self.query_one("#pictures"), self.query_one("#strip")
        pictures.display, pictures.styles.height = found.pictures > 0, found.pictures
        self.query_one("#crank").display = found.crank
        place.display, place.styles.height = found.strip > 0, found.strip
        self.query_one("#signs").display = found.signs


def room(scene: Scene, cycle: Strip, width: int, rows: int, signs: int) -> Room:
    """Share out what the lists leave."""
    along, down = along_size(scene.build.engine), down_size(scene.build.engine)
    above = along if width >= along.width else down
    fits = width >= above.width and rows > above.height + LEGEND_ROWS
    pictures = above.height + LEGEND_ROWS if fits else 0
    crank = fits and width >= above.width + CRANK_WIDTH and rows > CRANK_HEIGHT
    if crank:
        pictures = max(pictures, CRANK_HEIGHT)
    rows -= pictures + 1
    whole = strip_size(cycle)
    lobes = whole.height if width >= whole.width and rows > whole.height else 0
    return Room(pictures, crank, lobes, not fits and rows > signs)
