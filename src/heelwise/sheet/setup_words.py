"""What a setup says, once for every place that shows it: sections of facts with their sources."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from datetime import date
from typing import Any

from heelwise.documents import quantities
from heelwise.documents.faults import Faulty
from heelwise.documents.fields import Table
from heelwise.documents.oddities import notes
from heelwise.documents.quantities import QuantityFault, show_turns, torque_nm, understood
from heelwise.documents.setup import Setup
from heelwise.documents.setup_engine import EVENT_KEYS, TIMING_KEYS, CamTable
from heelwise.sheet.sections import Row, Section, Shape, fact, facts, safe
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.engine import ValveKind
from heelwise.valvetrain.figures import turns_text
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.travel import TravelInPlay
from heelwise.valvetrain.window import Window
from heelwise.walk.limits import gauge_limits, growth_text
from heelwise.walk.prepare import judge_wrench
from heelwise.walk.scene import Scene
from heelwise.wording import INCHES, MILLIMETRES, Length, Text, counted, joined, text

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
    return MILLIMETRES if typed.strip().lower().endswith("mm") else INCHES


WITHOUT_JOB = (
    "job: isn't given; add [job] with customer, engine_serial or casting to the setup (F3 on the "
    "bench), so that this record can be tied to its engine later"
)


def setup_sections(scene: Scene, today: date) -> tuple[Section, ...]:
    """What the setup says and what the walk makes of it, in the order to be read."""
    setup = scene.build.setup
    odd = [Row((safe(f"{n.where}: {n.problem}; {n.instead}", 400),)) for n in notes(setup, today)]
    odd += [] if setup.job else [Row((WITHOUT_JOB,))]
    look_again = Section("odd", "Look again", (), tuple(odd), Shape.LIST)
    work = (figure_section(scene, today), work_section(scene))
    return (*table_sections(setup), *([look_again] if odd else []), *work)


def lines_of(sections: Iterable[Section]) -> list[Text]:
    """Sections as plain lines: "label: figure [where it comes from]"."""
    lines = []
    for section in sections:
        for row in section.rows:
            *said, source = row.cells if section.shape is Shape.FACTS else (*row.cells, "")
            line = joined(": " if section.shape is Shape.FACTS else "  ", filter(None, said))
            lines.append(line + f"  [{source}]" if source else line)
    return lines


# ------------------------------------------------------------------ the setup's tables


def table_sections(setup: Setup) -> tuple[Section, ...]:
    """What the tables of a setup say; the job first, if one is given."""
    rows: list[Row] = []
    for name in type(setup).model_fields:
        table = getattr(setup, name)
        if name in _NOT_SHOWN or table is None:
            continue
        words = _TABLES.get(name)
        rows += words(setup) if words else [_plain_row(name, table)]
    rows += [_plain_row(name, given, UNKNOWN) for name, given in setup.unknown.items()]
    job = [fact(_words(key), _value(key, value)) for key, value in _fields(setup.job)]
    sections = (facts("job", "Job", job), facts("engine", "Engine and parts", rows))
    return tuple(section for section in sections if section.rows)


UNKNOWN = "not known to this version"

_NOT_SHOWN = ("format", "job", "reading")
"""Shown by themselves."""


def _fields(table: object) -> Iterable[tuple[str, Any]]:
    fields: Iterable[tuple[str, Any]] = [("", table)]
    if isinstance(table, Table):
        fields = [(key, getattr(table, key)) for key in type(table).model_fields]
    elif isinstance(table, Mapping):
        fields = table.items()
    return [(key, value) for key, value in fields if value not in (None, [], {})]


_UNNAMED = ("kind", "mount", "name", "card")
"""Keys whose value speaks for itself."""


def _plain_row(name: str, table: object, source: str = SPEC_SHEET) -> Row:
    parts = [
        _value(key, value) if key in _UNNAMED else text("{} {}", _words(key), _value(key, value))
        for key, value in _fields(table)
    ]
    return fact(safe(_words(name), 40), safe(joined(", ", parts)), source)


def _words(key: str) -> str:
    words = key.removesuffix("_c").split("_")
    return safe(" ".join(w.upper() if w.endswith(("tdc", "bdc")) else w for w in words), 60)


def _value(key: str, value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float) and key.endswith("_c"):
        return f"{value:g} °C"
    if isinstance(value, int | float):
        return show_turns(value) if key.endswith("turns") else f"{value:g}"
    if isinstance(value, Mapping):
        return safe("; ".join(f"{k} {_value('', v)}" for k, v in value.items()))
    if isinstance(value, list | tuple):
        return joined(", ", (_value(key, each) for each in value))
    typed = str(value)
    with suppress(QuantityFault):
        torque_nm(typed)
        return safe(understood(typed))
    return typed_length(typed)


def _engine(setup: Setup) -> list[Row]:
    engine = setup.make_engine()
    order = "-".join(map(str, engine.firing_order))
    direction = "clockwise" if engine.clockwise else "counterclockwise"
    source = f"engine card {safe(setup.engine.card, 60)}" if setup.engine.card else SETUP
    gaps = {round(gap, 3) for gap in engine.firing_gaps}
    even = f"every {next(iter(gaps)):g}°" if len(gaps) == 1 else "at uneven gaps of "
    uneven = "" if len(gaps) == 1 else "-".join(f"{gap:g}" for gap in engine.firing_gaps) + "°"
    size = f"{counted(engine.cylinders, 'cylinder')}, {len(engine.valves)} valves"
    rows = [
        fact("engine", f"{size}, turns {direction} seen from the front", source),
        fact("firing order", f"{order}, {even}{uneven}", source),
    ]
    if len(engine.banks) > 1:
        banks = (f"{safe(b.name, 60)} {' '.join(map(str, b.cylinders))}" for b in engine.banks)
        rows.append(fact("banks", "; ".join(banks), source))
    return rows


def _cam(setup: Setup) -> list[Row]:
    cam, table = setup.make_cam(), setup.cam
    if cam is None or table is None:
        return [fact("cam", "not known: each cylinder at its TDC on compression", SETUP)]
    at_lift = typed_length(table.at_lift) + " of lift" if table.at_lift else "a lift not stated"
    rows = [fact("cam", text("{}, at {}", _cam_card(table), at_lift), CAM_CARD)]
    ends = cam.lobe_ends
    widened = f", each widened by {cam.ramp_allowance_deg:g}°" if ends != cam.events else ""
    opens = f"IVO {ends.ivo_btdc:g}° BTDC, IVC {ends.ivc_abdc:g}° ABDC"
    closes = f"EVO {ends.evo_bbdc:g}° BBDC, EVC {ends.evc_atdc:g}° ATDC"
    rows.append(fact("lobe ends", f"{opens}, {closes}{widened}", f"worked out: {cam.source}"))
    return [*rows, *(fact("note", note, "worked out") for note in Cam.notes(cam))]


def _cam_card(cam: CamTable) -> str:
    keys: Iterable[str] = EVENT_KEYS if cam.intake_opens_btdc is not None else TIMING_KEYS
    if cam.duration is not None:
        keys = ("duration", *TIMING_KEYS[2:])
    parts = [f"{_words(key)} {getattr(cam, key):g}°" for key in keys]
    if cam.advance:
        parts.append(f"{'advanced' if cam.advance > 0 else 'retarded'} {abs(cam.advance):g}°")
    return ", ".join(parts)


def _growth(setup: Setup) -> list[Row]:
    lost = setup.growth_mm(setup.pushrods.length(ValveKind.INTAKE)) if setup.pushrods else None
    if lost is None or setup.growth is None:
        return []
    return [fact("cold to hot", growth_text(lost), setup.growth.growth_source)]


_TABLES: Mapping[str, Callable[[Setup], list[Row]]] = {
    "engine": _engine,
    "cam": _cam,
    "growth": _growth,
    "wrench": lambda setup: [_plain_row("wrench", setup.wrench, SETUP)],
}
"""Tables with words of their own; any other is shown key by key."""


# ------------------------------------------------------------------ what the walk makes of it


def figure_section(scene: Scene, today: date | None = None) -> Section:
    """What readings are judged by; with a day, the wrench as it is on that day."""
    rows = _turns(scene) if scene.build.method.reads == "turns" else _gauged(scene)
    setup = scene.build.setup
    if today and setup.wrench and (judged := judge_wrench(setup, today)).notes:
        label = "WRENCH" if judged.against else "wrench"
        rows.append(fact(label, "; ".join(judged.notes), WRENCH_RULE))
    return facts("window", "Readings and window", rows)


def _turns(scene: Scene) -> list[Row]:
    try:
        travel = scene.travel
    except (ValueError, Faulty):
        return [
            fact("travel per turn", "not known", "nothing to work it out from"),
            fact("window", "not known", "needs a travel per turn or a window in turns"),
        ]
    never = f"{show_turns(scene.never_past)} turns"
    return judged_by(scene.window, travel, never, scene.never_past_fact.source)


def judged_by(window: Window, travel: TravelInPlay, never: str, never_from: str) -> list[Row]:
    """Window, travel per turn and the turns never to pass, with where they come from."""
    used = travel.used
    limits = f"{show_turns(window.least_turns)} to {show_turns(window.most_turns)} turns"
    spread = used.uncertainty_mm
    worth = text("{}, ± {}", Length(used.mm), Length(spread)) if spread else Text(Length(used.mm))
    others = (other for other in travel.candidates if other != used)
    odd = [
        fact(
            "odd reading",
            text(
                "{} {} with {}",
                o.trial.valve,
                turns_text(o.trial.turns),
                Length(o.trial.pushrod_mm),
            ),
            safe(o.why),
        )
        for o in travel.odd_readings
    ]
    return [
        fact("window", limits, safe(window.source)),
        fact("travel per turn", worth, safe(used.source)),
        *(fact("not used", Text(Length(other.mm)), safe(other.source)) for other in others),
        fact("never past", never, safe(never_from)),
        *odd,
        *(fact("note", safe(note)) for note in (*travel.notes, *window.notes)),
    ]


def _gauged(scene: Scene) -> list[Row]:
    rows = []
    for kind in ValveKind:
        valve = next(v for v in scene.build.engine.valves if v.kind is kind)
        label = "intake" if kind is ValveKind.INTAKE else "exhaust"
        with suppress(ValueError, Faulty):
            limits = gauge_limits(scene, valve)
            rows += [fact(label, safe(each.text), safe(each.source)) for each in limits.facts]
    return rows


def work_section(scene: Scene) -> Section:
    """The positions ahead, as a table."""
    notes = list(scene.plan.reasons)
    if scene.loaded_lifters_wait:
        notes.append("Lifters taken as used; dry ones may be parked elsewhere.")
    return Section(
        "work",
        "Work ahead",
        ("position", "crank", "turn on", "valves", "least margin", "place"),
        tuple(map(_position, scene.plan.positions)),
        caption=" ".join(notes),
    )


def _position(position: Position) -> Row:
    margins = [v.margin_deg for v in position.valves if v.margin_deg is not None]
    names = tuple(str(v.valve) for v in position.valves)
    return Row(
        (
            str(position.number),
            f"{position.crank_deg:g}°",
            f"{position.turn_deg:g}°",
            " ".join(names),
            f"{min(margins):.0f}°" if margins else "",
            position.landmark,
        ),
        valves=names,
    )
