"""Torque between its units, against a wrench's range and age, and through an adapter."""

from dataclasses import dataclass
from datetime import date

NM_PER_LBF_FT = 0.3048 * 4.4482216152605
"""Newton metres in one pound-force foot (NIST SP 811, Appendix B.8: 1.355 818)."""

NM_PER_LBF_IN = NM_PER_LBF_FT / 12
"""Newton metres in one pound-force inch (NIST SP 811, Appendix B.8: 0.112 984 8)."""

NM_PER_KGF_M = 9.80665
"""Newton metres in one kilogram-force metre (standard gravity; NIST SP 811, Appendix B.8)."""

ANY_TORQUE_NM = 1e6
"""Stands for the end of a range that isn't given: more than any wrench's."""

CALIBRATION_MONTHS = 12
CALIBRATION_CYCLES = 5000
"""Whichever comes first (ISO 6789-1:2017, as its users cite it)."""

_ADVISED_SHARE = 0.2


@dataclass(frozen=True)
class Wrench:
    """A torque wrench: range in N·m, when it was calibrated and how often used since."""

    least_nm: float
    most_nm: float
    calibrated: date | None = None
    cycles: int | None = None


@dataclass(frozen=True)
class RangeCheck:
    """Whether a wrench can be set to a torque, and remarks."""

    usable: bool
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Calibration:
    """Whether calibration is due (None: not known), in words too."""

    due: bool | None
    text: str


def lbf_ft_from_nm(nm: float) -> float:
    """N·m as pound-force feet."""
    return nm / NM_PER_LBF_FT


def lbf_in_from_nm(nm: float) -> float:
    """N·m as pound-force inches."""
    return nm / NM_PER_LBF_IN


def kgf_m_from_nm(nm: float) -> float:
    """N·m as kilogram-force metres."""
    return nm / NM_PER_KGF_M


def adapter_setting(torque_nm: float, wrench_mm: float, adapter_mm: float) -> float:
    """The setting, in N·m, that makes a torque through an adapter in line: T·L/(L + E).

    The click feels the moment at its own head; the adapter adds E of lever beyond it. L is from
    the middle of the grip to the head. E, from there to the fastener along the wrench, is 0 at a
    right angle and below 0 where the adapter points back along the handle.
    """
    if not min(wrench_mm, wrench_mm + adapter_mm) > 0:
        raise ValueError("the wrench must be longer than an adapter that points back, and than 0")
    return torque_nm / ((wrench_mm + adapter_mm) / wrench_mm)


def check_range(setting_nm: float, wrench: Wrench) -> RangeCheck:
    """Whether a wrench can be set to a torque; tested at 20, 60 and 100 % (ISO 6789, as cited)."""
    if not wrench.least_nm <= setting_nm <= wrench.most_nm:
        note = (
            f"The setting, {_both(setting_nm)}, is outside the wrench's range, "
            f"{_span(wrench)}: use another wrench."
        )
        return RangeCheck(False, (note,))
    if setting_nm < _ADVISED_SHARE * wrench.most_nm and wrench.most_nm < ANY_TORQUE_NM:
        note = (
            f"The setting, {_both(setting_nm)}, is below a fifth of the wrench's most, where "
            "it is not tested: a smaller wrench holds it better (advice; the range itself "
            "allows it)."
        )
        return RangeCheck(True, (note,))
    return RangeCheck(True, ())


def calibration(wrench: Wrench, today: date) -> Calibration:
    """Whether a wrench's calibration is due: after 12 months or 5,000 cycles."""
    calibrated, cycles = wrench.calibrated, wrench.cycles
    if cycles is not None and cycles >= CALIBRATION_CYCLES:
        words = f"calibration is due: {cycles:,} cycles since, {CALIBRATION_CYCLES:,} allowed"
        return Calibration(True, words)
    if calibrated is None:
        return Calibration(None, "not known when the wrench was calibrated: have it checked")
    if calibrated > today:  # says nothing of the wrench, and may have no year after it
        words = f"calibrated on {calibrated}, which is still to come: check the date"
        return Calibration(None, words)
    # A wrench calibrated on 29 February falls due on the 28th.
    last = 28 if (calibrated.month, calibrated.day) == (2, 29) else calibrated.day
    due_on = calibrated.replace(year=calibrated.year + CALIBRATION_MONTHS // 12, day=last)
    if today >= due_on:
        over = f"calibration is due since {due_on}: {CALIBRATION_MONTHS} months are over"
        return Calibration(True, over)
    return Calibration(False, f"calibrated on {calibrated}, due on {due_on}")


def _span(wrench: Wrench) -> str:
    if wrench.most_nm >= ANY_TORQUE_NM:
        return f"{_both(wrench.least_nm)} and more"
    least = f"{_both(wrench.least_nm)} to" if wrench.least_nm else "up to"
    return f"{least} {_both(wrench.most_nm)}"


def _both(nm: float) -> str:
    return f"{nm:.1f} N·m ({lbf_ft_from_nm(nm):.1f} lbf ft)"
