"""The sign of every valve as pictures show it, from where a build stands."""

from __future__ import annotations

from heelwise.documents.entries import Gauged, NoClick, Read
from heelwise.pictures.roles import ValveSign
from heelwise.valvetrain.engine import Valve
from heelwise.walk.state import BuildState, ValveState


def states_of(state: BuildState) -> dict[Valve, ValveSign]:
    """A sign for every valve of the engine, in its order, from a record's folded entries."""
    return {valve: _sign(state, of_it) for valve, of_it in sorted(state.valves.items())}


def _sign(state: BuildState, of_it: ValveState) -> ValveSign:
    if of_it.proof is not None:
        return ValveSign.PROVED
    if of_it.loosened_for and of_it.loosened_for != "trial over":
        return ValveSign.BACKED_OFF
    if of_it.last_count is None or of_it.last_count.number < of_it.touched:
        if of_it.valve in state.trial_loaded:
            return ValveSign.TRIAL
        return ValveSign.NOT_DONE if of_it.last_count is None else ValveSign.COUNTED
    return _counted(of_it, of_it.last_count.body)


def _counted(of_it: ValveState, body: Read | Gauged | NoClick) -> ValveSign:
    if isinstance(body, NoClick):
        # The turns never to pass were reached without a click: more preload than allowed.
        return ValveSign.LONG
    if body.verdict == "inside":
        return ValveSign.NEAR if body.near else ValveSign.INSIDE
    if of_it.acceptance:
        return ValveSign.ACCEPTED
    return ValveSign.LONG if body.verdict in ("tight", "long") else ValveSign.SHORT
