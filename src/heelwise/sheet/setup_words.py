"""What a setup says, once for every place that shows it: sections of facts with their sources."""

from collections.abc import Iterable, Mapping
from contextlib import suppress
from datetime import date
from typing import Any

from heelwise.documents import quantities
from heelwise.documents.faults import Faulty, QuantityFault
from heelwise.documents.fields import Table, measure_of
from heelwise.documents.oddities import notes
from heelwise.documents.quantities import DEGREES, TORQUE, TURNS, Measure
from heelwise.documents.setup import Setup
from heelwise.documents.setup_engine import lobe_ends_text
from heelwise.sheet.sections import Cells, Row, Section, facts, safe, sentences, table
from heelwise.valvetrain.engine import ValveKind
from heelwise.valvetrain.figures import turns_text
from heelwise.valvetrain.positions import Position
from heelwise.walk.limits import gauge_limits, growth_facts
from heelwise.walk.prepare import judge_wrench
from heelwise.walk.scene import Scene
from heelwise.wording import (
    INCHES,
    MILLIMETERS,
    Length,
    Text,
    counted,
    joined,
    listed,
    show_turns,
    show_window,
    text,
)

SETUP = "setup"
SPEC_SHEET = "setup: maker's spec sheet"
CAM_CARD = "setup: cam card"
WRENCH_RULE = "setup, against ISO 6789-1:2017 as quoted by wrench makers"


def typed_length(typed: str) -> str:
    """A length as it was typed, which can be painted in the other unit; other text as it is."""
    try:
        return Text(quantities.typed_length(safe(typed, 200)))
    except QuantityFault:
        return safe(typed, 200)


def unit_of(setup: Setup) -> str:
    """The unit a build is worked in: that of its pushrods."""
    typed = setup.pushrods.intake if setup.pushrods else ""
    return MILLIMETERS if typed.strip().lower().endswith("mm") else INCHES


WITHOUT_JOB = (
    "job: isn't given; add [job] with customer, engine_serial or casting to the setup (F3 on the "
    "bench), so that this record can be tied to its engine later"
)


def setup_sections(scene: Scene, today: date) -> tuple[Section, ...]:
    """What the setup says and what the walk makes of it, in the order to be read."""
    setup = scene.build.setup
    odd = [safe(f"{n.where}: {n.problem}; {n.instead}", 400) for n in notes(setup, today)]
    look_again = sentences("odd", "Look again", odd if setup.job else [*odd, WITHOUT_JOB])
    work = (figure_section(scene, today), work_section(scene))
    return (*table_sections(setup), *([look_again] if look_again.rows else []), *work)


# ------------------------------------------------------------------ the setup's tables


def table_sections(setup: Setup) -> tuple[Section, ...]:
    """What the tables of a setup say; the job first, if one is given."""
    rows: list[Cells] = []
    for name in type(setup).model_fields:
        part = getattr(setup, name)
        if name not in ("format", "job", "reading") and part is not None:
            rows += _TABLES[name](setup) if name in _TABLES else [_plain_row(name, part)]
    rows += [_plain_row(name, given, UNKNOWN) for name, given in setup.unknown.items()]
    job = [(_words(key), value) for key, value in _fields(setup.job)]
    sections = (facts("job", "Job", job), facts("engine", "Engine and parts", rows))
    return tuple(section for section in sections if section.rows)


UNKNOWN = "not known to this version"


def _fields(part: object) -> Iterable[tuple[str, str]]:
    """The keys of a table in words, with what each says."""
    fields: Iterable[tuple[str, Any]] = [("", part)]
    if isinstance(part, Table):
        fields = [(key, getattr(part, key)) for key in type(part).model_fields if key != "known"]
    elif isinstance(part, Mapping):
        fields = part.items()
    for key, value in fields:
        if value not in (None, [], {}):
            measure = measure_of(type(part), key) if isinstance(part, Table) else None
            yield key, _value(value, measure) + (" °C" if key.endswith("_c") else "")


def _plain_row(name: str, part: object, source: str = "") -> Cells:
    words = joined(", ", (Text(f"{_words(key)} " if key else "", v) for key, v in _fields(part)))
    maker = SPEC_SHEET if name in ("rocker", "lifter", "lash") else SETUP
    return safe(_words(name), 40), safe(words), source or maker


def _words(key: str) -> str:
    words = key.removesuffix("_c").split("_")
    return safe(" ".join(w.upper() if w.endswith(("tdc", "bdc")) else w for w in words), 60)


def _value(value: Any, measure: Measure | None) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return safe("; ".join(f"{k} {_value(v, None)}" for k, v in value.items()))
    if isinstance(value, list):
        return joined(", ", (_value(each, measure) for each in value))
    if measure is TURNS:
        return show_turns(TURNS.read(value))
    if measure in (TORQUE, DEGREES):
        return safe(measure.understood(str(value)))
    return f"{value:g}" if isinstance(value, int | float) else typed_length(str(value))


