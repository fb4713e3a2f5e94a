"""Doing something that keeps an entry, and going on when it could not be kept."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from textual.screen import Screen

from heelwise.screens.sitting import Sitting
from heelwise.screens.trouble import Mended, TroubleScreen
from heelwise.storage.errors import StorageError
from heelwise.walk.prompts import Refused
from heelwise.walk.walker import Said

PART = Said("Only a part of that answer was kept before the trouble. Read on here.", "warn", ())
"""Said where the rest of an answer has to be given anew, to the question that stands now."""


def keep(
    screen: Screen[Any],
    sitting: Sitting,
    act: Callable[[], Said],
    then: Callable[[Said], None],
    refused: Callable[[Refused], None],
) -> None:
    """Do what keeps an entry; where it could not be kept, say so and let a person choose.

    Args:
        screen: The screen it is done on.
        sitting: The record it is kept in.
        act: What is to be done; done again once the trouble is mended, if nothing of it was kept.
        then: Called with what to say.
        refused: Called where the answer can't be taken; nothing was kept.
    """
    known = len(sitting.record.entries)

    def mended(how: Mended | None) -> None:
        if how is Mended.YES:
            again()
        else:
            screen.app.call_later(screen.app.run_action, "app.leave_for_bench")

    def again() -> None:
        if len(sitting.record.entries) > known:
            then(PART)
        else:
            keep(screen, sitting, act, then, refused)

    try:
        said = act()
    except Refused as fault:
        refused(fault)
    except StorageError as error:
        screen.app.push_screen(TroubleScreen(sitting, error), mended)
    else:
        then(said)
