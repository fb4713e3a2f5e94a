"""What every entry shares, and the words its fields are made of."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from heelwise.documents.typed_numbers import QuantityFault
from heelwise.storage.errors import BadName
from heelwise.storage.names import photo_name

Phase = Literal["prepare", "trial", "fit", "prove", "sign off"]
CrankHow = Literal["reference", "turned", "overshot", "still there", "found"]
VerdictWord = Literal["short", "inside", "long"]
LashWord = Literal["tight", "inside", "loose"]
ProofWord = Literal["clicked", "settled", "moved", "held", "slipped", "play", "tight", "loose"]
"""What a proof found. A click's: clicked, settled, moved. A lock's: held, slipped, play (found on
the heel), or the lash tight or loose."""

PASSING = ("clicked", "settled", "held")
"""Proofs that stand; after any other the valve is done again."""

CrankDeg = Annotated[float, Field(ge=0, lt=720)]
Millimetres = Annotated[float, Field(ge=-1e5, le=1e5)]
"""More than any valvetrain has, either way."""


def photo_checked(text: str) -> str:
    """Check that a text is a plain file name, as a photograph's should be.

    Raises:
        QuantityFault: If it is not.
    """
    try:
        return photo_name(text)
    except BadName as error:
        raise QuantityFault(error.problem, error.instead) from None


PhotoName = Annotated[str, AfterValidator(photo_checked)]
"""A photograph's file name, without any folder."""


class Body(BaseModel):
    """The fields an entry adds to number, time, person and seal."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)
