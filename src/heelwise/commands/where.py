"""`heelwise where`: where the crank is, from lifters felt up on the lobe or down on the heel."""

from __future__ import annotations

import argparse
from pathlib import Path

from heelwise.commands.reporting import DONE, FAULTS, Usage, complain, say, say_json
from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.setup import load_setup
from heelwise.valvetrain.engine import Engine, Valve
from heelwise.valvetrain.turn import degrees, landmark
from heelwise.valvetrain.where import feel_next, odd_answers, ranges


def run(given: argparse.Namespace) -> int:
    """Work out the ranges that agree with what was felt, and print them."""
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
        say_json({**told, "feel_next": str(following) if following else None})
        return DONE if found else FAULTS
    if not found:
        odd = " or ".join(str(v) for v in odd_answers(engine, cam, up, down))
        complain([f"no crank position agrees with all of that; feel {odd} again"])
        return FAULTS
    for span in found:
        place = landmark(engine, span.start)
        say(f"from {degrees(span.start)} to {degrees(span.last)}  (starts {place})")
    say(f"Feel {following} next." if following else "No other lifter narrows it down further.")
    say("Worked out from the cam card and what was felt; 0° is cylinder 1 at TDC on compression.")
    return DONE


def _valves(option: str, text: str, engine: Engine) -> list[Valve]:
    found = []
    for name in filter(None, (part.strip() for part in text.split(","))):
        try:
            valve = Valve.parse(name)
        except ValueError as error:
            raise Usage(f"{option} {name}: {error}") from None
        if valve not in engine.valves:
            raise Usage(f"{option} {name}: this engine has cylinders 1 to {engine.cylinders}")
        found.append(valve)
    return found
