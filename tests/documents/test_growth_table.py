"""[growth] of a setup: preload lost hot by hand, the ceiling less what is gained, every fault."""

from typing import Any

import pytest

from heelwise.documents.faults import Faulty
from heelwise.documents.setup import Setup, parse_setup
from heelwise.documents.setup_growth import GrowthTable
from tests.rehearsal.setups import setup_for

INCH = 25.4
ALUMINUM: dict[str, Any] = {
    "block": "aluminum 356.0",
    "block_length": "4 in",
    "heads": "aluminum 356.0",
    "heads_length": "4 in",
    "pushrod": "steel 4140",
}


def setup_with(growth: dict[str, Any], **lifter: Any) -> Setup:
    raw: dict[str, Any] = dict(setup_for("i4-1342").to_toml_dict())
    raw["growth"] = growth
    raw["lifter"] = {**raw["lifter"], **lifter}
    return parse_setup(raw, "s.toml")


def test_preload_lost_by_hand() -> None:
    """8 in of aluminum 356.0 (21.5) less 8 in of 4140 (12.3), 70 K: 0.0052 in
    (coefficients: Callister, Appendix B, Table B.6)."""
    lost = setup_with(ALUMINUM).growth_mm(8 * INCH)
    assert lost == pytest.approx(8 * INCH * 70 * (21.5 - 12.3) * 1e-6)
    assert lost == pytest.approx(0.0052 * INCH, abs=0.0001 * INCH)


def test_the_gasket_counts_and_temperatures_are_the_setups() -> None:
    """0.040 in of copper (17.0) more, and 100 K instead of 70."""
    more = {**ALUMINUM, "gasket": "copper C11000", "gasket_length": "0.040 in"}
    lost = setup_with({**more, "cold_c": 10.0, "hot_c": 110.0}).growth_mm(8 * INCH)
    assert lost == pytest.approx(100e-6 * INCH * (8 * (21.5 - 12.3) + 0.040 * 17.0))


def test_a_pushrod_that_grows_more_brings_the_ceiling_down() -> None:
    """8 in of gray iron (11.4) and a 304 pushrod (17.2) as long: preload is gained hot."""
    iron = {**ALUMINUM, "block": "gray iron", "heads": "gray iron"}
    found = setup_with({**iron, "pushrod": "stainless steel 304"})
    assert found.pushrods is not None
    longest = max(found.pushrods.length(kind) for kind in ("I", "E"))  # type: ignore[arg-type]
    gained = 70e-6 * (17.2 * longest - 11.4 * 8 * INCH)
    assert found.hot_gain_mm() == pytest.approx(gained)
    assert setup_with(ALUMINUM).hot_gain_mm() == 0.0


def test_without_the_table_nothing_is_said() -> None:
    plain = setup_for("i4-1342")
    assert plain.growth_mm(200.0) is None
    assert plain.hot_gain_mm() == 0.0


@pytest.mark.parametrize(
    ("growth", "told"),
    [
        ({}, "growth: names no materials"),
        ({**ALUMINUM, "block": "aluminum 365.0"}, "growth.block: there is no material"),
        ({"block": "gray iron"}, "growth.pushrod: is missing"),
        ({**ALUMINUM, "gasket": "copper C11000"}, "growth.gasket_length: is missing"),
        ({**ALUMINUM, "heads_length": "4"}, "growth.heads_length"),
        ({**ALUMINUM, "hot_c": 900.0}, "growth.hot_c"),
    ],
)
def test_faults(growth: dict[str, Any], told: str) -> None:
    with pytest.raises(Faulty) as caught:
        setup_with(growth)
    assert told in "\n".join(str(fault) for fault in caught.value.faults)


def test_solid_lifters_grow_in_lash() -> None:
    raw: dict[str, Any] = dict(setup_for("i4-1342").to_toml_dict())
    raw["lifter"] = {"kind": "solid roller"}
    raw["growth"] = ALUMINUM
    with pytest.raises(Faulty, match=r'growth: a "solid roller" lifter has lash'):
        parse_setup(raw, "s.toml")


def test_a_metal_is_read_in_either_spelling() -> None:
    older = {**ALUMINUM, "block": "grey iron", "heads": "aluminium 356.0"}
    table = GrowthTable(**older)
    assert (table.block, table.heads) == ("gray iron", "aluminum 356.0")
