"""The turns never to pass: those that bottom the plunger, less a reserve, as they are counted."""

from dataclasses import dataclass, replace
from math import floor, isfinite

from heelwise.valvetrain.figures import length_text, turns_text
from heelwise.valvetrain.verdict import SLACK_TURNS, Window, check_travel

RESERVE_TURNS = 0.25
"""Turns kept back before a bottomed plunger. Common practice, no source."""


SHOWN_TURNS = (1 / 16, 0.01)
"""Steps a ceiling is brought down to where the reading's own would leave no window."""


@dataclass(frozen=True)
class Ceiling:
    """Turns never to pass and turns that bottom the plunger; None where they aren't known.

    `turns` may be brought down to a step that can be counted; `exact_turns` is as worked out.
    """

    turns: float | None
    said: str
    bottoms_at: float | None = None
    exact_turns: float | None = None


def never_past(
    plunger_travel_mm: float | None,
    largest_travel_mm: float,
    reserve_turns: float = RESERVE_TURNS,
    hot_gain_mm: float = 0.0,
) -> Ceiling:
    """Give the turns never to pass: those that bottom the plunger, less a reserve.

    The largest travel per turn in play is used: were a smaller one trusted and wrong, the
    plunger would be solid before the count said so.

    Args:
        plunger_travel_mm: Whole plunger travel in mm, or None if not known.
        largest_travel_mm: Largest travel for one turn in play, in mm.
        reserve_turns: Turns kept back.
        hot_gain_mm: Preload gained from cold to hot in mm; a loss counts as none.

    Returns:
        The ceiling with its words.

    Raises:
        ValueError: A figure is not above 0, or the reserve is below 0.
    """
    check_travel(largest_travel_mm)
    if plunger_travel_mm is None:
        return Ceiling(
            None, "no ceiling: the plunger's travel is not known; see the lifter's sheet"
        )
    if not (isfinite(plunger_travel_mm) and plunger_travel_mm > 0):
        raise ValueError(f"plunger travel {plunger_travel_mm!r} mm should be above 0")
    if not (isfinite(reserve_turns) and reserve_turns >= 0):
        raise ValueError(f"reserve {reserve_turns!r} should be 0 turns or more")
    gain = max(0.0, hot_gain_mm)
    bottoms = max(0.0, plunger_travel_mm - gain) / largest_travel_mm
    turns = max(0.0, bottoms - reserve_turns)
    hot = f", less {length_text(gain)} gained hot" if gain else ""
    said = (
        f"worked out (plunger travel {length_text(plunger_travel_mm)}{hot} / the largest travel "
        f"a turn, {length_text(largest_travel_mm)}, less {turns_text(reserve_turns)} in reserve)"
    )
    return Ceiling(turns, said, bottoms, turns)


def bottomed(turns: float, ceiling: Ceiling) -> bool:
    """Say whether a count reached the turns that bottom the plunger; such is never accepted.

    Args:
        turns: The reading.
        ceiling: As `never_past` gave it.

    Returns:
        True from the bottoming turns on; False where they aren't known.
    """
    return ceiling.bottoms_at is not None and turns >= ceiling.bottoms_at - SLACK_TURNS


def ceiling_note(ceiling: Ceiling, window: Window) -> str | None:
    """Say so where the window reaches past the turns never to pass.

    Args:
        ceiling: As `never_past` gave it.
        window: The turns allowed.

    Returns:
        A sentence, or None where the two agree.
    """
    if ceiling.turns is None or window.most_turns <= ceiling.turns + SLACK_TURNS:
        return None
    return (
        f"The window reaches to {turns_text(window.most_turns)}, past the "
        f"{turns_text(ceiling.turns)} never to pass: measure the travel with a second trial, or "
        "check the plunger's travel."
    )


def under_ceiling(window: Window, ceiling: Ceiling) -> Window:
    """End the window at the turns never to pass, where it reaches past them.

    Args:
        window: The turns allowed.
        ceiling: As `never_past` gave it.

    Returns:
        The window, shorter and with a note where it had to be; unchanged where the ceiling lies
        below it altogether, which `out_of_reach` tells.
    """
    note = ceiling_note(ceiling, window)
    if note is None or ceiling.turns is None or out_of_reach(window, ceiling):
        return window
    return Window(window.least_turns, ceiling.turns, window.said, (*window.notes, note))


def out_of_reach(window: Window, ceiling: Ceiling) -> bool:
    """Whether the turns never to pass come before the window begins, so that none is inside."""
    return ceiling.turns is not None and ceiling.turns <= window.least_turns + SLACK_TURNS


def out_of_reach_said(window: Window, ceiling: Ceiling) -> str:
    """Say that no turns are both inside the window and short of the ceiling."""
    never = "no limit" if ceiling.turns is None else turns_text(ceiling.turns)
    return (
        f"ends the count at {never} ({ceiling.said}), before the window begins at "
        f"{turns_text(window.least_turns)}"
    )


def counted_down(ceiling: Ceiling, window: Window, step: float) -> Ceiling:
    """Bring the turns never to pass down to a figure that can be counted, and shown as it is.

    Args:
        ceiling: As `never_past` gave it.
        window: The turns allowed, before the ceiling ends it.
        step: The smallest step read, in turns.

    Returns:
        The ceiling at a multiple of the step below it; where no turns of the window would be
        left under that, of a sixteenth or a hundredth, else as it is. Never above the one
        given.
    """
    exact = ceiling.turns
    if exact is None or out_of_reach(window, ceiling):
        return ceiling
    # The slack is for 0.3 / 0.1; the ceiling is never lifted by it.
    steps = (step, *SHOWN_TURNS)
    tried = (min(floor(exact / each + SLACK_TURNS) * each, exact) for each in steps)
    down = next((turns for turns in tried if turns > window.least_turns + SLACK_TURNS), exact)
    if exact - down <= SLACK_TURNS:
        return ceiling
    said = f"{ceiling.said}, {exact:.3f}, brought down to a step that can be counted"
    return replace(ceiling, turns=down, said=said)
