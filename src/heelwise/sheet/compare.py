"""Records beside each other, valve by valve: what changed, against what the readings can tell."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from itertools import pairwise
from math import hypot
from typing import Any

from heelwise.documents.entries import Gauged, Read
from heelwise.documents.entry_base import PASSING
from heelwise.documents.faults import QuantityFault
from heelwise.documents.quantities import length_mm, turns, turns_resolution
from heelwise.documents.record import Record
from heelwise.sheet.sections import Cells, Section, safe, sentences, table
from heelwise.sheet.words import length
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.figures import turns_text, uniform
from heelwise.valvetrain.travel import Travel
from heelwise.valvetrain.trials import DISAGREE, Reading, difference
from heelwise.valvetrain.window import preload_mm
from heelwise.walk.scene import Scene, scene_of
from heelwise.wording import Length, Text, joined, listed, show_turns, span, text

HEADS = "valve|pushrod|count|preload|verdict and proof|what changed"
CAPTION = "What changed: empty where the readings can't tell it from no change."


@dataclass(frozen=True)
class Side:
    """What a valve came to in one record: turns, or a gap in mm; `step`: what they are read to."""

    pushrod_mm: float | None = None
    turns: float | None = None
    gap_mm: float | None = None
    step: float = 0.0
    preload_mm: float | None = None
    verdict: str | None = None
    proofs: tuple[str, ...] = ()

    def cells(self) -> Cells:
        """Its pushrod, count, preload, and verdict with proofs."""
        lengths = (self.pushrod_mm, self.gap_mm, self.preload_mm)
        pushrod, gap, preload = ("" if mm is None else length(mm) for mm in lengths)
        count = gap if self.turns is None else turns_text(self.turns)
        end = ", ".join(filter(None, dict.fromkeys((self.verdict, *self.proofs))))
        return pushrod, count, preload, end


@dataclass(frozen=True)
class Change:
    """A valve in two records: how much more it reads now, and how much of that can be chance.

    In turns, its pushrods accounted for, or mm of a gap. `why`: what stands out.
    """

    valve: str
    then: Side
    now: Side
    stands_out: bool = False
    why: str = ""
    change_turns: float | None = None
    allowed_turns: float | None = None
    change_mm: float | None = None
    allowed_mm: float | None = None

    def cells(self) -> Cells:
        """Its row under `HEADS`: then and now where they differ."""
        both = (
            text("{} → {}", then, now) if then and now and then != now else now or then
            for then, now in zip(self.then.cells(), self.now.cells(), strict=True)
        )
        return self.valve, *both, text("STANDS OUT: {}", self.why) if self.why else ""


def sides_of(scene: Scene) -> dict[Valve, Side]:
    """What every valve of a record came to."""
    sides = {}
    for valve, state in scene.state.valves.items():
        side = Side(proofs=tuple(proof.body.outcome for proof in state.proofs))
        body = state.standing_count.body if state.standing_count else None
        with suppress(QuantityFault):  # a sheet is printed of any record
            pushrod_mm = length_mm(body.pushrod) if body and body.pushrod else None
            if isinstance(body, Read):
                count, step = turns(body.turns), body.resolution_turns
                deep = preload_mm(count, body.travel_mm, scene.seat_turns)
                side = Side(pushrod_mm, count, None, step, deep, body.verdict, side.proofs)
            elif isinstance(body, Gauged):
                gap, step = length_mm(body.reading), body.step_mm
                side = Side(pushrod_mm, None, gap, step, None, body.verdict, side.proofs)
        sides[valve] = side
    return sides


def then_and_now(scene: Scene) -> Section:
    """For an engine that has run: the readings its setup knows of beside those made now."""
    sides, default = {}, scene.defaults.resolution_turns
    for known in () if scene.build.method.fits else scene.build.setup.reading:
        if known.turns is not None and known.pushrod:
            count, step = turns(known.turns), turns_resolution(str(known.turns), default)
            sides[Valve.parse(known.valve)] = Side(length_mm(known.pushrod), count, step=step)
    found = changes(sides, sides_of(scene), _travel(scene)) if sides else ()
    rows = (change.cells() for change in found)
    return table("then and now", "Then and now", HEADS, rows, CAPTION)


def changes(
    then: Mapping[Valve, Side], now: Mapping[Valve, Side], travel: Travel | None
) -> list[Change]:
    """What changed on every valve that both know, in the engine's order."""
    return [_change(v, then[v], now[v], travel) for v in sorted(then.keys() & now.keys())]


def _change(valve: Valve, then: Side, now: Side, travel: Travel | None) -> Change:
    figures, why = {}, []
    if then.gap_mm is not None and now.gap_mm is not None:
        more = now.gap_mm - then.gap_mm
        allowed = DISAGREE * hypot(uniform(then.step), uniform(now.step))
        figures = {"change_mm": more, "allowed_mm": allowed}
        if abs(more) > allowed:
            wider = "wider" if more > 0 else "narrower"
            limit = Length(allowed, places=4)
            why.append(text("{} {}; the gauges allow {}", Length(abs(more)), wider, limit))
    elif then.turns is not None and now.turns is not None and travel is not None:
        first, second = (
            Reading(valve, side.pushrod_mm or 0.0, side.turns or 0.0, side.step)
            for side in (then, now)
        )
        more, standard = difference(first, second, 1.0 / travel.mm)
        longer = second.pushrod_mm - first.pushrod_mm
        by_travel = longer * (travel.uncertainty_mm or 0.0) / travel.mm**2
        allowed = DISAGREE * hypot(standard, by_travel)
        figures = {"change_turns": more, "allowed_turns": allowed}
        if abs(more) > allowed:
            turn = f"{turns_text(abs(more))} {'more' if more > 0 else 'fewer'}"
            than = " than its pushrod accounts for" if longer else ""
            why.append(Text(f"{turn}{than}; the readings allow {show_turns(allowed)}"))
    moved = [proof for proof in now.proofs if proof not in (*PASSING, *then.proofs)]
    why += [Text(f"its proof: {listed(moved)}")] if moved else []
    return Change(str(valve), then, now, bool(why), joined("; ", why), **figures)


