"""The state of every valve as pictures show it, from where a build stands."""

from __future__ import annotations

from heelwise.documents.entries import Ceiling, Gauged, Read
from heelwise.pictures.roles import ValveState
from heelwise.valvetrain.valves import Valve
from heelwise.walk.standing import Standing, ValveStanding


def states_of(standing: Standing) -> dict[Valve, ValveState]:
    """A state for every valve of the engine, in its order, from a record's folded entries."""
    return {valve: _state(standing, one) for valve, one in sorted(standing.valves.items())}


def _state(standing: Standing, one: ValveStanding) -> ValveState:
    if one.proof is not None:
        return ValveState.PROVED
    if one.loosened_for and one.loosened_for != "trial over":
        return ValveState.BACKED_OFF
    if one.last_count is None or one.last_count.number < one.touched:
        if one.valve in standing.trial_loaded:
            return ValveState.TRIAL
        return ValveState.NOT_DONE if one.last_count is None else ValveState.COUNTED
    return _counted(one)


def _counted(one: ValveStanding) -> ValveState:
    body = one.last_count.body if one.last_count else None
    if isinstance(body, Ceiling):
        # The turns never to pass were reached without a click: more preload than allowed.
        return ValveState.LONG
    if isinstance(body, Gauged) and body.verdict != "inside":
        word = ValveState.LONG if body.verdict == "tight" else ValveState.SHORT
        return ValveState.ACCEPTED if one.acceptance else word
    assert isinstance(body, Read | Gauged), "a count is a reading or ended at the ceiling"
    if body.verdict == "inside":
        return ValveState.NEAR if body.near else ValveState.INSIDE
    return ValveState.ACCEPTED if one.acceptance else ValveState(body.verdict)
