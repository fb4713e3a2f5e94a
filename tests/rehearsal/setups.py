"""The rehearsal's setups by card and procedure name."""

from __future__ import annotations

from heelwise.documents.setup import Setup
from heelwise.rehearsal.scenario import DEFAULT_PROCEDURE, procedure_called, setup_by


def setup_for(card: str, procedure: str = DEFAULT_PROCEDURE) -> Setup:
    return setup_by(card, procedure_called(procedure))
