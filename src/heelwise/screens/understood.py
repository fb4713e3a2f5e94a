"""What a setup was understood to say, each figure with where it comes from."""

from __future__ import annotations

from datetime import datetime

from heelwise.documents import quantities
from heelwise.documents.setup import Setup
from heelwise.screens.glyphs import glyphs
from heelwise.screens.sitting import Method
from heelwise.screens.tones import Part
from heelwise.screens.wrapping import all_wrapped
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.engine import Engine
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.valves import Kind
from heelwise.walk.build import Build
from heelwise.walk.limits import gauge_limits
from heelwise.walk.scene import Scene
from heelwise.walk.standing import fold
from heelwise.walk.wrench import judge_wrench

Line = tuple[str, str, str]
"""What it is, what is understood, where it comes from."""

LABEL = 17


def understood(setup: Setup, method: Method, width: int) -> list[list[Part]]:
    """Lay out what the walk will work with.

    Args:
        setup: A setup that `methods_for` found walkable.
        method: The procedure to build by.
        width: Cells there are.
    """
    build = Build(setup, method.procedure)
    scene = Scene(build, fold(build.engine.valves, ()))
    rows = [
        ("method", method.procedure.title, method.procedure.id),
        *_engine(build.engine),
        *_positions(scene),
        *_limits(scene),
        *_pushrods(setup),
        *_wrench(setup),
        *_cam(build.cam),
    ]
    return all_wrapped([_parts(row) for row in rows], width, indent=LABEL)


def _parts(row: Line) -> list[Part]:
    label, said, source = row
    return [(f"{label:<{LABEL}}", "quiet"), (said, "strong"), (f"  {source}", "quiet")]


def _engine(engine: Engine) -> list[Line]:
    order = "-".join(map(str, engine.firing_order))
    way = "clockwise" if engine.clockwise else "counter-clockwise"
    rows = [
        ("engine", f"{engine.cylinders} cylinders, {len(engine.valves)} valves", "the setup"),
        ("firing order", order, f"{_gaps(engine)}; turns {way} from the front"),
    ]
    if len(engine.banks) > 1:
        said = "; ".join(f"{b.name} {' '.join(map(str, b.cylinders))}" for b in engine.banks)
        rows.append(("banks", said, "the setup"))
    return rows


def _gaps(engine: Engine) -> str:
    gaps = set(engine.firing_gaps)
    if len(gaps) == 1:
        return f"even, {next(iter(gaps)):g}° apart"
    return f"gaps {' '.join(f'{g:g}' for g in engine.firing_gaps)}°"


def _cam(cam: Cam | None) -> list[Line]:
    if cam is None:
        return [("cam", "not known", "one cylinder at a time, right for any four-stroke cam")]
    ends = cam.lobe_ends
    said = (
        f"IVO {ends.ivo_btdc:g}° BTDC, IVC {ends.ivc_abdc:g}° ABDC, "
        f"EVO {ends.evo_bbdc:g}° BBDC, EVC {ends.evc_atdc:g}° ATDC"
    )
    return [("lobe ends", said, cam.said), *(("", note, "worked out") for note in cam.notes())]


def _limits(scene: Scene) -> list[Line]:
    """What readings will be judged by: turns, or a gap under a feeler gauge."""
    if scene.build.way.reads == "turns":
        return _turns(scene)
    engine = scene.build.engine
    each = [next(v for v in engine.valves if v.kind is kind) for kind in Kind]
    found = [(v.kind, fact) for v in each for fact in gauge_limits(scene, v).facts]
    rows = [("intake" if kind is Kind.INTAKE else "exhaust", f.text, f.source) for kind, f in found]
    return list(dict.fromkeys(rows))


def _turns(scene: Scene) -> list[Line]:
    window, used = scene.window, scene.travel.used
    least, most = map(quantities.show_turns, (window.least_turns, window.most_turns))
    never = quantities.show_turns(scene.never_past)
    rows = [
        ("window", f"{least} to {most} turns", window.said),
        ("travel per turn", _both(used.mm), used.said),
        ("never past", f"{never} turns", scene.never_past_fact.source),
    ]
    notes = (*scene.travel.notes, *window.notes)
    return [*rows, *(("", note, "") for note in notes)]


def _pushrods(setup: Setup) -> list[Line]:
    pushrods = setup.pushrods
    if pushrods is None:
        return []
    rows = [
        (f"{kind} pushrod", quantities.understood(typed), "the setup")
        for kind, typed in (("intake", pushrods.intake), ("exhaust", pushrods.exhaust))
    ]
    lengths = setup.lengths()
    if lengths:
        said = f"{len(lengths)} lengths, {_both(lengths[0])} to {_both(lengths[-1])}"
        rows.append(("to be had", said, "the setup"))
    return rows


def _wrench(setup: Setup) -> list[Line]:
    if setup.wrench is None:
        return []
    judged = judge_wrench(setup, datetime.now().astimezone().date())
    sign = f"{glyphs().bad} " if judged.against else ""
    said = f"{setup.wrench.name}: {sign}{'; '.join(judged.notes)}"
    return [("wrench", said, "the setup, against ISO 6789-1:2017 as makers cite it")]


def _positions(scene: Scene) -> list[Line]:
    plan = scene.plan
    rows = [("", said, "the walk's preference") for said in scene.preferred.said]
    if scene.loaded_lifters_wait:
        rows.append(("", "Lifters taken as used; dry ones may be parked elsewhere.", "until asked"))
    return [*(_position(p) for p in plan.positions), *rows]


def _position(position: Position) -> Line:
    margins = [v.margin_deg for v in position.valves if v.margin_deg is not None]
    valves = " ".join(str(v.valve) for v in position.valves)
    least = f"least margin {min(margins):.0f}°, " if margins else ""
    said = f"crank at {position.crank_deg:g}°: {valves}"
    return (f"position {position.number}", said, f"{least}{position.landmark}")


def _both(mm: float) -> str:
    return f"{quantities.show_length(mm, 'in')} = {quantities.show_length(mm, 'mm')}"
