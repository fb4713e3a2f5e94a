"""What a preload becomes once the engine is hot, by [growth] of the setup."""

from __future__ import annotations

from heelwise.documents import quantities
from heelwise.documents.setup import Setup
from heelwise.valvetrain.figures import length_text
from heelwise.valvetrain.growth import HotPreload, hot_preload
from heelwise.valvetrain.verdict import Window, preload_mm
from heelwise.walk.prompts import Fact
from heelwise.walk.scene import Scene


def hot_of(
    setup: Setup,
    window: Window,
    travel_mm: float,
    seat_turns: float,
    pushrod_mm: float,
    turns: float,
) -> HotPreload | None:
    """The preload hot that a count comes to, against the window and the plunger's travel.

    Args:
        setup: The setup, whose [growth] names the materials.
        window: The turns allowed, cold.
        travel_mm: Plunger travel for one turn in use, in mm.
        seat_turns: Turns that seat the rocker without moving the plunger.
        pushrod_mm: The pushrod's length in mm.
        turns: The count.

    Returns:
        Cold and hot preload in mm; None where the setup has no [growth].
    """
    growth = setup.growth_mm(pushrod_mm)
    if growth is None:
        return None
    cold, least, most = (
        preload_mm(each, travel_mm, seat_turns)
        for each in (turns, window.least_turns, window.most_turns)
    )
    return hot_preload(cold, growth, setup.plunger_travel_mm(), least, most)


def hot_said(scene: Scene, pushrod: str, turns: float) -> str:
    """A count's preload hot in words, with what is to be said about it; "" without [growth]."""
    found = hot_of(
        scene.build.setup,
        scene.window,
        scene.travel.used.mm,
        scene.seat_turns,
        quantities.length_mm(pushrod),
        turns,
    )
    if found is None:
        return ""
    notes = "".join(f" {note}" for note in found.notes)
    return f" Hot, about {quantities.show_length(max(found.hot_mm, 0.0), 'in')}.{notes}"


def growth_facts(scene: Scene, pushrod: str) -> tuple[Fact, ...]:
    """What changes from cold to hot with a pushrod, and whence; none without [growth]."""
    setup = scene.build.setup
    lost = setup.growth_mm(quantities.length_mm(pushrod))
    if lost is None or setup.growth is None:
        return ()
    return (Fact(growth_said(lost), setup.growth.growth_said),)


def growth_said(lost_mm: float) -> str:
    """Preload lost or gained from cold to hot, in words."""
    word = "loses" if lost_mm >= 0 else "gains"
    return f"hot, preload {word} {length_text(abs(lost_mm))}"
