"""Entries to TOML and back, and what an entry may not say."""

import tomllib
from datetime import UTC, datetime

import pytest

from heelwise.documents import entries as e
from heelwise.documents.faults import Faulty

AT = datetime(2031, 5, 4, 9, 0, tzinfo=UTC)

BODIES: list[e.AnyBody] = [
    e.Noted(text="a nick", valve="2E", photo="IMG_0042.JPG"),
    e.Drawn(valves=["1I", "1E"], stand="1I and 1E", torque="24 lbf ft", at_deg=0.0, on_lobe=["1E"]),
    e.Checked(
        valve="1I",
        length="7.350 in",
        at_deg=90.0,
        margin_deg=50.0,
        preload_mm=1.5,
        preload_from="the lifter's sheet",
        wanted_mm=188.2,
    ),
    e.Checked(
        valve="1I",
        length="7.300 in",
        lash="0.051 in",
        cup_above_mm=-0.762,
        zero_lash_mm=186.944,
        at_deg=90.0,
        preload_mm=1.5,
        preload_from="the lifter's sheet",
        wanted_mm=188.444,
    ),
    e.Gauged(
        valve="1I",
        reading="0.015 in",
        what="lash",
        phase="fit",
        locked=True,
        at_deg=90.0,
        least_mm=0.35,
        most_mm=0.4,
        limits_from="the sheet",
        step_mm=0.0254,
        verdict="inside",
        near=False,
    ),
    e.Proved(valve="1I", outcome="held", torque="the sheet's torque", at_deg=90.0),
    e.ProvedApart(valve="1I", outcome="slipped", torque="24 lbf ft", at_deg=90.0),
]


@pytest.mark.parametrize("body", BODIES, ids=lambda body: body.kind)
def test_an_entry_comes_back_as_it_was(body: e.AnyBody) -> None:
    entry = e.Entry(7, AT, "T1", body, (2, 5))
    text = e.entry_text(entry)
    assert "\n[[entry]]\n" in text
    (raw,) = tomllib.loads(text)["entry"]
    assert e.parse_entry(raw, 7, "r.toml") == entry


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"kind": "noted", "text": "x", "photo": "../x.jpg"}, "without a folder"),
        ({"kind": "noted", "text": "x", "photo": "x"}, "without a folder"),
        ({"kind": "proved apart", "valve": "1I", "outcome": "fine", "torque": "t", "at_deg": 0.0},
         "entry 7.outcome"),
        ({"kind": "drawn down", "valves": ["1I"], "stand": "s", "torque": "t", "at_deg": 720.0},
         "entry 7.at_deg"),
        ({"kind": "gauged", "valve": "1I"}, "entry 7.reading"),
    ],
)  # fmt: skip
def test_what_an_entry_may_not_say(keys: dict[str, object], said: str) -> None:
    raw = {"number": 7, "at": AT, "by": "T1", **keys}
    with pytest.raises(Faulty) as refused:
        e.parse_entry(raw, 7, "r.toml")
    assert any(said in str(fault) for fault in refused.value.faults)
