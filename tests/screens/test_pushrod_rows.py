"""The rows of the set of pushrods: lengths at zero lash, repeats, stock, growth, what to expect."""

from __future__ import annotations

from heelwise.documents.entries import Read
from heelwise.screens.pushrods import checked_rows, figures, repeats_said, to_buy, valve_rows
from heelwise.screens.styled_text import Part
from heelwise.walk.pushrod_set import set_of
from tests.walk.driving import Drive, changed_setup, no_faults


def text_of(rows: list[list[Part]]) -> str:
    return "\n".join("".join(text for text, _ in row) for row in rows)


def counted_again() -> Drive:
    drive = no_faults()
    drive.until(lambda prompt: prompt.phase == "fit" and prompt.records == "count")
    drive.step("2")
    drive.step("1")
    drive.until(lambda prompt: prompt.records == "count")
    drive.step()
    return drive


def test_counts_made_twice_are_set_side_by_side() -> None:
    drive = counted_again()
    first, last = (e.body for e in drive.kept[-3:] if isinstance(e.body, Read)), drive.kept[-1].body
    assert isinstance(last, Read)
    assert any(body.valve == last.valve for body in first)
    said = text_of(repeats_said(set_of(drive.scene)))
    assert said.startswith(last.valve)
    assert "they disagree" in said
    assert "the latest is judged" in said


def test_a_poor_chance_is_told_with_what_to_do() -> None:
    drive = no_faults()
    drive.until(lambda prompt: prompt.phase == "fit" and prompt.records == "count")
    drive.step("3/4")  # on its limit: as likely outside as inside
    said = text_of(to_buy(set_of(drive.scene)))
    assert "then expect" in said
    assert "% inside" in said
    poor = [line for line in said.splitlines() if "count again, finer" in line]
    valve = drive.kept[-1].body
    assert isinstance(valve, Read)
    found = {e.valve: e for e in set_of(drive.scene).expected(set_of(drive.scene).order())}
    assert len(poor) == sum(each.chance < 0.75 for each in found.values())


def test_lengths_at_zero_lash_stand_before_anything_is_counted() -> None:
    drive = no_faults(name="solid-checking-lifter")
    drive.until(lambda prompt: prompt.id == "walk/order")
    said = text_of(checked_rows(set_of(drive.scene)))
    assert said.count("leaves zero lash") == 2
    assert said.count("solid checking lifter") == 2
    assert "try " in said


def test_growth_stands_among_the_figures_and_beside_each_count() -> None:
    growth: dict[str, object] = {
        "block": "grey iron",
        "block_length": "3 in",
        "heads": "aluminium 356.0",
        "heads_length": "4 in",
        "pushrod": "steel 4130",
    }
    drive = no_faults().on(changed_setup("i4-1342", growth=growth).to_toml_dict())
    drive.until(lambda prompt: prompt.phase == "fit")
    assert "Callister" in text_of(figures(drive.scene))
    rows = text_of(valve_rows(drive.scene, 20)).splitlines()
    assert rows
    assert all(" Hot, about 0.0" in row for row in rows)
