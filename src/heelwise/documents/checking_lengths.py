"""An adjustable checking pushrod's length as it is typed: measured, or by its turns out."""

from heelwise.documents.faults import quoted
from heelwise.documents.quantities import length_mm, turns
from heelwise.documents.typed_numbers import LONGEST, QuantityFault
from heelwise.valvetrain.checking import checking_length

EXAMPLE = "like 7.400 in or 6.800 in + 3 1/2"
"""Both ways to type it, short enough for a line of a small screen."""

_INSTEAD = "write its shortest length, +, and its turns out: 6.800 in + 3 1/2"


def by_turns_out(text: str) -> bool:
    """Tell whether a length is typed as a shortest length and turns out.

    Args:
        text: As typed.

    Returns:
        True if a plus sign stands in it.
    """
    return "+" in text


def checking_pushrod_mm(text: str, pitch_mm: float) -> float:
    """Read an adjustable checking pushrod's length.

    Args:
        text: A length, "7.400 in"; or its shortest length and turns out, "6.800 in + 3 1/2".
        pitch_mm: What one turn adds, in mm: its own pitch, above 0.

    Returns:
        Its length in mm.

    Raises:
        QuantityFault: If it is neither, or its length is 0.
    """
    if not by_turns_out(text):
        return length_mm(text)
    if len(text) > LONGEST:
        raise QuantityFault(f"{quoted(text)} is too long for a length", _INSTEAD)
    shortest, _, out = text.partition("+")
    if not shortest.strip() or not out.strip():
        raise QuantityFault(f"{quoted(text)} lacks what stands on a side of its +", _INSTEAD)
    try:
        return checking_length(length_mm(shortest.strip()), turns(out.strip()), pitch_mm)
    except QuantityFault as fault:
        raise QuantityFault(fault.problem, _INSTEAD) from None
    except ValueError:
        raise QuantityFault(f"{quoted(text)} begins with no length above 0", _INSTEAD) from None
