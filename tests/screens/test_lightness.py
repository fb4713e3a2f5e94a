"""What the screens load: the bench no model before it is painted, a resume no unit library."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from heelwise.walk.walker import Clock
from tests.screens.pressing import real_build, rehearsal

LOOK = """
import asyncio, sys
from pathlib import Path
from heelwise.screens import bench
from heelwise.screens.app import HeelwiseApp

folder, file = Path(sys.argv[1]), sys.argv[2]
bench.read_row = lambda row: row  # what is loaded to read a row is loaded after the first paint

async def look():
    app = HeelwiseApp(folder, file=Path(file) if file else None)
    async with app.run_test():
        for _ in range(3000):
            if sys.argv[3] in app.export_screenshot():
                print("LOADED", *sorted(sys.modules))
                return
            await asyncio.sleep(0.001)
    sys.exit("never shown")

asyncio.run(look())
"""

NEVER = {"pint", "numpy", "scipy", "uncertainties", "textual.widgets._markdown"}
LATER = {"sheet.laying_out", "sheet.as_html", "screens.sheet", "screens.pushrods", "screens.help"}
LATER |= {"screens.timeline", "screens.start", "screens.message"}


def _loaded(folder: Path, file: str, text: str) -> set[str]:
    words = [sys.executable, "-c", LOOK, str(folder), file, text]
    ran = subprocess.run(words, capture_output=True, text=True, timeout=60, check=True)
    return set(ran.stdout.rpartition("LOADED")[2].split())


def _ours(loaded: set[str]) -> set[str]:
    return {name.removeprefix("heelwise.") for name in loaded if name.startswith("heelwise.")}


def test_the_bench_is_painted_before_any_model_is_loaded(tmp_path: Path) -> None:
    rehearsal(tmp_path, name="engine").close()
    loaded = _loaded(tmp_path, "", "engine")
    assert not loaded & (NEVER | {"pydantic"})
    assert not {one for one in _ours(loaded) if one.startswith(("walk", "valvetrain", "sheet."))}


def test_a_build_is_taken_up_without_units_sheets_or_the_virtual_engine(tmp_path: Path) -> None:
    with real_build(tmp_path, Clock()) as session:
        session.walker.note("the light went out")
    loaded = _loaded(tmp_path, str(session.file), "stopped")
    assert "pydantic" in loaded  # it was understood whole
    assert not loaded & NEVER
    ours = _ours(loaded)
    assert not ours & LATER
    assert not {one for one in ours if one.startswith("rehearsal")}