# ------------------------------------------------------------------ two records, or more


@dataclass(frozen=True)
class Pair:
    """Two records: what changed on valves and in the setup, and what can't be compared."""

    then: str
    now: str
    valves: list[Change]
    setup: list[dict[str, str]]
    notes: list[str]


def pairs_of(records: Sequence[Record]) -> list[Pair]:
    """Each record against the one before it."""
    return [_pair(then, now) for then, now in pairwise(records)]


def _pair(then: Record, now: Record) -> Pair:
    first, second = _scene(then), _scene(now)
    old, new = _flat(then), _flat(now)
    setup = [
        {"where": where, "then": old.get(where, ""), "now": new.get(where, "")}
        for where in dict.fromkeys((*old, *new))
        if old.get(where) != new.get(where)
    ]
    valves: list[Change] = []
    notes = ["Different engines: valves aren't compared; lengths, travel and setup are."]
    if first.build.engine.valves == second.build.engine.valves:
        valves = changes(sides_of(first), sides_of(second), _travel(second) or _travel(first))
        notes = _notes(then, now, second)
        if TWO_ENGINES in notes:
            valves = [Change(each.valve, each.then, each.now) for each in valves]
        uncounted = [each.valve for each in valves if not each.now.cells()[1]]
        notes += [f"Not counted in {now.file.stem}: {listed(uncounted)}."] if uncounted else []
    return Pair(then.file.stem, now.file.stem, valves, setup, notes)


TWO_ENGINES = "Two engines, by their serials: a difference isn't wear."


def _notes(then: Record, now: Record, scene: Scene) -> list[str]:
    before, serials = now.head.setup.before, [_serial(record) for record in (then, now)]
    if before and before.last_seal == then.last_seal and not scene.build.method.fits:
        return []  # the same engine, looked at again
    if not all(serials):
        return ["No engine_serial in both: they are taken as one engine."]
    return [TWO_ENGINES] if serials[0] != serials[1] else []


def _serial(record: Record) -> str:
    job, seed = record.head.setup.job, record.head.build.seed
    serial = (job.engine_serial if job else "") or ("" if seed is None else f"rehearsal {seed}")
    return "".join(filter(str.isalnum, serial.casefold()))  # however it was written


_APART = ("before", "job", "reading")
"""Tables that differ between any two records, or stand by themselves."""


def _flat(record: Record) -> dict[str, str]:
    """The setup's own keys as text, but for layouts inside its tables."""
    return {
        f"{name}.{key}": safe("-".join(map(str, v)) if isinstance(v, list) else str(v), 200)
        for name, part in record.head.setup.to_toml_dict().items()
        if isinstance(part, Mapping) and name not in _APART
        for key, v in part.items()
        if not isinstance(v, Mapping)
    }


def _scene(record: Record) -> Scene:
    return scene_of(record.head.setup, record.head.procedure, record.entries)


def _travel(scene: Scene) -> Travel | None:
    try:
        return scene.travel.used if scene.build.method.reads == "turns" else None
    except ValueError:  # an old setup that leaves nothing to work it out from
        return None


def comparison(records: Sequence[Record]) -> tuple[Section, ...]:
    """Records in short, then each against the one before it."""
    sections = [table("records", "Records", RECORD_HEADS, map(_record_row, records))]
    for pair in pairs_of(records):
        title = safe(f"{pair.then} → {pair.now}", 140)
        out = [text("{}: {}", each.valve, each.why) for each in pair.valves if each.why]
        if not out and any(each.allowed_turns or each.allowed_mm for each in pair.valves):
            out = [Text("Nothing stands out from what the readings can tell.")]
        rows = [each.cells() for each in pair.valves]
        setup = (tuple(row.values()) for row in pair.setup)
        sections += [
            sentences(f"{title} said", title, [*out, *map(safe, pair.notes)]),
            table(f"{title} valves", "Valve by valve", HEADS, rows, CAPTION),
            table(f"{title} setup", "Setup", "what|then|now", setup),
        ]
    return tuple(section for section in sections if section.rows)


RECORD_HEADS = "record|job|last entry|a turn is|intake|exhaust|last seal"


def _record_row(record: Record) -> Cells:
    scene = _scene(record)
    travel, sides = _travel(scene), sides_of(scene)
    fitted = [(v.kind, side.pushrod_mm) for v, side in sides.items() if side.pushrod_mm]
    lengths = (span(mm for kind, mm in fitted if kind is each) for each in ValveKind)
    about = safe(record.file.stem, 64), safe(record.head.setup.whose, 100)
    last = f"{record.entries[-1].at:%Y-%m-%d}"
    return *about, last, Text(Length(travel.mm)) if travel else "", *lengths, record.last_seal


def comparison_json(records: Sequence[Record]) -> dict[str, Any]:
    """The same for other programs; lengths in mm."""
    return {
        "records": [
            {"file": str(r.file), "last_seal": r.last_seal, "last": r.entries[-1].at.isoformat()}
            for r in records
        ],
        "pairs": [asdict(pair) for pair in pairs_of(records)],
    }
