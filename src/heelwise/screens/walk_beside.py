"""Beside the question: the pictures, what was read so far, the last entries."""

from collections.abc import Callable, Sequence
from pathlib import Path
from textwrap import wrap

from heelwise.documents.entries import AnyEntry
from heelwise.documents.faults import Faulty
from heelwise.documents.quantities import turns
from heelwise.documents.record import read_record
from heelwise.pictures.cells import legend
from heelwise.pictures.crank import SMALLEST_CRANK, Crank, crank_cells, seen_on_the_way
from heelwise.pictures.strip import Strip, strip_cells
from heelwise.pictures.top_view import engine_cells, engine_height, states_of
from heelwise.plain_text import Part, all_wrapped, one_line, plain, wrapped
from heelwise.screens.drawn import DrawLines, grid_lines
from heelwise.screens.styled_text import number_in
from heelwise.sheet.words import entry_words
from heelwise.storage.errors import StorageError
from heelwise.walk.finding import places_left
from heelwise.walk.prompts import Prompt
from heelwise.walk.scene import Scene, scene_of
from heelwise.walk.state import ValveState
from heelwise.wording import INCHES, painted, show_turns

TRIAL = "t"
"""Stands before turns counted with a trial pushrod."""
ROW = 13
"""Cells of one valve: its name, a sign, its turns."""


