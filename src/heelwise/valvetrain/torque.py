"""Torque between its units, against a wrench's range and age, and through an adapter."""

from datetime import date
from math import inf

# Newton meters in a pound-force foot, inch and kilogram-force meter (NIST SP 811, Appendix B.8).
NM_PER_LBF_FT = 0.3048 * 4.4482216152605
NM_PER_LBF_IN = NM_PER_LBF_FT / 12
NM_PER_KGF_M = 9.80665

# Whichever comes first (ISO 6789-1:2017, as its users cite it).
CALIBRATION_MONTHS = 12
CALIBRATION_CYCLES = 5000

_ADVISED_SHARE = 0.2


def adapter_setting(torque_nm: float, wrench_mm: float, adapter_mm: float) -> float:
    """The setting, in N·m, that makes a torque through an adapter in line: T·L/(L + E).

    L is from the middle of the grip to the head; E, on from there along the wrench, is 0 at a right
    angle and below 0 where the adapter points back.
    """
    if not min(wrench_mm, wrench_mm + adapter_mm) > 0:
        raise ValueError("the wrench must be longer than an adapter that points back, and than 0")
    return torque_nm / ((wrench_mm + adapter_mm) / wrench_mm)


def check_range(
    setting_nm: float, least_nm: float | None, most_nm: float | None
) -> tuple[bool, str]:
    """Whether a wrench can be set to a torque, and why; None for an end that isn't given.

    It is tested at 20, 60 and 100 % of its range (ISO 6789, as cited).
    """
    least, most = least_nm or 0.0, inf if most_nm is None else most_nm
    if not least <= setting_nm <= most:
        span = f"{_both(least)} to {_both(most)}" if least else f"up to {_both(most)}"
        if most_nm is None:
            span = f"{_both(least)} and more"
        return False, (
            f"The setting, {_both(setting_nm)}, is outside the wrench's range, {span}: "
            "use another wrench."
        )
    if most_nm is not None and setting_nm < _ADVISED_SHARE * most_nm:
        return True, (
            f"The setting, {_both(setting_nm)}, is below a fifth of the wrench's most, where "
            "it is not tested: a smaller wrench holds it better (advice; the range itself "
            "allows it)."
        )
    return True, "its range holds the setting"


def calibration(
    calibrated: date | None, cycles: int | None, today: date
) -> tuple[bool | None, str]:
    """Whether calibration is due (None: not known), in words too: 12 months or 5,000 cycles."""
    if cycles is not None and cycles >= CALIBRATION_CYCLES:
        allowed = f"{cycles:,} cycles since, {CALIBRATION_CYCLES:,} allowed"
        return True, f"calibration is due: {allowed}"
    if calibrated is None:
        return None, "not known when the wrench was calibrated: have it checked"
    if calibrated > today:  # says nothing of the wrench, and may have no year after it
        return None, f"calibrated on {calibrated}, which is still to come: check the date"
    # A wrench calibrated on 29 February falls due on the 28th.
    last = 28 if (calibrated.month, calibrated.day) == (2, 29) else calibrated.day
    due_on = calibrated.replace(year=calibrated.year + CALIBRATION_MONTHS // 12, day=last)
    if today >= due_on:
        return True, f"calibration is due since {due_on}: {CALIBRATION_MONTHS} months are over"
    return False, f"calibrated on {calibrated}, due on {due_on}"


def _both(nm: float) -> str:
    return f"{nm:.1f} N·m ({nm / NM_PER_LBF_FT:.1f} lbf ft)"
