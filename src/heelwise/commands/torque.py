"""`heelwise torque`: a setting in all units, and what to set with an adapter in line."""

import argparse
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from heelwise.commands.reporting import DONE, FAULTS, Usage, say, say_json
from heelwise.documents.faults import QuantityFault
from heelwise.documents.quantities import length_mm, show_length, torque_nm
from heelwise.valvetrain import torque as units

_IN_LINE = "T·L/(L+E) with L, E = {}, {}, the adapter in line with the wrench"


def torque(given: argparse.Namespace) -> int:
    """Convert the setting that was typed, or a setup's, and print it."""
    if given.setup is not None:
        return _of_setup(given)
    if not given.setting:
        raise Usage("give SETTING (30 lbf ft), or --setup FILE")
    if (given.wrench_length is None) != (given.adapter is None):
        raise Usage("--wrench-length and --adapter go together")
    setting = _quantity("SETTING", " ".join(given.setting), torque_nm)
    how = "No adapter, so set what the bolt is to get"
    if given.adapter is not None:
        back = given.adapter.lstrip().startswith(("-", "−"))  # it points back along the handle
        wrench = _quantity("--wrench-length", given.wrench_length, length_mm)
        adapter = _quantity("--adapter", given.adapter.strip().lstrip("-−"), length_mm)
        adapter = -adapter if back else adapter
        try:
            setting = units.adapter_setting(setting, wrench, adapter)
        except ValueError as error:
            raise Usage(str(error)) from None
        how = _IN_LINE.format(show_length(wrench, "in"), show_length(adapter, "in"))
    _print(given, setting, how)
    return DONE


def _quantity(name: str, text: str, read: Callable[[object], float]) -> float:
    try:
        return read(text)
    except QuantityFault as fault:
        raise Usage(f"{name} {text}: {fault.problem}; {fault.instead}") from None


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
        how += f", {_IN_LINE.format(wrench.length, wrench.adapter)}"
    judged = judge_wrench(setup, date.today())
    checked = {"usable": judged.usable, "calibration_due": judged.calibration_due}
    notes = list(judged.notes)
    _print(given, setting, how, torque_nm=rocker.figure("torque"), **checked, notes=notes)
    return FAULTS if judged.against else DONE


def _print(given: argparse.Namespace, setting: float, how: str, **more: Any) -> None:
    pounds, inch_pounds = setting / units.NM_PER_LBF_FT, setting / units.NM_PER_LBF_IN
    kilograms = setting / units.NM_PER_KGF_M
    if given.json:
        told = {"setting_nm": setting, "setting_lbf_ft": pounds, "setting_lbf_in": inch_pounds}
        say_json({**told, "setting_kgf_m": kilograms, **more})
        return
    pair = f"set {pounds:.1f} lbf ft = {setting:.1f} N·m"
    say(f"{pair} = {inch_pounds:.0f} lbf in = {kilograms:.2f} kgf m")
    say(f"{how}; 1 lbf ft = 1.355818 N·m (NIST SP 811).")
    for note in more.get("notes", ()):
        say(f"wrench: {note}")
