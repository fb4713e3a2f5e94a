"""What a file of the bench holds. Imported with the first file read, after the first paint."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from heelwise.documents.entries import AnyEntry
from heelwise.documents.faults import Faulty
from heelwise.documents.record import Record, read_record
from heelwise.documents.setup import Setup, load_setup
from heelwise.documents.toml import FileKind, kind_of, read_toml
from heelwise.pictures.top_view import engine_cells, engine_size, states_of
from heelwise.screens.shelf import Row, RowKind
from heelwise.screens.styled_text import Part, wrapped
from heelwise.screens.theme import ROLE_TONES, glyphs
from heelwise.session import is_rehearsal
from heelwise.sheet.words import entry_words
from heelwise.storage.errors import StorageError
from heelwise.walk.scene import Scene, scene_of
from heelwise.walk.walker import outstanding, phase_of, progress
from heelwise.wording import painted

LEGEND_ROWS = 2
SHOWN_ENTRIES = 4


def read_row(row: Row) -> Row:
    """Read a file of the bench; whatever is wrong with it becomes part of its row."""
    try:
        kind = kind_of(row.path)
        if kind is FileKind.RECORD:
            return _record_row(row, read_record(row.path))
        if kind is not FileKind.SETUP or _another_programs(row.path):
            return replace(row, kind=RowKind.OTHER)
        setup = load_setup(row.path)
        far = f"{setup.make_engine().cylinders} cylinders, not begun"
        return replace(row, kind=RowKind.SETUP, far=far, job=_job(setup))
    except Faulty as faulty:
        return replace(row, kind=RowKind.BROKEN, faults=tuple(str(f) for f in faulty.faults))
    except (StorageError, OSError, ValueError) as error:
        return replace(row, kind=RowKind.BROKEN, faults=(str(error),))


def _another_programs(path: Path) -> bool:
    tables = read_toml(path)
    return bool(tables) and not tables.keys() & {"format", *Setup.model_fields}


def _job(setup: Setup) -> str:
    job = setup.job
    known = (job.customer, job.job, job.engine_serial) if job is not None else ()
    return next((text for text in known if text), "")


def _record_row(row: Row, record: Record) -> Row:
    scene = scene_of(record.head.setup, record.head.procedure, record.entries)
    done, far = progress(scene)
    return replace(
        row,
        kind=RowKind.RECORD,
        last=record.entries[-1].at,
        phase="signed off" if scene.state.closed else phase_of(scene),
        far=far,
        done=done,
        total=len(scene.state.valves),
        by=scene.state.by,
        job=_job(record.head.setup),
        outstanding=", ".join([*(["torn end"] if record.torn else []), *outstanding(scene)]),
        method=record.head.build.procedure,
        virtual=is_rehearsal(record.head),
    )


@dataclass(frozen=True)
class Detail:
    """What there is to see of one build beside the list."""

    scene: Scene
    last: tuple[AnyEntry, ...]

    def lines(self, width: int, unit: str) -> list[list[Part]]:
        """Engine from above, last entries, what is outstanding."""
        engine, plain = self.scene.build.engine, not glyphs().blocks
        rows: list[list[Part]] = [[("Engine", "quiet")]]
        states = states_of(self.scene.state)
        height = engine_size(engine, width).height + LEGEND_ROWS
        for cells in engine_cells(engine, states, None, width, height, plain):
            rows.append([(cell.char, ROLE_TONES.get(cell.role, "plain")) for cell in cells])
        rows += [[], [("Last entries", "quiet")]]
        for entry in self.last:
            words = f"{entry.number} "
            words += painted(entry_words(entry, self.scene.build.procedure), unit)
            rows += wrapped([(words, "plain")], width, 1)[:2]
        rows += [[], [("Outstanding", "quiet")]]
        for text in outstanding(self.scene) or ("nothing",):
            rows += wrapped([(text, "plain")], width, 1)
        return rows


def read_detail(row: Row) -> Detail | None:
    """What to show beside the list of a build; None of anything else."""
    try:
        record = read_record(row.path)
        scene = scene_of(record.head.setup, record.head.procedure, record.entries)
    except (Faulty, StorageError, OSError, ValueError):
        return None
    return Detail(scene, tuple(record.entries[-SHOWN_ENTRIES:]))
