"""[job] of a setup: what ties a record to one engine, a year later too."""

from typing import Annotated, Any

from pydantic import Field

from heelwise.documents.fields import ShortLine, Table
from heelwise.documents.form_rules import asked

_Initials = Annotated[ShortLine, Field(max_length=20)]


def _part(label: str, hint: str) -> Any:
    return asked(label, hint, without="a blank on the sheet", source="")


class JobTable(Table):
    """[job]: who it is for, its numbers, the parts fitted, and the people behind initials."""

    form_title = "Job"

    customer: ShortLine | None = _part("Customer", "Who the engine is for.")
    job: ShortLine | None = _part("Job", "The shop's number or name for the job.")
    engine_serial: ShortLine | None = _part("Engine serial", "As stamped on the block.")
    casting: ShortLine | None = _part("Casting number", "Of the block, or of block and heads.")
    cam: ShortLine | None = _part("Cam fitted", "Grind or number, as on its card.")
    lifters: ShortLine | None = _part("Lifters fitted", "As on the box: number, size, batch.")
    pushrods: ShortLine | None = _part("Pushrods fitted", "As on the box: diameter, wall, ends.")
    rockers: ShortLine | None = _part("Rockers fitted", "As on the box.")
    gasket: ShortLine | None = _part("Head gasket fitted", "Number or compressed thickness.")
    wrench_serial: ShortLine | None = _part("Wrench serial", "Of the torque wrench used.")
    people: Annotated[dict[_Initials, ShortLine], Field(max_length=50)] | None = _part(
        "Full names", "For the initials in the record: MK = Mary King, JD = John Doe."
    )
