"""Beside the question: the pictures, what was read so far, the last entries."""

from __future__ import annotations

from dataclasses import dataclass

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical

from heelwise.pictures.cells import Grid
from heelwise.pictures.crank_front import SMALLEST_CRANK, crank_cells, crank_front
from heelwise.pictures.states import states_of
from heelwise.pictures.strip import Strip, strip, strip_cells, strip_size
from heelwise.pictures.top_view import along_size, down_size
from heelwise.pictures.top_view_cells import engine_cells
from heelwise.screens.glyphs import glyphs
from heelwise.screens.lengths import lengths_in
from heelwise.screens.tones import Part
from heelwise.screens.widgets import read_so_far
from heelwise.screens.widgets.drawn import Drawn
from heelwise.screens.widgets.picture import Picture
from heelwise.screens.wrapping import wrapped
from heelwise.walk.finding import places_left
from heelwise.walk.prompts import Prompt
from heelwise.walk.scene import Scene

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
            return read_so_far.valves(scene, prompt.valve, width, lengths_in(self))

        def signs(width: int) -> list[list[Part]]:
            return [] if prompt.blind else read_so_far.signs(scene, width)

        def last(width: int) -> list[list[Part]]:
            return [] if prompt.blind else self._last(scene, width)

        self.query_one("#valves", Drawn).show(valves)
        self.query_one("#signs", Drawn).show(signs)
        self.query_one("#last", Drawn).show(last)

    def _last(self, scene: Scene, width: int) -> list[list[Part]]:
        standing = scene.standing
        high = 2 if self.size.height < FEW_ROWS else 3
        return read_so_far.last_entries(standing.entries[-SHOWN_ENTRIES:], standing, width, high)

    def _show_pictures(self, prompt: Prompt, scene: Scene, cycle: Strip) -> None:
        engine, bare = scene.build.engine, not glyphs().blocks
        states = {} if prompt.blind else states_of(scene.standing)
        damper = crank_front(engine, scene.crank_deg, prompt.crank_target_deg)

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
        lists = len(read_so_far.valves(scene, None, width)) + len(self._last(scene, width)) + 1
        signs = len(read_so_far.signs(scene, width))
        found = room(scene, cycle, width, height - lists, signs)
        pictures, place = self.query_one("#pictures"), self.query_one("#strip")
        pictures.display, pictures.styles.height = found.pictures > 0, found.pictures
        self.query_one("#crank").display = found.crank
        place.display, place.styles.height = found.strip > 0, found.strip
        self.query_one("#signs").display = found.signs


def room(scene: Scene, cycle: Strip, width: int, rows: int, signs: int) -> Room:
    """Share out what the lists leave.

    Args:
        scene: The moment.
        cycle: The 720° strip.
        width: Cells there are.
        rows: Rows the lists leave.
        signs: Rows the meaning of the signs takes.
    """
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
