"""`heelwise positions` and `where`: where to park the crank, and where it may stand now."""

import argparse
from dataclasses import asdict
from pathlib import Path

from heelwise.commands.reporting import DONE, FAULTS, Usage, complain, say, say_json
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.quantities import show_length
from heelwise.documents.setup import load_setup
from heelwise.pictures.cells import grid_svg
from heelwise.pictures.strip import PRINTED_WIDTH, Strip, strip_cells
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.engine import Engine, Valve, divides_cycle
from heelwise.valvetrain.positions import NoPlan, Plan, each_cylinder, fewest_positions
from heelwise.valvetrain.turn import degrees, landmark
from heelwise.valvetrain.where import feel_next, odd_answers, ranges


def positions(given: argparse.Namespace) -> int:
    """Work out where to park the crank, and which valves to set there."""
    if given.each and (given.marks is not None or given.pistons_down):
        raise Usage("--each goes with neither --marks nor --pistons-down: its places are fixed")
    if given.marks is not None and not divides_cycle(given.marks):
        raise Usage(f"--marks {given.marks:g}: they must divide 720, as 10, 60 or 90 do")
    setup = load_setup(Path(given.setup))
    engine, cam = setup.make_engine(), setup.make_cam()
    if cam is None and not given.each:
        complain(["the cam is not known: one cylinder at a time, right for any four-stroke cam"])
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
        told = asdict(plan)
        for position in told["positions"]:
            for placed in (*position["valves"], *position["also_free"]):
                placed["valve"] = str(Valve(**placed["valve"]))
        say_json(told)
    elif given.form == "svg":
        cycle = Strip(engine, cam, given.margin, positions=plan.crank_degs)
        cells = strip_cells(cycle, PRINTED_WIDTH, cycle.size.height)
        say(grid_svg(cells, "One cycle of the crank"))
    else:
        _print(plan, engine, cam)
    return DONE


def _print(plan: Plan, engine: Engine, cam: Cam | None) -> None:
    say("Start with cylinder 1 at TDC on compression.")
    for position in plan.positions:
        say(f"{position.number}. turn on {degrees(position.turn_deg)} to {position.landmark}")
        for placed in position.valves:
            known = placed.margin_deg is not None
            margin = f"  {placed.margin_deg:5.1f}° from its lobe" if known else ""
            drop = engine.piston_drop_mm(placed.from_tdc_deg)
            far = f", {show_length(drop)} down" if drop is not None else ""
            say(
                f"     {placed.valve!s:<4}{margin}  piston {placed.from_tdc_deg:.0f}° from TDC{far}"
            )
        if position.also_free:
            say(f"     also on the heel: {' '.join(str(f.valve) for f in position.also_free)}")
    if plan.least_margin_deg is not None:
        say(f"Least margin {degrees(plan.least_margin_deg)}.")
    if cam is None:
        say("The cam is not known: right for any four-stroke cam.")
        return
    say(f"Worked out from the firing order and the cam card; {cam.source}.")
    for note in cam.notes():
        say(f"note: {note}")


def where(given: argparse.Namespace) -> int:
    """Work out the ranges that agree with the lifters felt up on the lobe or down on the heel."""
    setup = load_setup(Path(given.setup))
    engine, cam = setup.make_engine(), setup.make_cam()
    if cam is None:
        problem = "isn't known, so neither is any lobe"
        fault = Fault("cam", problem, "give the cam card, or find TDC by watching 1I close")
        raise Faulty(given.setup, [fault])
    up, down = _valves("--up", given.up, engine), _valves("--down", given.down, engine)
    found = ranges(engine, cam, up, down)
    following = feel_next(engine, cam, up, down) if found else None
    if given.json:
        told = {"ranges": [{"from_deg": s.start, "to_deg": s.last} for s in found]}
        say_json({**told, "feel_next": following and str(following)})
    elif not found:
        odd = " or ".join(map(str, odd_answers(engine, cam, up, down)))
        complain([f"no crank position agrees with all of that; feel {odd} again"])
    for span in found if not given.json else ():
        place = landmark(engine, span.start)
        say(f"from {degrees(span.start)} to {degrees(span.last)}  (starts {place})")
    if found and not given.json:
        say(f"Feel {following} next." if following else "No other lifter narrows it down further.")
        how = "Worked out from the cam card and what was felt"
        say(f"{how}; 0° is cylinder 1 at TDC on compression.")
    return DONE if found else FAULTS


def _valves(option: str, text: str, engine: Engine) -> list[Valve]:
    valves = []
    for name in filter(None, map(str.strip, text.split(","))):
        try:
            valves.append(Valve.parse(name))
        except ValueError as error:
            raise Usage(f"{option} {name}: {error}") from None
        if valves[-1] not in engine.valves:
            raise Usage(f"{option} {name}: this engine has cylinders 1 to {engine.cylinders}")
    return valves
