"""Records beside each other, valve by valve: what changed, against what the readings can tell."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import pairwise
from math import hypot
from typing import Any

from heelwise.documents.entries import Read
from heelwise.documents.entry_base import PASSING
from heelwise.documents.faults import QuantityFault
from heelwise.documents.quantities import length_mm, turns, turns_resolution
from heelwise.documents.record import Record
from heelwise.sheet.sections import Cells, Section, safe, sentences, table
from heelwise.sheet.setup_words import typed_length
from heelwise.sheet.words import length, turns_words
from heelwise.valvetrain.engine import Valve, ValveKind
from heelwise.valvetrain.travel import Travel
from heelwise.valvetrain.trials import DISAGREE, Reading, difference
from heelwise.valvetrain.window import preload_mm
from heelwise.walk.scene import Scene, reading_of, scene_of
from heelwise.wording import Length, Text, listed, span, text

HEADS = ("valve", "pushrod", "count", "preload", "verdict and proof", "what changed")
CAPTION = "What changed: empty where the readings can't tell it from no change."


@dataclass(frozen=True)
class Side:
    """What a valve came to in one record; `reading`: its count, where turns were counted."""

    pushrod: str = ""
    count: str = ""
    reading: Reading | None = None
    preload_mm: float | None = None
    verdict: str = ""
    proofs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Change:
    """A valve in two records: turns more than its pushrods account for, and how many aren't chance.

    `why`: what stands out; empty where nothing does.
    """

    valve: Valve
    then: Side
    now: Side
    turns: float | None = None
    allowed: float | None = None
    why: str = ""


def sides_of(scene: Scene) -> dict[Valve, Side]:
    """What every valve of a record came to."""
    sides = {}
    for valve, state in scene.state.valves.items():
        count, proofs = state.standing_count, tuple(p.body.outcome for p in state.proofs)
        read = count.when(Read) if count else None
        pushrod = count.body.pushrod if count else ""
        sides[valve] = Side(proofs=proofs)
        if read is not None:
            body, words = read.body, turns_words(read.body.turns)
            with suppress(QuantityFault):  # a sheet is printed of any record
                reading = reading_of(body)
                deep = preload_mm(reading.turns, body.travel_mm, scene.seat_turns)
                sides[valve] = Side(pushrod, words, reading, deep, body.verdict, proofs)
        elif count is not None and not isinstance(count.body, Read):
            gap = text("{} {}", count.body.what, typed_length(count.body.reading))
            sides[valve] = Side(pushrod, gap, None, None, count.body.verdict, proofs)
    return sides


def sides_before(scene: Scene) -> dict[Valve, Side]:
    """What every valve of an engine that has run came to before: the readings of its setup."""
    sides, default = {}, scene.defaults.resolution_turns
    for known in () if scene.build.method.fits else scene.build.setup.reading:
        if known.turns is not None and known.pushrod:
            valve, given = Valve.parse(known.valve), str(known.turns)
            step = turns_resolution(given, default)
            reading = Reading(valve, length_mm(known.pushrod), turns(given), step)
            sides[valve] = Side(known.pushrod, turns_words(given), reading)
    return sides


def changes(
    then: Mapping[Valve, Side], now: Mapping[Valve, Side], travel: Travel | None
) -> list[Change]:
    """What changed on every valve that both know, in the engine's order."""
    return [_change(v, then[v], now[v], travel) for v in sorted(then.keys() & now.keys())]


def _change(valve: Valve, then: Side, now: Side, travel: Travel | None) -> Change:
    moved = [each for each in now.proofs if each not in (*PASSING, *then.proofs)]
    why = f"its proof: {listed(moved)}" if moved else ""
    if then.reading is None or now.reading is None or travel is None:
        return Change(valve, then, now, why=why)
    apart, standard = difference(then.reading, now.reading, 1.0 / travel.mm)
    longer = now.reading.pushrod_mm - then.reading.pushrod_mm
    standard = hypot(standard, longer * (travel.uncertainty_mm or 0.0) / travel.mm**2)
    allowed = DISAGREE * standard
    if abs(apart) > allowed:
        way = "more" if apart > 0 else "fewer"
        than = " than its pushrod accounts for" if longer else ""
        told = f"{abs(apart):.2f} turn {way}{than}; the readings allow {allowed:.2f}"
        why = "; ".join(filter(None, (told, why)))
    return Change(valve, then, now, apart, allowed, why)


def change_rows(found: Iterable[Change]) -> Iterator[Cells]:
    """A row a valve under `HEADS`: then and now where they differ."""
    for each in found:
        then, now = each.then, each.now
        deep = [length(s.preload_mm) if s.preload_mm is not None else "" for s in (then, now)]
        ends = [", ".join(filter(None, dict.fromkeys((s.verdict, *s.proofs)))) for s in (then, now)]
        yield (
            str(each.valve),
            _both(*(typed_length(s.pushrod) if s.pushrod else "" for s in (then, now))),
            _both(then.count, now.count),
            _both(*deep),
            _both(*ends),
            f"STANDS OUT: {each.why}" if each.why else "",
        )


def _both(then: str, now: str) -> str:
    return text("{} → {}", then, now) if then and now and then != now else now or then


# ------------------------------------------------------------------ two records, or more


@dataclass(frozen=True)
class Pair:
    """Two records: what changed on valves and in the setup, and what can't be compared."""

    then: str
    now: str
    changes: list[Change]
    setup: list[tuple[str, str, str]]
    notes: list[str]


