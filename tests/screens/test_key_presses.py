"""How many keys fitting and proving a V8 takes when every reading is inside.

That an answer takes so many keys is seen where a whole engine is walked by key presses.
"""

from __future__ import annotations

from pathlib import Path

from heelwise.rehearsal.rehearse import RehearsalClock
from tests.screens.pressing import AT, keys_needed, real_build, well

MOST = 200


def test_fitting_and_proving_a_v8_stays_below_two_hundred(tmp_path: Path) -> None:
    session = real_build(tmp_path, RehearsalClock(AT))
    presses = dict.fromkeys(("prepare", "trial", "fit", "prove", "sign off"), 0)
    while not session.walker.closed:
        prompt, given = session.walker.prompt, well(session)
        session.walker.reply(*given)
        presses[prompt.phase] += keys_needed(prompt, *given)
    session.close()
    print(f"\nkey presses, 16 valves all inside: {presses}")
    counted = [state.last_count for state in session.walker.state.valves.values()]
    assert all(count is not None and count.body.kind == "read" for count in counted)
    assert presses["fit"] + presses["prove"] < MOST
