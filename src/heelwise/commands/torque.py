"""`heelwise torque`: a setting in both units, and what to set with an adapter in line."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from heelwise.commands.reporting import DONE, FAULTS, Usage, say, say_json
from heelwise.documents.faults import QuantityFault
from heelwise.documents.quantities import length_mm, show_length, torque_nm
from heelwise.valvetrain.torque import (
    adapter_setting,
    kgf_m_from_nm,
    lbf_ft_from_nm,
    lbf_in_from_nm,
)


def run(given: argparse.Namespace) -> int:
    """Convert the setting and print it."""
    if given.setup is not None:
        return _of_setup(given)
    if not given.setting:
        raise Usage("give SETTING (30 lbf ft), or --setup FILE")
    if (given.wrench_length is None) != (given.adapter is None):
        raise Usage("--wrench-length and --adapter go together")
    setting = _quantity("SETTING", " ".join(given.setting), torque_nm)
    how = "no adapter, so set what the bolt is to get"
    if given.adapter is not None:
        wrench = _quantity("--wrench-length", given.wrench_length, length_mm)
        adapter = _quantity("--adapter", given.adapter, _adapter_mm)
        try:
            setting = adapter_setting(setting, wrench, adapter)
        except ValueError as error:
            raise Usage(str(error)) from None
        how = _in_line(show_length(wrench, "in"), show_length(adapter, "in"))
    _print(given, setting, how, {})
    return DONE


def _of_setup(given: argparse.Namespace) -> int:
    """The setup's own torque, by its wrench: what to set, and whether the wrench will do."""
    from heelwise.documents.files import FileKind, kind_of  # models are read only where asked
    from heelwise.documents.record import read_record
    from heelwise.documents.setup import load_setup
    from heelwise.walk.prepare import judge_wrench

    if given.setting or given.wrench_length or given.adapter:
        raise Usage("--setup stands alone: torque, wrench and adapter are the setup's")
    file = Path(given.setup)
    is_record = kind_of(file) is FileKind.RECORD
    setup = read_record(file).head.setup if is_record else load_setup(file)
    setup.require("rocker.torque", file=given.setup)
    setting, rocker, wrench = setup.setting_nm(), setup.rocker, setup.wrench
    assert setting is not None
    assert rocker is not None
    how = f"{rocker.torque} at the bolt ({given.setup}: the maker's sheet)"
    if wrench is not None and wrench.adapter is not None:
        how += f", {_in_line(wrench.length, wrench.adapter)}"
    judged = judge_wrench(setup, date.today())
    more = {
        "torque_nm": rocker.torque_nm,
        "usable": judged.usable,
        "calibration_due": judged.calibration_due,
        "notes": list(judged.notes),
    }
    _print(given, setting, how, more)
    return FAULTS if judged.against else DONE


def _in_line(wrench: str | None, adapter: str) -> str:
    return f"T·L/(L+E) with L, E = {wrench}, {adapter}, the adapter in line with the wrench"


def _print(given: argparse.Namespace, setting: float, how: str, more: Mapping[str, Any]) -> None:
    pounds, inch_pounds = lbf_ft_from_nm(setting), lbf_in_from_nm(setting)
    kilograms = kgf_m_from_nm(setting)
    if given.json:
        units = {"setting_nm": setting, "setting_lbf_ft": pounds, "setting_lbf_in": inch_pounds}
        say_json({**units, "setting_kgf_m": kilograms, **more})
        return
    pair = f"set {pounds:.1f} lbf ft = {setting:.1f} N·m"
    say(f"{pair} = {inch_pounds:.0f} lbf in = {kilograms:.2f} kgf m")
    say(f"{how[0].upper()}{how[1:]}; 1 lbf ft = 1.355818 N·m (NIST SP 811).")
    for note in more.get("notes", ()):
        say(f"wrench: {note}")


def _adapter_mm(text: object) -> float:
    """An adapter's length in mm, below 0 where it points back along the handle."""
    back = isinstance(text, str) and text.strip().startswith(("-", "−"))
    return -length_mm(str(text).strip()[1:]) if back else length_mm(text)


def _quantity(name: str, text: str, read: Callable[[object], float]) -> float:
    try:
        return read(text)
    except QuantityFault as fault:
        raise Usage(f"{name} {text}: {fault.problem}; {fault.instead}") from None