def pairs_of(records: Sequence[Record]) -> list[Pair]:
    """Each record against the one before it."""
    return [_pair(then, now) for then, now in pairwise(records)]


def _pair(then: Record, now: Record) -> Pair:
    first, second = (scene_of(r.head.setup, r.head.procedure, r.entries) for r in (then, now))
    old, new = (_flat(r.head.setup.to_toml_dict()) for r in (then, now))
    setup = [
        (where, old.get(where, ""), new.get(where, ""))
        for where in dict.fromkeys((*old, *new))
        if old.get(where) != new.get(where)
    ]
    names = (then.file.stem, now.file.stem)
    if first.build.engine.valves != second.build.engine.valves:
        note = "Different engines: valves aren't compared; lengths, travel and setup are."
        return Pair(*names, [], setup, [note])
    known = sides_of(first)
    found = changes(known, sides_of(second), _travel(second) or _travel(first))
    before, serials, notes = now.head.setup.before, [_serial(r) for r in (then, now)], []
    again = before is not None and before.last_seal == then.last_seal
    linked = again and not second.build.method.fits
    if all(serials) and serials[0] != serials[1] and not linked:
        notes.append("Two engines, by their serials: a difference isn't wear.")
        found = [replace(each, turns=None, allowed=None, why="") for each in found]
    elif not all(serials) and not linked:
        notes.append("No engine_serial in both: they are taken as one engine.")
    uncounted = [str(c.valve) for c in found if c.turns is None and not c.now.count]
    if uncounted:
        notes.append(f"Not counted in {names[1]}: {listed(uncounted)}.")
    return Pair(*names, found, setup, notes)


def _serial(record: Record) -> str:
    job, seed = record.head.setup.job, record.head.build.seed
    serial = (job.engine_serial if job else "") or ("" if seed is None else f"rehearsal {seed}")
    return "".join(filter(str.isalnum, serial.casefold()))  # however it was written


_APART = ("before", "job", "reading")
"""Tables that differ between any two records, or stand by themselves."""


def _flat(document: Mapping[str, Any]) -> dict[str, str]:
    """The setup's own keys as text, but for layouts inside its tables."""
    return {
        f"{name}.{key}": safe("-".join(map(str, v)) if isinstance(v, list) else str(v), 200)
        for name, part in document.items()
        if isinstance(part, Mapping) and name not in _APART
        for key, v in part.items()
        if not isinstance(v, Mapping)
    }


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
        out = [text("{}: {}", str(each.valve), each.why) for each in pair.changes if each.why]
        judged = any(each.allowed for each in pair.changes)
        if judged and not out:
            out = [Text("Nothing stands out from what the readings can tell.")]
        sections += [
            sentences(f"{title} said", title, [*out, *map(safe, pair.notes)]),
            table(f"{title} valves", "Valve by valve", HEADS, change_rows(pair.changes), CAPTION),
            table(f"{title} setup", "Setup", ("what", "then", "now"), pair.setup),
        ]
    return tuple(section for section in sections if section.rows)


RECORD_HEADS = ("record", "last entry", "engine", "a turn is", "intake", "exhaust", "last seal")


def _record_row(record: Record) -> Cells:
    scene = scene_of(record.head.setup, record.head.procedure, record.entries)
    travel, setup = _travel(scene), record.head.setup
    engine = setup.engine.card or "-".join(map(str, setup.engine.firing_order))
    sides = sides_of(scene).items()
    fitted = {
        k: [length_mm(s.pushrod) for v, s in sides if v.kind is k and s.pushrod] for k in ValveKind
    }
    figure = Text(Length(travel.mm)) if travel else ""
    at = f"{record.entries[-1].at:%Y-%m-%d}"
    return (
        safe(record.file.stem, 64),
        at,
        safe(engine, 40),
        figure,
        *map(span, fitted.values()),
        record.last_seal,
    )


def comparison_json(records: Sequence[Record]) -> dict[str, Any]:
    """The same for other programs; lengths in mm."""
    return {
        "records": [
            {"file": str(r.file), "last_seal": r.last_seal, "last": r.entries[-1].at.isoformat()}
            for r in records
        ],
        "pairs": [
            {
                **{key: getattr(pair, key) for key in ("then", "now", "notes")},
                "valves": [_change_json(each) for each in pair.changes],
                "setup": [
                    {"where": where, "then": then, "now": now} for where, then, now in pair.setup
                ],
            }
            for pair in pairs_of(records)
        ],
    }


def _change_json(each: Change) -> dict[str, Any]:
    then, now = (
        {
            "pushrod_mm": length_mm(side.pushrod) if side.pushrod else None,
            "turns": side.reading and side.reading.turns,
            "preload_mm": side.preload_mm,
            "verdict": side.verdict or None,
            "proofs": list(side.proofs),
        }
        for side in (each.then, each.now)
    )
    told = {"change_turns": each.turns, "allowed_turns": each.allowed, "why": each.why}
    return {
        "valve": str(each.valve),
        "then": then,
        "now": now,
        "stands_out": bool(each.why),
        **told,
    }


# ------------------------------------------------------------------ a re-check's own sheet


def then_and_now(scene: Scene) -> Iterator[Cells]:
    """For an engine that has run: what each valve came to before, and now."""
    if then := sides_before(scene):
        yield from change_rows(changes(then, sides_of(scene), _travel(scene)))
