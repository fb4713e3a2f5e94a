"""A full-screen crank or cam cycle, with a ghost crank to turn in thought and what lifters do."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.screen import Screen
from textual.widgets import Static

from heelwise.pictures.crank import Crank, crank_cells, lifters_at, seen_on_the_way
from heelwise.pictures.strip import Strip, strip_cells
from heelwise.plain_text import Part
from heelwise.screens.drawn import Drawn, Picture, grid_lines
from heelwise.screens.key_actions import KeyBar, key
from heelwise.screens.styled_text import content
from heelwise.valvetrain.turn import degrees, landmark
from heelwise.walk.scene import Scene

STEP_DEG = 5.0
COLUMN = 38
"""Cells one lifter takes."""
ROOM_FOR_BOTH = 40
"""Rows of a console on which cycle and dial are shown together."""
CYCLE_ROWS = 4
"""Rows of the cycle besides those of the cylinders."""


class CrankPicture(Screen[None]):
    """The cycle, the dial, or both where there is room; below every lifter at the ghost crank."""

    CSS_PATH = "crank_picture.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this shows, and every key.", shown=True),
        key("right", "turn(1)", "Turn on", "Turn the ghost crank on by 5°.", shown=True),
        key("left", "turn(-1)", "Turn back", "Turn the ghost crank back by 5°.", shown=True),
        key("home", "here", "Here", "Put the ghost crank where the crank is.", shown=True),
        key("c,space", "other", "Other picture", "The crank's dial, or the cam cycle.", shown=True),
        key("escape,tab", "back", "Back", "Back to the question.", shown=True),
    ]

    def __init__(self, scene: Scene) -> None:
        super().__init__()
        self._scene = scene
        self._at = self._ghost = scene.crank_deg or 0.0
        self._dial = scene.build.cam is None

    def compose(self) -> ComposeResult:
        """The title, the pictures, the lifters."""
        yield Static(id="title")
        yield Picture(self._draw_cycle, id="cycle")
        yield Picture(self._draw_dial, id="dial")
        yield Drawn(self._lifters, id="lifters")
        yield KeyBar()

    def on_mount(self) -> None:
        """Show the crank where it is."""
        self._show()

    def on_resize(self) -> None:
        """See again what there is room for."""
        self._show()

    def _show(self) -> None:
        engine = self._scene.build.engine
        on = (self._ghost - self._at) % 720
        place: list[Part] = [
            (f" Ghost crank at {degrees(self._ghost % 720)}, {on:g}° on  ", "next"),
            (landmark(engine, self._ghost), "quiet"),
        ]
        self.query_one("#title", Static).update(content(place))
        cycle, dial = self.query_one("#cycle", Picture), self.query_one("#dial", Picture)
        both = self.app.size.height >= ROOM_FOR_BOTH and self._scene.build.cam is not None
        cycle.display, dial.display = both or not self._dial, both or self._dial
        cycle.styles.height = engine.cylinders + CYCLE_ROWS if both else "1fr"
        cycle.refresh()
        dial.refresh()
        self.query_one("#lifters", Drawn).show(self._lifters)

    def _draw_cycle(self, width: int, height: int) -> list[list[Part]]:
        build, known = self._scene.build, self._scene.crank_deg
        places = () if known is None else self._scene.plan.crank_degs
        cycle = Strip(
            build.engine, build.cam, build.margin_deg, known, places, ghost_deg=self._ghost
        )
        return grid_lines(strip_cells(cycle, width, height))

    def _draw_dial(self, width: int, height: int) -> list[list[Part]]:
        build, known = self._scene.build, self._scene.crank_deg
        view = Crank(build.engine, known, None if known is None else self._ghost % 720)
        turn = view.turn_deg
        seen = seen_on_the_way(build.engine, build.cam, self._at, turn) if build.cam else ()
        return grid_lines(crank_cells(view, width, height, seen))

    def _lifters(self, width: int) -> list[list[Part]]:
        if self._scene.build.cam is None:
            return [[("The cam isn't known: what a lifter does between can't be told.", "quiet")]]
        across = max(width // COLUMN, 1)
        lifters = lifters_at(self._scene.build.engine, self._scene.build.cam, self._ghost)
        rows = -(-len(lifters) // across)
        lines: list[list[Part]] = [[] for _ in range(rows)]
        for place, (valve, up, words) in enumerate(lifters):
            tone = "strong" if up else "quiet"
            lines[place % rows] += [(f" {valve!s:<5}", "strong"), (f"{words:<{COLUMN - 6}}", tone)]
        return lines

    def action_turn(self, steps: int) -> None:
        """Turn the ghost crank."""
        self._ghost = (self._ghost + steps * STEP_DEG) % 720
        self._show()

    def action_here(self) -> None:
        """Put the ghost crank where the crank is."""
        self._ghost = self._at
        self._show()

    def action_other(self) -> None:
        """Change between dial and cycle."""
        self._dial = not self._dial
        self._show()

    def action_back(self) -> None:
        """Back to the question."""
        self.dismiss(None)