def _engine(setup: Setup) -> Iterable[Cells]:
    engine = setup.make_engine()
    order = "-".join(map(str, engine.firing_order))
    direction = "clockwise" if engine.clockwise else "counterclockwise"
    source = f"engine card {safe(setup.engine.card, 60)}" if setup.engine.card else SETUP
    gaps = [f"{gap:g}" for gap in engine.firing_gaps]
    every = f"every {gaps[0]}" if len({*gaps}) == 1 else f"at uneven gaps of {'-'.join(gaps)}"
    size = f"{counted(engine.cylinders, 'cylinder')}, {len(engine.valves)} valves"
    yield "engine", f"{size}, turns {direction} seen from the front", source
    yield "firing order", f"{order}, {every}°", source
    if len(engine.banks) > 1:
        banks = (f"{safe(b.name, 60)} {' '.join(map(str, b.cylinders))}" for b in engine.banks)
        yield "banks", "; ".join(banks), source


def _cam(setup: Setup) -> Iterable[Cells]:
    cam = setup.make_cam()
    if cam is None:
        yield "cam", "not known: each cylinder at its TDC on compression", SETUP
        return
    yield _plain_row("cam", setup.cam, CAM_CARD)
    ends = cam.lobe_ends
    widened = f", each widened by {cam.ramp_allowance_deg:g}°" if ends != cam.events else ""
    yield "lobe ends", f"{lobe_ends_text(cam)}{widened}", text("worked out: {}", cam.source)
    yield from (("note", note, "worked out") for note in cam.notes())


def _growth(setup: Setup) -> Iterable[Cells]:
    for fact in (
        growth_facts(setup, setup.pushrods.length(ValveKind.INTAKE)) if setup.pushrods else ()
    ):
        yield "cold to hot", fact.text, fact.source


def _before(setup: Setup) -> Iterable[Cells]:
    before = setup.before
    if before is None:
        return
    if before.record:
        kind = ", a rehearsal" if before.engine else ""
        yield "begun from", safe(f"{before.record}{kind}"), f"its last seal {before.last_seal}"
    if before.travel_per_turn:
        figure = text("{} a turn", typed_length(before.travel_per_turn))
        yield "measured before", figure, safe(f"name and last seal: {listed(before.travel_from)}")
    if before.ended_text:
        yield "ended before with", before.ended_text, safe(before.ended_source)
    for each in before.not_used:
        yield "record not used", safe(each), "the records beside this one"


_TABLES = {"engine": _engine, "cam": _cam, "growth": _growth, "before": _before}
"""Tables with words of their own; any other is shown key by key."""


# ------------------------------------------------------------------ what the walk makes of it


def figure_section(scene: Scene, today: date | None = None) -> Section:
    """What readings are judged by; with a day, the wrench as it is on that day."""
    rows = [*(turns_facts(scene) if scene.build.method.reads == "turns" else _gauged(scene))]
    setup = scene.build.setup
    if today and setup.wrench and (judged := judge_wrench(setup, today)).notes:
        label = "WRENCH" if judged.against else "wrench"
        rows.append((label, "; ".join(judged.notes), WRENCH_RULE))
    return facts("window", "Readings and window", rows)


def turns_facts(scene: Scene) -> Iterable[Cells]:
    """Window, travel per turn and the turns never to pass, with where they come from."""
    try:
        travel, window = scene.travel, scene.window
    except (ValueError, Faulty):
        yield "window", "not known", "needs a travel per turn or a window in turns"
        return
    used = travel.used
    limits = f"{show_window(window.least_turns, window.most_turns)} turns"
    worth = Text(Length(used.mm))
    if used.uncertainty_mm:
        worth = text("{}, ± {}", worth, Length(used.uncertainty_mm))
    rows: list[Cells] = [
        ("window", limits, window.source),
        ("travel per turn", worth, used.source),
        *(("not used", Text(Length(o.mm)), o.source) for o in travel.candidates if o != used),
        ("never past", turns_text(scene.never_past), scene.never_past_fact.source),
    ]
    odd = {each.why for each in travel.odd_readings}
    notes = (*travel.notes, *window.notes)
    rows += [("odd reading" if note in odd else "note", note, "") for note in notes]
    yield from ((label, safe(figure), safe(source)) for label, figure, source in rows)


def _gauged(scene: Scene) -> Iterable[Cells]:
    for kind, label in ((ValveKind.INTAKE, "intake"), (ValveKind.EXHAUST, "exhaust")):
        valve = next(v for v in scene.build.engine.valves if v.kind is kind)
        with suppress(ValueError, Faulty):
            for each in gauge_limits(scene, valve).facts:
                yield label, safe(each.text), safe(each.source)


def work_section(scene: Scene) -> Section:
    """The positions ahead, as a table."""
    notes = list(scene.plan.reasons)
    if scene.loaded_lifters_wait:
        notes.append(OIL_FILLED)
    heads = "position|crank|turn on|valves|least margin|place"
    rows = map(_position, scene.plan.positions)
    return table("work", "Work ahead", heads, rows, " ".join(notes))


OIL_FILLED = "Assumes oil-filled lifters until you say otherwise; dry ones may get other positions."


def _position(position: Position) -> Row:
    margins = [v.margin_deg for v in position.valves if v.margin_deg is not None]
    names = tuple(str(v.valve) for v in position.valves)
    least = f"{min(margins):.0f}°" if margins else ""
    angles = f"{position.crank_deg:g}°", f"{position.turn_deg:g}°"
    cells = (str(position.number), *angles, " ".join(names), least, position.landmark)
    return Row(cells, valves=names)
