"""What `heelwise torque --setup` tells: a setup's torque by its own wrench, and if that will do."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from heelwise.commands.reading import read_document
from heelwise.documents.record_reading import Record
from heelwise.walk.wrench import judge_wrench


@dataclass(frozen=True)
class OfSetup:
    """The setting in N·m, how it was come by, keys for JSON, and what speaks against the wrench."""

    setting_nm: float
    how: str
    more: dict[str, Any]
    against: str


def of_setup(file: str, today: date) -> OfSetup:
    """Work out what to set on a setup's wrench for its rocker torque.

    Args:
        file: A setup, or a record.
        today: The day of use, for the calibration's age.

    Raises:
        Faulty: The file can't be used, or has no torque.
    """
    document = read_document(Path(file))
    setup = document.head.setup if isinstance(document, Record) else document
    setup.require("rocker.torque", file=file)
    setting, rocker, wrench = setup.setting_nm(), setup.rocker, setup.wrench
    assert setting is not None
    assert rocker is not None
    how = f"{rocker.torque} at the bolt ({file}: the maker's sheet)"
    if wrench is not None and wrench.adapter is not None:
        how += f", T·L/(L+E) with L, E = {wrench.length}, {wrench.adapter}"
    judged = judge_wrench(setup, today)
    more = {
        "torque_nm": rocker.torque_nm,
        "usable": judged.reach.usable if judged.reach else None,
        "calibration_due": judged.age.due if judged.age else None,
        "notes": list(judged.notes),
    }
    return OfSetup(setting, how, more, judged.against)
