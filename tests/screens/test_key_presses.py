"""How many keys fitting and proving a V8 takes when every reading is inside."""

from __future__ import annotations

from pathlib import Path

from heelwise.documents.setup import load_setup
from heelwise.rehearsal.clock import RehearsalClock
from heelwise.screens.app import HeelwiseApp
from heelwise.screens.sitting import Sitting, begin_sitting, methods_for
from heelwise.walk.buying import ordered_lengths
from heelwise.walk.prompts import Ask
from tests.screens.pressing import AT, SMALL, send_key, shows, type_text, until

SETUP = Path(__file__).parents[2] / "sample_builds" / "harbour-tug-eight.toml"
MIDDLE_TURNS = "1 1/8"
MOST = 200


def begun(folder: Path) -> Sitting:
    setup = load_setup(SETUP)
    method = methods_for(setup, SETUP.name)[0]
    begin_sitting(setup, method, folder, "tug", "AO").close()
    from heelwise.documents.record_writing import open_record

    return Sitting(open_record(folder / "tug.toml"), RehearsalClock(AT))


def typed(sitting: Sitting) -> str:
    """What a person reads off where all is well."""
    prompt = sitting.walker.prompt
    if prompt.fills == "count":
        return MIDDLE_TURNS
    if prompt.suggested:
        return prompt.suggested
    if prompt.valve is not None and "length" in prompt.reading:
        return ordered_lengths(sitting.walker.scene)[prompt.valve]
    wheel = {"wheel-first": "20", "wheel-second": "-24"}
    return wheel.get(prompt.id, "")


async def press(app: HeelwiseApp, sitting: Sitting) -> int:
    """One answer where all is well: no through bolts, nothing moves; how many presses."""
    prompt, kept = sitting.walker.prompt, len(sitting.record.entries)
    await until(app, "the question", lambda: shows(app, prompt.question[:20]))
    text = typed(sitting)
    if prompt.ask is Ask.READING and text:
        presses = await type_text(app, text)
    elif prompt.ask is Ask.NOTE:
        presses = await type_text(app, "none")
    else:
        option = prompt.options[1 if prompt.id == "through-bolts" else 0]
        send_key(app, option.key)
        presses = 1
        for _ in option.wants:
            presses += await type_text(app, "Ann Other")
    await until(app, "an entry", lambda: len(sitting.record.entries) > kept)
    return presses


async def test_fitting_and_proving_a_v8_stays_below_two_hundred(tmp_path: Path) -> None:
    sitting = begun(tmp_path)
    app = HeelwiseApp(tmp_path, sitting=sitting, held_key_s=0.0)
    presses = dict.fromkeys(("prepare", "trial", "fit", "prove", "sign off"), 0)
    async with app.run_test(size=SMALL, notifications=True):
        while not sitting.walker.closed:
            phase = sitting.walker.prompt.phase
            presses[phase] += await press(app, sitting)
    sitting.close()
    print(f"\nkey presses, 16 valves all inside: {presses}")
    counted = [one.last_count for one in sitting.walker.standing.valves.values()]
    assert all(count is not None and count.body.kind == "read" for count in counted)
    assert presses["fit"] + presses["prove"] < MOST
