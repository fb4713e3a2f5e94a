"""Makes the README's pictures from the real program, with fixed time and answers.

Run it from the project's top folder: `python -m tests.screens.make_picture`.
"""

from __future__ import annotations

import asyncio
import re
import tempfile
from pathlib import Path

from heelwise.documents.library import find_procedures
from heelwise.documents.procedure import load_procedure
from heelwise.rehearsal.rehearse import begin_rehearsal
from heelwise.screens.crank_picture import CrankPicture
from heelwise.session import Session
from tests.screens.pressing import AT, app_on, at_rest, go_on_to_count, send_key, shows, until

PICTURES = Path(__file__).resolve().parents[2] / ".readme"
SIZES = {"walk": (112, 33), "crank": (112, 41)}
TURNS_ON = 7


async def draw(name: str) -> str:
    """A screen as SVG, without the web fonts it would fetch."""
    with tempfile.TemporaryDirectory() as folder:
        procedure = load_procedure(find_procedures()["bolt-down-rockers"])
        file = Path(folder) / "harbor-launch-six.toml"
        session = Session(begin_rehearsal(file, "i6-153624", 1, procedure, AT))
        go_on_to_count(session, 4)
        app = app_on(session)
        async with app.run_test(size=SIZES[name]) as pilot:
            await until(app, "the count", lambda: shows(app, "zero lash"))
            if name == "crank":
                send_key(app, "tab")
                await until(app, "the crank", lambda: isinstance(app.screen, CrankPicture))
                for _ in range(TURNS_ON):
                    send_key(app, "right")
                await until(app, "it turned", lambda: shows(app, f"{5 * TURNS_ON}° on"))
            await at_rest(pilot)
            svg = app.export_screenshot(title="heelwise")
        session.close()
    svg = re.sub(r"<!--.*?-->", "", svg, flags=re.DOTALL)
    svg = re.sub(r"@font-face\s*\{[^}]*\}", "", svg)
    return re.sub(r"font-family: [^;]*;", "font-family: monospace;", svg)


def main() -> None:
    """Write the pictures."""
    PICTURES.mkdir(exist_ok=True)
    for name in SIZES:
        (PICTURES / f"{name}.svg").write_text(asyncio.run(draw(name)), encoding="utf-8")


if __name__ == "__main__":
    main()