def valve_rows(scene: Scene, prompt: Prompt, width: int, unit: str) -> list[list[Part]]:
    """Every valve in columns, bank by bank, those asked about pointed at."""
    states = states_of(scene.state)
    rows: list[list[Part]] = []
    columns = max(width // ROW // 2 * 2, 1)  # intake and exhaust side by side
    for bank in scene.build.engine.banks:
        members = [v for v in scene.build.engine.valves if v.cylinder in bank.cylinders]
        if len(scene.build.engine.banks) > 1:
            rows.append([(one_line(bank.name, width), "quiet")])
        for place, valve in enumerate(members):
            if place % columns == 0:
                rows.append([])
            here = valve in (prompt.valve, *prompt.valves)
            reading = reading_of(scene.state.valves[valve], unit)
            rows[-1] += [
                (f"{'▶' if here else ' '}{valve}".ljust(5), "next" if here else "plain"),
                (states[valve].shape, states[valve]),
                (f" {reading}".ljust(ROW - 6), "plain"),
            ]
    return rows


def sign_rows(scene: Scene, width: int) -> list[list[Part]]:
    """The meaning of the signs in use now, one a line."""
    found = legend(states_of(scene.state).values())
    if any(reading_of(each, INCHES).startswith(TRIAL) for each in scene.state.valves.values()):
        found = [*found, (TRIAL, "plain", "before turns: with a trial pushrod")]
    rows: list[list[Part]] = [[(sign, tone), (f" {words}", "quiet")] for sign, tone, words in found]
    return all_wrapped(rows, width, 2)


def reading_of(state: ValveState, unit: str) -> str:
    """The reading that counts, turns or a gap; a trial's marked t until there are others."""
    if state.gauged:
        return number_in(state.gauged[-1].body.reading, unit)
    entry = state.reading or (state.trials[-1] if state.trials else None)
    if entry is None:
        return ""
    return ("" if state.reading else TRIAL) + show_turns(turns(entry.body.turns))


def entry_rows(
    entries: Sequence[AnyEntry], scene: Scene, width: int, unit: str
) -> list[list[Part]]:
    """Entries with their numbers and times, the latest whole; crossed out ones shown so."""
    rows: list[list[Part]] = []
    for entry in entries:
        tone = "plain" if scene.state.counts(entry) else "gone"
        words = painted(entry_words(entry, scene.build.procedure), unit)
        text = plain(f"{entry.number} {entry.at:%H:%M} {words}")
        high = 2 if entry is not entries[-1] else None
        found = wrap(text, width, max_lines=high, placeholder="…", subsequent_indent=" ")
        rows += [[(line, tone)] for line in found]
    return rows


BLIND = "Earlier results are hidden: this proof is by another person, independently."
SHOWN_ENTRIES = 3
LEGEND_ROWS = 2
CRANK_ROWS = SMALLEST_CRANK.height + 1

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
ROOMY = 6
"""Rows that must be left for the same states to be shown in a second form."""


def beside_rows(
    prompt: Prompt, scene: Scene, width: int, height: int, unit: str
) -> list[list[Part]]:
    """The panes that there is room for, each under its title."""
    panes = _pictures(prompt, scene, width) | _lists(prompt, scene, width, height, unit)
    turning = prompt.crank_target_deg is not None and panes["crank"] is not None
    visible: dict[str, list[list[Part]]] = {}
    for name in TURNING if turning else WORKING:
        twice = {"above": "valves", "valves": "above"}.get(name) in visible and height < ROOMY
        pane = panes[name]
        if pane is not None and pane[0] < height and not twice:
            visible[name] = pane[1]()
            height -= pane[0] + 2
    return [
        row
        for name, title in TITLES.items()
        if name in visible
        for row in ([(title, "quiet")], *visible[name], [])
    ]


Pane = tuple[int, Callable[[], list[list[Part]]]] | None
"""Rows that a pane takes, and what draws it; None where it has no room."""


def _pictures(prompt: Prompt, scene: Scene, width: int) -> dict[str, Pane]:
    engine = scene.build.engine
    at, to, cam = scene.crank_deg, prompt.crank_target_deg, scene.build.cam
    view = Crank(engine, at, to)

    def crank() -> list[list[Part]]:
        seen: tuple[str, ...] = ()
        if cam is not None and at is not None and to is not None:
            seen = seen_on_the_way(engine, cam, at, view.turn_deg)
        return grid_lines(crank_cells(view, width, CRANK_ROWS, seen))

    def engine_above() -> list[list[Part]]:
        states = {} if prompt.blind else states_of(scene.state)
        return grid_lines(engine_cells(engine, states, prompt.valve, width, above))

    places = () if at is None else scene.plan.crank_degs
    cycle = Strip(engine, cam, scene.build.margin_deg, at, places, places_left(scene))
    whole = cycle.size
    above = engine_height(engine, width)
    above += LEGEND_ROWS if above else 0
    return {
        "above": (above, engine_above) if above else None,
        "crank": (CRANK_ROWS, crank) if width >= SMALLEST_CRANK.width and at is not None else None,
        "strip": (
            whole.height,
            lambda: grid_lines(strip_cells(cycle, width, whole.height)),
        )
        if width >= whole.width
        else None,
    }


def _lists(prompt: Prompt, scene: Scene, width: int, height: int, unit: str) -> dict[str, Pane]:
    """The lists; as many last entries as there is room for."""
    if prompt.blind:
        hidden = wrapped([(BLIND, "quiet")], width)
        return {"valves": (len(hidden), lambda: hidden), "last": None}
    valves = [*valve_rows(scene, prompt, width, unit), *sign_rows(scene, width)]
    last: list[list[Part]] = []
    for count in range(1, SHOWN_ENTRIES + 1):
        more = entry_rows(scene.state.entries[-count:], scene, width, unit)
        if not last or len(valves) + len(more) + 3 <= height:
            last = more
    return {"valves": (len(valves), lambda: valves), "last": (len(last), lambda: last)}


def read_detail(path: Path, unit: str) -> DrawLines | None:
    """What there is to see of one build beside the bench's list; None of anything else."""
    try:
        record = read_record(path)
        scene = scene_of(record.head.setup, record.head.procedure, record.entries)
    except (Faulty, StorageError, OSError, ValueError):
        return None
    engine, states = scene.build.engine, states_of(scene.state)

    def draw(width: int) -> list[list[Part]]:
        picture = engine_cells(
            engine, states, None, width, engine_height(engine, width) + LEGEND_ROWS
        )
        last = entry_rows(record.entries[-SHOWN_ENTRIES:], scene, width, unit)
        return [
            [(TITLES["above"], "quiet")],
            *grid_lines(picture),
            [(TITLES["last"], "quiet")],
            *last,
        ]

    return draw
