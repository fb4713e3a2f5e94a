import pytest

from heelwise.valvetrain.received import TOLERANCE_MM, check_received
from heelwise.valvetrain.valves import Kind, Valve

I1, E1 = Valve(1, Kind.INTAKE), Valve(1, Kind.EXHAUST)
I2, E2 = Valve(2, Kind.INTAKE), Valve(2, Kind.EXHAUST)
ORDERED = {I1: 174.0, E1: 175.0, I2: 174.0, E2: 176.0}


def test_right_wrong_and_missing() -> None:
    found = check_received(ORDERED, {I1: 174.0 + TOLERANCE_MM, E1: 175.3, I2: 173.99})
    assert found.right == (I1, I2)
    assert found.wrong == (E1,)
    assert found.not_measured == (E2,)
    assert found.swaps == ()
    assert found.notes == (
        "1E: 6.902 in (175.30 mm) measured, 6.890 in (175.00 mm) ordered; measure it again the "
        "way the order states, then change it.",
    )


def test_swapped_labels_are_caught() -> None:
    found = check_received(ORDERED, {I1: 174.02, E1: 176.0, I2: 174.0, E2: 175.01})
    assert found.swaps == ((E1, E2),)
    assert found.notes == (
        "1E and 2E: each has the other's length; their labels look changed over.",
    )


def test_a_third_one_is_no_party_to_a_swap() -> None:
    found = check_received(ORDERED, {I1: 175.0, E1: 174.0, I2: 175.0, E2: 176.0})
    assert found.swaps == ((I1, E1),)
    assert found.wrong == (I1, E1, I2)
    assert [note[:2] for note in found.notes] == ["1I", "2I"]


def test_a_pushrod_nobody_ordered() -> None:
    other = Valve(3, Kind.INTAKE)
    assert check_received({I1: 174.0}, {I1: 174.0, other: 174.0}).notes == (
        "3I: nothing was ordered for it.",
    )


def test_a_length_is_above_zero() -> None:
    with pytest.raises(ValueError, match="1I"):
        check_received(ORDERED, {I1: 0.0})


def test_a_pushrod_that_fits_one_way_only_is_no_swap() -> None:
    found = check_received(ORDERED, {I1: 176.0, E1: 175.0, I2: 174.0, E2: 170.0})
    assert found.wrong == (I1, E2)
    assert found.swaps == ()
    assert len(found.notes) == 2
