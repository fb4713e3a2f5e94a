"""The crank and the cam as the tests themselves see them: nothing here calls the code under test.

A cylinder's own cycle runs from its TDC on compression: 0 to 180 power stroke, 180 to 360
exhaust stroke, 360 to 540 intake stroke, 540 to 720 compression stroke.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

from hypothesis import strategies as st

from heelwise.valvetrain.cam import Cam, Events
from heelwise.valvetrain.engine import Engine, Valve, ValveKind, make_engine


@dataclass(frozen=True)
class Model:
    """An engine and a cam: firing order from cylinder 1, gaps, and the lobes' own ends."""

    order: tuple[int, ...]
    gaps: tuple[float, ...]
    ivo: float
    ivc: float
    evo: float
    evc: float

    @property
    def engine(self) -> Engine:
        return make_engine(self.order, self.gaps)

    @property
    def cam(self) -> Cam:
        return Cam(Events(self.ivo, self.ivc, self.evo, self.evc), at_lift_mm=0.0)

    @property
    def names(self) -> list[str]:
        return [f"{c}{kind}" for c in range(1, len(self.order) + 1) for kind in "IE"]

    def tdc(self, cylinder: int) -> float:
        """Walk the order from cylinder 1, adding gaps."""
        place, deg = self.order.index(1), 0.0
        while self.order[place] != cylinder:
            deg += self.gaps[place]
            place = (place + 1) % len(self.order)
        return deg

    def lobe(self, name: str) -> tuple[float, float]:
        """Crank angles at which a lobe begins and ends, not brought into the cycle."""
        tdc = self.tdc(int(name[:-1]))
        if name[-1] == "I":
            return tdc + 360 - self.ivo, tdc + 540 + self.ivc
        return tdc + 180 - self.evo, tdc + 360 + self.evc

    def is_up(self, name: str, crank: float) -> bool:
        begin, end = self.lobe(name)
        return 1e-7 < (crank - begin) % 720 < end - begin - 1e-7

    def margin(self, name: str, crank: float) -> float:
        """Degrees to the nearer end, looked for one way and the other."""
        begin, end = self.lobe(name)
        forward, back = (begin - crank) % 720, (crank - end) % 720
        if not self.is_up(name, crank):
            return min(forward % 720, back % 720) if end - begin < 720 else 0.0
        return -min((crank - begin) % 720, (end - crank) % 720)

    def from_tdc(self, name: str, crank: float) -> float:
        past = (crank - self.tdc(int(name[:-1]))) % 360
        return min(past, 360 - past)


def valves(*names: str) -> list[Valve]:
    return [Valve(int(name[:-1]), ValveKind(name[-1])) for name in names]


def random_model(rng: random.Random, cylinders: int, odd: bool, whole: bool = False) -> Model:
    """A random engine: even or odd gaps, ordinary to extreme cams, whole or broken degrees."""

    def deg(low: float, high: float) -> float:
        return float(rng.randint(int(low), int(high))) if whole else rng.uniform(low, high)

    order = list(range(1, cylinders + 1))
    rng.shuffle(order)
    gaps = [720 / cylinders] * cylinders
    if odd:
        shares = [rng.uniform(0.2, 1.0) for _ in order]
        gaps = [720 * share / sum(shares) for share in shares]
    wide = 120 if rng.random() < 0.3 else 85
    return Model(
        tuple(order),
        tuple(gaps),
        ivo=deg(-10, wide),
        ivc=deg(20, wide),
        evo=deg(20, wide),
        evc=deg(-10, wide),
    )


@st.composite
def models(draw: st.DrawFn, most_cylinders: int = 12) -> Model:
    """Random engines for properties."""
    cylinders = draw(st.integers(1, most_cylinders))
    order = draw(st.permutations(range(1, cylinders + 1)))
    if draw(st.booleans()):
        gaps = [720 / cylinders] * cylinders
    else:
        shares = draw(st.lists(st.integers(0, 20), min_size=cylinders, max_size=cylinders))
        shares[0] += 1
        gaps = [720 * share / sum(shares) for share in shares]
    events = [draw(st.integers(-40, 480).map(lambda n: n / 4)) for _ in range(4)]
    return Model(tuple(order), tuple(gaps), *events)
