"""What each method makes of the walk: which rounds there are, and how a valve is read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Trial = Literal["pushrods", "checking", "none"]
Reads = Literal["turns", "lash", "gap"]


@dataclass(frozen=True)
class Way:
    """The rounds of a method.

    Attributes:
        trial: what is tried on a few valves first; it ends in the pushrods to buy.
        reads: how a valve is read in Fit.
        fits: whether Fit goes round all valves; an engine that has run is only proved and sampled.
        clicks: whether the count ends at the torque click, so that length sets the preload.
        recounts: whether a sample is counted again.
        elsewhere: whether the proof is made at another place of the heel than the reading.
        stands: whether stands, not valves, are drawn down.
    """

    trial: Trial = "none"
    reads: Reads = "turns"
    fits: bool = True
    clicks: bool = True
    recounts: bool = False
    elsewhere: bool = False
    stands: bool = False

    @property
    def buys(self) -> bool:
        """Whether pushrods are bought by what the trials came to."""
        return self.trial != "none"

    @property
    def length_sets_preload(self) -> bool:
        """Whether another pushrod is a remedy for a reading that is outside."""
        return self.clicks or self.stands


WAYS: Mapping[str, Way] = {
    "turns to the click": Way(trial="pushrods", recounts=True),
    "checking pushrod": Way(trial="checking", recounts=True),
    "checking lifter": Way(trial="checking", recounts=True),
    "turns and lock": Way(clicks=False, elsewhere=True),
    "lash and lock": Way(reads="lash", clicks=False, elsewhere=True),
    "stands and gap": Way(reads="gap", clicks=False, stands=True),
    "recheck": Way(fits=False, recounts=True),
}
"""By the method a procedure names."""
