"""What is wrong between the keys of a setup, found even where other keys are wrong too.

Each check looks at the tables as TOML gave them and passes over what it can't read: that is
reported by the models.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence

from heelwise.documents.faults import Fault, quoted
from heelwise.documents.growth_table import growth_faults
from heelwise.documents.lash_table import lash_faults
from heelwise.documents.quantities import (
    QuantityFault,
    length_mm,
    thread_pitch_mm,
    torque_nm,
    turns,
)
from heelwise.documents.reading_table import reading_faults
from heelwise.documents.setup_tables import EVENT_KEYS, TIMING_KEYS
from heelwise.valvetrain.engine import check_engine
from heelwise.valvetrain.pushrods import sold_lengths
from heelwise.valvetrain.valves import Kind, Valve

Raw = Mapping[str, object]


def setup_faults(raw: Raw) -> list[Fault]:
    """Find every fault between keys and between tables of a setup.

    Args:
        raw: The document, the engine's card already resolved.

    Returns:
        The faults in the order of the tables.
    """
    checks: tuple[tuple[str, Callable[[Raw], Iterator[Fault]]], ...] = (
        ("engine", _engine),
        ("cam", _cam),
        ("lifter", _lifter),
        ("pushrods", _pushrods),
        ("wrench", _wrench),
    )
    found: list[Fault] = []
    for name, check in checks:
        table = raw.get(name)
        if isinstance(table, Mapping):
            found += check(table)
    between = (lash_faults, growth_faults, _stands, _travel_known, _readings, reading_faults)
    return [*found, *(fault for check in between for fault in check(raw))]


def _value(read: Callable[[object], float], typed: object) -> float | None:
    if typed is None:
        return None
    try:
        return read(typed)
    except QuantityFault:
        return None


def _list_of(kind: type | tuple[type, ...], value: object) -> list[object] | None:
    if not isinstance(value, list) or any(isinstance(member, bool) for member in value):
        return None
    return value if all(isinstance(member, kind) for member in value) else None


def _named_lists(kind: type, value: object) -> dict[str, list[object]] | None:
    if not isinstance(value, Mapping):
        return None
    lists = {str(name): _list_of(kind, members) for name, members in value.items()}
    kept = {name: members for name, members in lists.items() if members is not None}
    return kept if len(kept) == len(lists) else None


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _engine(raw: Raw) -> Iterator[Fault]:
    order = _list_of(int, raw.get("firing_order"))
    if order is None:
        return
    cylinders = raw.get("cylinders")
    problems = check_engine(
        order,  # type: ignore[arg-type]
        _list_of((int, float), raw.get("firing_gaps")),  # type: ignore[arg-type]
        _named_lists(int, raw.get("banks")),  # type: ignore[arg-type]
        _named_lists(str, raw.get("valve_rows")),  # type: ignore[arg-type]
        cylinders if isinstance(cylinders, int) and not isinstance(cylinders, bool) else None,
        _value(length_mm, raw.get("damper_diameter")),
        _number(raw.get("damper_marks")),
    )
    for problem in problems:
        yield Fault(f"engine.{problem.field}", problem.problem, problem.instead)


def _cam(raw: Raw) -> Iterator[Fault]:
    timing = [key for key in (*TIMING_KEYS, "duration") if key in raw]
    events = [key for key in EVENT_KEYS if key in raw]
    if raw.get("known") is False:
        if timing or events:
            problem = f"known = false stands beside {', '.join(timing + events)}"
            yield Fault("cam.known", problem, "leave one of the two out")
    elif timing and events:
        problem = f"{', '.join(timing)} and {', '.join(events)} are two forms of one thing"
        yield Fault("cam", problem, f"give either {_and(TIMING_KEYS)}, or {_and(EVENT_KEYS)}")
    elif not timing and not events:
        instead = f"give {_and(TIMING_KEYS)}, or {_and(EVENT_KEYS)}, or known = false"
        yield Fault("cam", "has no figures", instead)
    elif events:
        yield from _missing("cam", raw, EVENT_KEYS, "the four events go together")
        yield from _event_durations(raw)
    else:
        yield from _timing(raw)


def _timing(raw: Raw) -> Iterator[Fault]:
    if "duration" not in raw:
        yield from _missing("cam", raw, TIMING_KEYS, "a timing card's figures go together")
        return
    if both := [key for key in TIMING_KEYS[:2] if key in raw]:
        problem = f"stands beside {_and(both)}"
        yield Fault("cam.duration", problem, "duration alone serves for both; leave one out")
    yield from _missing("cam", raw, TIMING_KEYS[2:], "they go together with duration")


def _event_durations(raw: Raw) -> Iterator[Fault]:
    for opens, closes in (EVENT_KEYS[:2], EVENT_KEYS[2:]):
        first, last = _number(raw.get(opens)), _number(raw.get(closes))
        if first is None or last is None or 0 < first + 180 + last < 720:
            continue
        problem = f"with {opens} = {first:g} it makes a duration of {first + 180 + last:g}°"
        yield Fault(f"cam.{closes}", problem, "let the duration be above 0 and below 720")


def _missing(table: str, raw: Raw, keys: Sequence[str], why: str) -> Iterator[Fault]:
    for key in keys:
        if key not in raw:
            yield Fault(f"{table}.{key}", "is missing", f"add it: {why}")


def _and(keys: Sequence[str]) -> str:
    return keys[0] if len(keys) == 1 else f"{', '.join(keys[:-1])} and {keys[-1]}"


def _lifter(raw: Raw) -> Iterator[Fault]:
    kind = raw.get("kind")
    if isinstance(kind, str) and kind.startswith("solid"):
        plunger = [key for key in (*_WINDOW, "plunger_travel", "seat_turns") if key in raw]
        if plunger:
            problem = f"a {quoted(kind)} lifter has no plunger, but {_and(plunger)} is given"
            yield Fault("lifter.kind", problem, "leave it out, or say which hydraulic kind it is")
        return
    yield from _window(raw, kind)


_WINDOW = ("least_turns", "most_turns", "least_preload", "most_preload")


def _window(raw: Raw, kind: object) -> Iterator[Fault]:
    if isinstance(kind, str) and not any(key in raw for key in _WINDOW):
        instead = "give least_turns and most_turns, or least_preload and most_preload"
        yield Fault("lifter", "has no window", f"{instead}, from the maker's sheet")
    for least, most, read in (
        ("least_turns", "most_turns", turns),
        ("least_preload", "most_preload", length_mm),
    ):
        if (least in raw) != (most in raw):
            yield from _missing("lifter", raw, (least, most), "a window has a least and a most")
        yield from _upside_down("lifter", raw, (least, most), read)
    seat, fewest = _value(turns, raw.get("seat_turns")), _value(turns, raw.get("least_turns"))
    if seat is not None and fewest is not None and seat >= fewest:
        problem = f"{quoted(raw['seat_turns'])} is no less than least_turns"
        yield Fault("lifter.seat_turns", problem, "what seats the rocker makes no preload")
    yield from _past_the_plunger(raw)


def _past_the_plunger(raw: Raw) -> Iterator[Fault]:
    preload = _value(length_mm, raw.get("most_preload"))
    travel = _value(length_mm, raw.get("plunger_travel"))
    if preload is not None and travel is not None and preload > travel:
        problem = f"{quoted(raw['most_preload'])} is more than plunger_travel, "
        problem += f"{quoted(raw['plunger_travel'])}: the plunger would bottom"
        yield Fault("lifter.most_preload", problem, "check both on the maker's sheet")


def _upside_down(
    table: str, raw: Raw, keys: tuple[str, str], read: Callable[[object], float]
) -> Iterator[Fault]:
    least, most = (_value(read, raw.get(key)) for key in keys)
    if least is not None and most is not None and least > most:
        problem = f"{quoted(raw[keys[0]])} is more than {keys[1]}, {quoted(raw[keys[1]])}"
        yield Fault(f"{table}.{keys[0]}", problem, "write the smaller one here")


_SOLD = ("sold_from", "sold_to", "sold_step")


def _pushrods(raw: Raw) -> Iterator[Fault]:
    sold = [key for key in _SOLD if key in raw]
    if sold and "on_hand" in raw:
        problem = f"stands beside {_and(sold)}"
        yield Fault("pushrods.on_hand", problem, "give the lengths sold or those on hand, not both")
    if not sold:
        return
    yield from _missing("pushrods", raw, _SOLD, "the lengths sold have a from, a to and a step")
    turned = list(_upside_down("pushrods", raw, _SOLD[:2], length_mm))
    yield from turned
    figures = [_value(length_mm, raw.get(key)) for key in _SOLD]
    first, last, step = figures
    if turned or first is None or last is None or step is None or min(first, last, step) <= 0:
        return
    try:
        sold_lengths(first, last, step)
    except ValueError as error:
        count = (last - first) / step + 1
        many = f"{quoted(raw['sold_step'])} makes {count:.0f} lengths"
        problem = many if count < 1e9 else str(error)
        yield Fault("pushrods.sold_step", problem, "let there be at most 1,000")


def _wrench(raw: Raw) -> Iterator[Fault]:
    yield from _upside_down("wrench", raw, ("least", "most"), torque_nm)
    if _value(torque_nm, raw.get("least")) == _value(torque_nm, raw.get("most")) is not None:
        yield Fault("wrench.most", "is no more than least", "give the range as marked")
    if ("length" in raw) != ("adapter" in raw):
        yield from _missing("wrench", raw, ("length", "adapter"), "they go together")


def _travel_known(raw: Raw) -> Iterator[Fault]:
    rocker, lifter = raw.get("rocker"), raw.get("lifter")
    if not isinstance(rocker, Mapping) or not isinstance(lifter, Mapping):
        return
    hydraulic = str(lifter.get("kind")).startswith("hydraulic")
    if hydraulic and "thread" not in rocker and "travel_per_turn" not in lifter:
        instead = "add it, or lifter.travel_per_turn: one turn must be worth something"
        yield Fault("rocker.thread", "is missing", instead)
    pitch = _value(thread_pitch_mm, rocker.get("thread"))
    travel = _value(length_mm, lifter.get("travel_per_turn"))
    if pitch is not None and travel is not None and not pitch / 4 < travel < pitch * 4:
        problem = f"{quoted(lifter['travel_per_turn'])} a turn can't come from a thread of "
        problem += f"{pitch:.3g} mm pitch"
        yield Fault("lifter.travel_per_turn", problem, "check its decimal point and unit")


def _stands(raw: Raw) -> Iterator[Fault]:
    rocker, valves = raw.get("rocker"), _valves(raw)
    stands = rocker.get("stands") if isinstance(rocker, Mapping) else None
    if not isinstance(stands, list) or not valves:
        return
    named = [_valve(name) for stand in stands if isinstance(stand, list) for name in stand]
    known = [valve for valve in named if valve is not None]
    if len(known) < len(named):
        return
    for valve in sorted(set(known)):
        if valve not in valves:
            yield Fault("rocker.stands", f"the engine has no valve {valve}", "name its own valves")
        elif known.count(valve) > 1:
            yield Fault("rocker.stands", f"{valve} stands twice", "each valve has one stand")
    missing = [str(valve) for valve in sorted(valves - set(known))]
    if missing:
        yield Fault("rocker.stands", f"{_and(missing)} have no stand", "name every valve once")


def _valves(raw: Raw) -> set[Valve]:
    engine = raw.get("engine")
    given = engine.get("firing_order") if isinstance(engine, Mapping) else None
    order = _list_of(int, given) or []
    return {Valve(number, kind) for number in order if isinstance(number, int) for kind in Kind}


def _readings(raw: Raw) -> Iterator[Fault]:
    readings, valves = raw.get("reading"), _valves(raw)
    if not isinstance(readings, list) or not valves:
        return
    for index, reading in enumerate(readings[:1000], start=1):
        name = reading.get("valve") if isinstance(reading, Mapping) else None
        valve = _valve(name)
        if valve is not None and valve not in valves:
            problem = f"the engine has no valve {quoted(name)}"
            yield Fault(f"reading {index}.valve", problem, f"it has {len(valves) // 2} cylinders")


def _valve(name: object) -> Valve | None:
    try:
        return Valve.parse(name[:20]) if isinstance(name, str) else None
    except ValueError:
        return None
