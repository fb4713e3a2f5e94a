"""Makes the snapshots of the screens anew, as plain text to be read in a diff.

Run it from the project's top folder: `python -m tests.screens.make_snapshots`.
"""

from __future__ import annotations

import asyncio
import tempfile
from pathlib import Path

from tests.screens.scenes import SCENES, file_name, shown

SNAPSHOTS = Path(__file__).parent / "snapshots"


async def draw() -> dict[str, str]:
    """Every snapshot by its file's name."""
    found = {}
    for scene in SCENES:
        for size in scene.sizes:
            with tempfile.TemporaryDirectory() as folder:
                async with shown(scene, size, Path(folder)) as (_, text):
                    found[file_name(scene, size)] = text
    return found


def main() -> None:
    """Write them, and take away those no scene stands for."""
    SNAPSHOTS.mkdir(exist_ok=True)
    found = asyncio.run(draw())
    for file in SNAPSHOTS.glob("*.txt"):
        if file.name not in found:
            file.unlink()
    for name, text in found.items():
        (SNAPSHOTS / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
