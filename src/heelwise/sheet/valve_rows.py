"""A sheet's tables: valves by bank, trials, pushrods, and the positions worked at."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

from heelwise.documents import entries as e
from heelwise.documents.entries import Gauged, Read
from heelwise.documents.quantities import QuantityFault, show_length, turns
from heelwise.pictures.roles import ValveState
from heelwise.pictures.states import states_of
from heelwise.pictures.window_bar import Bar, bar
from heelwise.plain_text import one_line
from heelwise.sheet.layout import BankRows, PositionRow, PushrodRow, TrialRow, ValveRow
from heelwise.sheet.words import SANE_TURNS, figure_said, turns_said
from heelwise.valvetrain.arcs import wrap
from heelwise.valvetrain.engine import Bank
from heelwise.valvetrain.landmarks import degrees, landmark
from heelwise.valvetrain.valves import Kind, Valve
from heelwise.valvetrain.verdict import preload_mm
from heelwise.walk.scene import Scene
from heelwise.walk.standing import Standing, ValveStanding

SANE_MM = 1000.0
"""More than any plunger moves: beyond it a length is not written out in inches."""

_PROOFS = {"settled": "settled, clicked"}


def turns_or_none(typed: str) -> float | None:
    """Turns as a number.

    Args:
        typed: a reading as the record has it.

    Returns:
        Turns; None if it can't be understood.
    """
    try:
        return turns(typed)
    except QuantityFault:
        return None


def bank_rows(scene: Scene) -> tuple[BankRows, ...]:
    """What every valve came to, bank by bank.

    Args:
        scene: the build and where it stands.

    Returns:
        Banks in the order given, their valves front to rear where the row is known.
    """
    states = states_of(scene.standing)
    readings = [one.last_count.body for one in scene.standing.valves.values() if one.last_count]
    # One scale for all bars, so that they can be compared down the page.
    scale = max((_scale(body) for body in readings), default=0.0)

    def row(valve: Valve) -> ValveRow:
        one = scene.standing.valve(valve)
        body = one.last_count.body if one.last_count and one.count_stands else None
        read = body if isinstance(body, Read) else None
        if isinstance(body, Gauged):
            return replace(_gauged_row(scene, valve, body), state=states[valve])
        return ValveRow(
            valve=str(valve),
            pushrod=one_line(read.pushrod, 40) if read else "",
            turns=turns_said(read.turns) if read else "",
            window=_limits(read) if read else "",
            verdict=read.verdict if read else "",
            near=read.near if read else False,
            preload=_preload(scene, read) if read else "",
            preload_from=f"travel {one_line(read.travel_from, 60)}" if read else "",
            accepted=_accepted(one),
            proof=_proof(one),
            recount="yes" if one.recounted else "",
            outstanding=_outstanding(one),
            state=states[valve],
            bar=_bar(read, scale) if read else None,
        )

    return tuple(
        BankRows(one_line(bank.name, 120), tuple(row(valve) for valve in _front_to_rear(bank)))
        for bank in scene.build.engine.banks
    )


def _gauged_row(scene: Scene, valve: Valve, body: Gauged) -> ValveRow:
    """A valve that was gauged: its gap where others have their turns."""
    one = scene.standing.valve(valve)
    limits = (show_length(mm, "in") for mm in (body.least_mm, body.most_mm))
    what = "lash" if body.what == "lash" else "gap"
    return ValveRow(
        valve=str(valve),
        pushrod=one_line(body.pushrod, 40),
        turns=f"{what} {one_line(body.reading, 40)}",
        window=" to ".join(limits),
        verdict=body.verdict,
        near=body.near,
        preload="",
        preload_from="",
        accepted=_accepted(one),
        proof=_proof(one),
        recount="",
        outstanding=_outstanding(one),
        state=ValveState.NOT_DONE,
        bar=None,
    )


def _front_to_rear(bank: Bank) -> tuple[Valve, ...]:
    return bank.valve_row or tuple(Valve(c, kind) for c in bank.cylinders for kind in Kind)


def _limits(read: Read) -> str:
    return f"{figure_said(read.least_turns)} to {figure_said(read.most_turns)}"


def _preload(scene: Scene, read: Read) -> str:
    value = turns_or_none(read.turns)
    if value is None:
        return ""
    mm = preload_mm(value, read.travel_mm, scene.seat_turns)
    return show_length(mm, "in") if mm <= SANE_MM else f"{mm:g} mm"


def _accepted(one: ValveStanding) -> str:
    acceptance = one.acceptance
    if acceptance is None or not isinstance(acceptance.body, e.Accepted) or not one.count_stands:
        return ""
    return f"as is by {one_line(acceptance.body.person)}: {one_line(acceptance.body.reason, 1000)}"


def _proof(one: ValveStanding) -> str:
    proof = one.proof.body if one.proof else None
    if not isinstance(proof, e.Proved):
        return ""
    apart = f", apart by {one_line(one.independent_proof.by, 20)}" if one.independent_proof else ""
    if proof.outcome == "held":
        return f"held{apart}"
    said = _PROOFS.get(proof.outcome, proof.outcome)
    return f"{said} at {one_line(proof.torque, 40)}{apart}"


def _outstanding(one: ValveStanding) -> str:
    if one.last_count is None:
        return ("" if one.proof else "proof") if one.untouched else "count"
    if isinstance(one.last_count.body, e.Ceiling) and one.last_count.number >= one.touched:
        return "no click before the turns never to pass: another pushrod, and count again"
    if not one.count_stands:
        return "count again: touched since"
    if not one.settled_count:
        return "outside its window: count again, change the pushrod, or accept as is"
    return "" if one.proof else "proof"


def _scale(body: e.AnyBody) -> float:
    if not isinstance(body, Read):
        return 0.0
    return bar(body.least_turns, body.most_turns, body.never_past_turns).scale_turns


def _bar(read: Read, scale: float) -> Bar | None:
    value = turns_or_none(read.turns)
    if value is None or not 0 < scale <= SANE_TURNS:
        return None
    return bar(read.least_turns, read.most_turns, read.never_past_turns, value, read.near, scale)


def trial_rows(standing: Standing) -> tuple[TrialRow, ...]:
    """Counts with trial pushrods that still count, as they were made; those cut short too.

    Args:
        standing: the fold of the entries.

    Returns:
        One row a count.
    """
    every = (entry for one in standing.valves.values() for entry in one.history)
    made = {entry.number: entry for entry in every if standing.counts(entry)}
    rows = (_trial(made[number].body) for number in sorted(made))
    return tuple(row for row in rows if row is not None)


def _trial(body: e.AnyBody) -> TrialRow | None:
    if isinstance(body, Read) and body.phase == "trial":
        pushrod = one_line(body.pushrod, 40)
        return TrialRow(body.valve, pushrod, turns_said(body.turns), _verdict(body))
    if isinstance(body, e.Ceiling) and body.phase == "trial":
        turns = f"{figure_said(body.never_past_turns)} turns"
        return TrialRow(body.valve, one_line(body.pushrod, 40), turns, "no click: ended there")
    return None


def _verdict(read: Read) -> str:
    return f"{read.verdict}, near a limit" if read.near else read.verdict


def pushrod_rows(standing: Standing) -> tuple[PushrodRow, ...]:
    """Every valve's pushrod as ordered and as received.

    Args:
        standing: the fold of the entries.

    Returns:
        A row for each valve with either, in the engine's order.
    """
    body = standing.ordered.body if standing.ordered else None
    ordered = {}
    if isinstance(body, e.Ordered):
        ordered = dict(zip(body.valves, body.pushrods, strict=False))
    rows = []
    for valve, one in sorted(standing.valves.items()):
        got = one.received.body if one.received else None
        received = got.pushrod if isinstance(got, e.Received) else ""
        remark = "not as ordered" if isinstance(got, e.Received) and not got.as_ordered else ""
        wanted = ordered.get(str(valve), "")
        if wanted or received:
            rows.append(
                PushrodRow(str(valve), one_line(wanted, 40), one_line(received, 40), remark)
            )
    return tuple(rows)


def positions_used(scene: Scene) -> tuple[PositionRow, ...]:
    """Where the crank stood when valves were counted in Fit or Prove, and proved.

    Args:
        scene: the build and where it stands.

    Returns:
        By growing crank angle.
    """
    counted: dict[float, dict[str, str]] = defaultdict(dict)
    proved: dict[float, dict[str, str]] = defaultdict(dict)
    for one in scene.standing.valves.values():
        for entry in (*one.reads, *one.gauged):
            if isinstance(entry.body, Read | Gauged):
                counted[wrap(entry.body.at_deg)][str(one.valve)] = _margin(entry.body)
        if one.proof and isinstance(one.proof.body, e.Proved):
            proved[wrap(one.proof.body.at_deg)][str(one.valve)] = ""
    return tuple(
        PositionRow(
            number,
            deg,
            landmark(scene.build.engine, deg),
            _listed(counted.get(deg, {})),
            _listed(proved.get(deg, {})),
        )
        for number, deg in enumerate(sorted({*counted, *proved}), start=1)
    )


def _margin(read: Read | Gauged) -> str:
    return "" if read.margin_deg is None else f" ({degrees(read.margin_deg)})"


def _listed(valves: dict[str, str]) -> str:
    return ", ".join(f"{name}{margin}" for name, margin in valves.items())
