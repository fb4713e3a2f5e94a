"""Makes the README's picture of the walk from the real program, with fixed time and answers.

Run it from the project's top folder: `python -m tests.screens.make_picture`.
"""

from __future__ import annotations

import asyncio
import re
import tempfile
from pathlib import Path

from heelwise.session import Session
from tests.screens.pressing import app_on, rehearsal, shows, until

PICTURE = Path(__file__).resolve().parents[2] / ".readme" / "walk.svg"
SIZE = (118, 34)


def at_a_count(folder: Path, name: str = "small-block") -> Session:
    """A rehearsal that stands at a count in Fit, some valves done."""
    session = rehearsal(folder, "v8-15426378", 1, name)
    counted = 0
    while counted < 6:
        prompt = session.walker.prompt
        counted += prompt.phase == "fit" and prompt.records == "count"
        if counted < 6:
            found = session.sense()
            assert found is not None
            session.walker.reply(found.answer, found.texts)
    return session


async def draw() -> str:
    """The screen as SVG, without the web fonts it would fetch."""
    with tempfile.TemporaryDirectory() as folder:
        session = at_a_count(Path(folder))
        app = app_on(session)
        async with app.run_test(size=SIZE):
            await until(app, "the count", lambda: shows(app, "zero lash"))
            svg = app.export_screenshot(title="heelwise")
    svg = re.sub(r"<!--.*?-->", "", svg, flags=re.DOTALL)
    svg = re.sub(r"@font-face\s*\{[^}]*\}", "", svg)
    return re.sub(r"font-family: [^;]*;", "font-family: monospace;", svg)


def main() -> None:
    """Write the picture."""
    PICTURE.parent.mkdir(exist_ok=True)
    PICTURE.write_text(asyncio.run(draw()), encoding="utf-8")


if __name__ == "__main__":
    main()
