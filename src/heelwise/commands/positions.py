"""`heelwise positions`: where to park the crank, and which valves to set there."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from pathlib import Path
from typing import Any

from heelwise.commands.reporting import DONE, FAULTS, Usage, complain, say, say_json
from heelwise.documents.quantities import show_length
from heelwise.documents.setup import Setup, load_setup
from heelwise.pictures.cells import grid_svg
from heelwise.pictures.strip import PRINTED_WIDTH, Strip, strip_cells
from heelwise.valvetrain.engine import divides_cycle
from heelwise.valvetrain.positions import NoPlan, Plan, Position, each_cylinder, fewest_positions
from heelwise.valvetrain.turn import degrees


def run(given: argparse.Namespace) -> int:
    """Work the positions out and print them."""
    setup = load_setup(Path(given.setup))
    _check(given, setup)
    engine, cam = setup.make_engine(), setup.make_cam()
    try:
        plan = (
            fewest_positions(engine, cam, given.margin, given.marks, given.pistons_down)
            if cam and not given.each
            else each_cylinder(engine, cam, given.margin)
        )
    except NoPlan as impossible:
        if given.json:
            say_json({"most_margin_deg": impossible.most_margin_deg, "message": str(impossible)})
        else:
            complain([str(impossible)])
        return FAULTS
    if given.json:
        least, positions = plan.least_margin_deg, list(map(_as_json, plan.positions))
        say_json({"method": plan.method, "least_margin_deg": least, "positions": positions})
    elif given.form == "svg":
        cycle = Strip(engine, cam, given.margin, positions=plan.crank_degs)
        say(
            grid_svg(strip_cells(cycle, PRINTED_WIDTH, cycle.size.height), "One cycle of the crank")
        )
    else:
        _print(plan, setup)
    return DONE


def _check(given: argparse.Namespace, setup: Setup) -> None:
    if given.each and (given.marks is not None or given.pistons_down):
        raise Usage("--each goes with neither --marks nor --pistons-down: its places are fixed")
    if not 0 <= given.margin < 360:
        raise Usage(f"--margin {given.margin:g}: give degrees from 0 up to 360")
    if not 0 <= given.pistons_down <= 180:
        raise Usage(f"--pistons-down {given.pistons_down:g}: give degrees from 0 to 180")
    if given.marks is not None and not divides_cycle(given.marks):
        raise Usage(f"--marks {given.marks:g}: they must divide 720, as 10, 60 or 90 do")
    if setup.make_cam() is None and not given.each:
        given.each = True
        complain(["the cam is not known: one cylinder at a time, right for any four-stroke cam"])


def _as_json(position: Position) -> dict[str, Any]:
    valves = [{**asdict(v), "valve": str(v.valve)} for v in position.valves]
    free = [{**asdict(v), "valve": str(v.valve)} for v in position.also_free]
    return {**asdict(position), "valves": valves, "also_free": free}


def _print(plan: Plan, setup: Setup) -> None:
    engine, cam = setup.make_engine(), setup.make_cam()
    say("Start with cylinder 1 at TDC on compression.")
    for position in plan.positions:
        say(f"{position.number}. turn on {degrees(position.turn_deg)} to {position.landmark}")
        for placed in position.valves:
            known = placed.margin_deg is not None
            margin = f"  {placed.margin_deg:5.1f}° from its lobe" if known else ""
            drop = engine.piston_drop_mm(placed.from_tdc_deg)
            far = f", {show_length(drop)} down" if drop is not None else ""
            piston = f"  piston {placed.from_tdc_deg:.0f}° from TDC{far}"
            say(f"     {placed.valve!s:<4}{margin}{piston}")
        if position.also_free:
            say(f"     also on the heel: {' '.join(str(f.valve) for f in position.also_free)}")
    if plan.least_margin_deg is not None:
        say(f"Least margin {degrees(plan.least_margin_deg)}.")
    if cam is None:
        say("The cam is not known: right for any four-stroke cam.")
    else:
        say(f"Worked out from the firing order and the cam card; {cam.source}.")
    for note in cam.notes() if cam else ():
        say(f"note: {note}")
