"""How many keys fitting and proving a V8 takes when every reading is inside."""

from __future__ import annotations

from pathlib import Path

from heelwise.rehearsal.rehearse import RehearsalClock
from tests.screens.pressing import AT, SMALL, app_on, press, real_build, well

MOST = 200


async def test_fitting_and_proving_a_v8_stays_below_two_hundred(tmp_path: Path) -> None:
    session = real_build(tmp_path, RehearsalClock(AT))
    app = app_on(session)
    presses = dict.fromkeys(("prepare", "trial", "fit", "prove", "sign off"), 0)
    async with app.run_test(size=SMALL, notifications=True):
        while not session.walker.closed:
            phase = session.walker.prompt.phase
            presses[phase] += await press(app, session, *well(session))
    session.close()
    print(f"\nkey presses, 16 valves all inside: {presses}")
    counted = [one.last_count for one in session.walker.state.valves.values()]
    assert all(count is not None and count.body.kind == "read" for count in counted)
    assert presses["fit"] + presses["prove"] < MOST
