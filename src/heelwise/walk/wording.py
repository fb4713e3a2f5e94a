"""Words put together: valves by name, and a step's text with its places filled in."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from heelwise.documents import quantities
from heelwise.valvetrain.positions import Position
from heelwise.valvetrain.valves import Valve
from heelwise.walk.limits import gauge_limits
from heelwise.walk.scene import Scene
from heelwise.walk.true_tdc import known_true_tdc


def names(valves: Sequence[Valve]) -> str:
    """Valves in words: "1I, 2E and 3I"."""
    said = [str(v) for v in valves]
    return said[0] if len(said) == 1 else ", ".join(said[:-1]) + " and " + said[-1]


def words(scene: Scene, text: str, valve: Valve | None, position: Position | None) -> str:
    """A step's text with its places filled in; only what stands in it is worked out."""
    for name, say in _places(scene, valve, position).items():
        place = "{" + name + "}"
        if place in text:
            text = text.replace(place, say())
    return text.strip()


def _places(
    scene: Scene, valve: Valve | None, position: Position | None
) -> Mapping[str, Callable[[], str]]:
    build = scene.build
    always: dict[str, Callable[[], str]] = {
        "torque": lambda: build.torque,
        "turns": lambda: quantities.show_turns(scene.never_past),
        "wanted": lambda: quantities.show_turns(scene.wanted_turns),
        "true_tdc": lambda: known_true_tdc(scene),
        "position": lambda: str(position.number) if position else "",
    }
    if valve is None:
        return always
    return {
        **always,
        "valve": lambda: str(valve),
        "bank": lambda: build.engine.bank_of(valve.cylinder).name,
        "pushrod": lambda: scene.pushrod_text(scene.standing.valve(valve)),
        "stand": lambda: names(build.stand_of(valve)),
        "lash": lambda: quantities.show_length(gauge_limits(scene, valve).wanted_mm, "in"),
        "least": lambda: quantities.show_length(gauge_limits(scene, valve).least_mm, "in"),
        "most": lambda: quantities.show_length(gauge_limits(scene, valve).most_mm, "in"),
    }
