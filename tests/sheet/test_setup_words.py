"""What a setup says, for every place that shows it."""

from datetime import date

import pytest

from heelwise.documents.setup import Setup, parse_setup
from heelwise.sheet.sections import Section
from heelwise.sheet.setup_words import (
    UNKNOWN,
    setup_sections,
    table_sections,
    typed_length,
)
from heelwise.walk.build import Build
from heelwise.walk.scene import Scene
from heelwise.walk.state import fold
from tests.sheet.records import bolt_down

TODAY = date(2026, 11, 26)


def setup_of(**changed: object) -> Setup:
    raw: dict[str, object] = {
        "format": 1,
        "engine": {"card": "i6-153624"},
        "cam": {
            "intake_duration": 256.0,
            "exhaust_duration": 262.0,
            "lobe_separation": 110.5,
            "intake_centerline": 106.0,
            "at_lift": "0.15 mm",
        },
        "rocker": {"mount": "bolt-down", "ratio": 1.55, "thread": "M10x1.5", "torque": "42 N·m"},
        "lifter": {
            "kind": "hydraulic roller",
            "least_preload": "0.60 mm",
            "most_preload": "1.80 mm",
            "travel_per_turn": "1.60 mm",
            "plunger_travel": "4.6 mm",
        },
        "pushrods": {"intake": "218.0 mm", "exhaust": "218.0 mm"},
        "wrench": {"name": "bench wrench", "least": "20 N·m", "most": "110 N·m"},
        **changed,
    }
    return parse_setup(raw, "setup")


def scene_of(setup: Setup) -> Scene:
    build = Build(setup, bolt_down())
    return Scene(build, fold(build.engine.valves, ()))


def by_label(section: Section) -> dict[str, tuple[str, ...]]:
    return {row.cells[0]: row.cells[1:] for row in section.rows}


def test_every_table_of_a_setup_is_shown() -> None:
    setup = setup_of()
    (parts,) = table_sections(setup)
    shown = by_label(parts)
    given = {name for name in type(setup).model_fields if getattr(setup, name)}
    for name in given - {"format"}:
        assert name in shown, f"[{name}] is shown nowhere"
    assert "218.0 mm" in shown["pushrods"][0]
    assert "42" in shown["rocker"][0]
    assert all(source for _, source in shown.values())


def test_a_table_without_words_of_its_own_is_shown_key_by_key() -> None:
    """What a newcomer adds to the setup shows without a line written here."""

    class Wider(Setup):
        hoist: dict[str, str] | None = None

    setup = Wider.model_validate({**setup_of().to_toml_dict(), "hoist": {"chain_length": "3 m"}})
    assert by_label(table_sections(setup)[-1])["hoist"][0] == "chain length 3 m"


def test_a_table_of_a_newer_version_is_shown_as_it_stands() -> None:
    raw = {**setup_of().to_toml_dict(), "hoist": {"chain_length": "3 m"}}
    shown = by_label(table_sections(parse_setup(raw, "a record", resolve=False))[-1])
    assert shown["hoist"] == ("chain length 3 m", UNKNOWN)


def test_the_positions_ahead_are_a_table_with_every_valve_once() -> None:
    scene = scene_of(setup_of())
    work = setup_sections(scene, TODAY)[-1]
    assert work.key == "work"
    assert [row.cells[0] for row in work.rows] == [str(p.number) for p in scene.plan.positions]
    valves = sorted(valve for row in work.rows for valve in row.valves)
    assert valves == sorted(map(str, scene.build.engine.valves))


def test_a_wrench_out_of_range_is_said_with_the_setup() -> None:
    wrench = {"name": "small", "least": "2 N·m", "most": "10 N·m"}
    window = setup_sections(scene_of(setup_of(wrench=wrench)), TODAY)[-2]
    assert window.key == "window"
    assert "WRENCH" in by_label(window)


def test_where_the_lobes_end_is_told_in_either_unit() -> None:
    rows = {row.cells[0]: row for row in table_sections(setup_of())[-1].rows}
    assert "0.15 mm of lift" in rows["lobe ends"].painted("mm")[-1]
    assert "0.006 in of lift" in rows["lobe ends"].painted("in")[-1]


def test_without_a_cam_nothing_of_a_lobe_is_claimed() -> None:
    shown = by_label(table_sections(setup_of(cam={"known": False}))[-1])
    assert "cam" in shown
    assert "lobe ends" not in shown


@pytest.mark.parametrize(
    ("typed", "inches", "millimeters"),
    [
        ("7.400 in", "7.400 in", "7.400 in = 187.96 mm"),
        ("218.0 mm", "218.0 mm = 8.583 in", "218.0 mm"),
        ("50 thou", "50 thou = 0.050 in", "50 thou = 1.27 mm"),
        ("M8x1.25", "M8x1.25", "M8x1.25"),
    ],
)
def test_a_typed_length_keeps_its_words(typed: str, inches: str, millimeters: str) -> None:
    text = typed_length(typed)
    assert str(text) == typed
    painted = getattr(text, "painted", lambda unit: text)
    assert (painted("in"), painted("mm")) == (inches, millimeters)


def test_solid_lifters_show_their_lash() -> None:
    lash = {"measured": "cold", "intake": "0.012 in", "exhaust": "0.016 in"}
    setup = setup_of(lifter={"kind": "solid roller"}, lash=lash)
    assert "lash" in by_label(table_sections(setup)[-1])


def test_odd_figures_are_to_be_looked_at_again_before_anything_is_asked() -> None:
    def looked_at(**changed: object) -> list[str]:
        sections = setup_sections(scene_of(setup_of(**changed)), TODAY)
        return [str(row.cells[0]) for s in sections if s.key == "odd" for row in s.rows]

    job = {"engine_serial": "A 1"}
    cam = {**setup_of().to_toml_dict()["cam"], "lobe_separation": 11.5}
    assert looked_at(job=job) == []
    assert [row.partition(":")[0] for row in looked_at()] == ["job"]
    assert "cam.lobe_separation" in [row.partition(":")[0] for row in looked_at(cam=cam, job=job)]
