"""`heelwise like`: a setup for another engine like the one of a record."""

from __future__ import annotations

import argparse
from pathlib import Path

from heelwise.commands.reporting import DONE, Usage, say, say_json
from heelwise.documents.record import read_record
from heelwise.documents.setup_form import document_text
from heelwise.shop.begin import setup_like
from heelwise.storage.whole_files import write_whole


def run(given: argparse.Namespace) -> int:
    """Write the setup."""
    new = Path(given.new)
    if new.suffix != ".toml":
        raise Usage(f"{given.new}: a setup's name ends in .toml")
    document = setup_like(read_record(Path(given.record)))
    write_whole(new, document_text(document).encode())
    if given.json:
        known = {**document["before"], **document.get("pushrods", {})}
        keys = ("record", "last_seal", "intake", "exhaust")
        say_json({"file": str(new), **{key: known.get(key) for key in keys}})
        return DONE
    lengths = document.get("pushrods", {})
    tried = f", trial pushrods {lengths['intake']} and {lengths['exhaust']}" if lengths else ""
    say(f"{new}: a setup like {document['before']['record']}{tried}. Change what differs.")
    return DONE
