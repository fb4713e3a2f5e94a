"""What is wrong between the keys and between the steps of a procedure.

Each check looks at the tables as TOML gave them and passes over what it can't read: that is
reported by the models.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial

from heelwise.documents.faults import Fault, quoted
from heelwise.documents.model_faults import did_you_mean
from heelwise.documents.quantities import QuantityFault, turns
from heelwise.plain_text import one_line

Raw = Mapping[str, object]

PHASES = ("prepare", "trial", "fit", "prove", "sign off")
EACH_IN_PHASE: Mapping[str, tuple[str, ...]] = {
    "prepare": ("build",),
    "trial": ("build", "position", "valve"),
    "fit": ("build", "position", "stand", "valve"),
    "prove": ("build", "position", "stand", "valve"),
    "sign off": ("build",),
}
"""Where the walk goes round positions and valves, and where it doesn't."""
EACHES = ("build", "position", "stand", "valve")
MOST_STEPS = 500
MOST_OPTIONS = 20
LIFTER_CONDITIONS = ("dry", "soaked", "pumped", "used")
FILLS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "lifter_condition": ("choice", LIFTER_CONDITIONS),
    "through_bolts": ("choice", ("through", "blind")),
    "crank_reference": ("confirm", ()),
    "count": ("turns", ()),
    "checked": ("length", ()),
    "cup_hydraulic": ("length", ()),
    "cup_solid": ("length", ()),
    "checking_length": ("length", ()),
    "lash_checked": ("lash", ()),
    "lifter_back": ("confirm", ()),
    "gauge": ("lash", ()),
    "recheck": ("lash", ()),
    "locked": ("confirm", ()),
    "play": ("choice", ("none", "found")),
    "drawn": ("confirm", ()),
    "has_run": ("confirm", ()),
    "recount": ("choice", ("sample", "all")),
    "second_person": ("choice", ("wanted", "not wanted")),
    "proof": (
        "choice",
        ("clicked", "settled", "moved", "held", "slipped", "play", "tight", "loose"),
    ),
    "wrench": ("confirm", ()),
    "rocker_down": ("confirm", ()),
    "wheel_first": ("degrees", ()),
    "wheel_second": ("degrees", ()),
    "tape_between": ("length", ()),
}
"""What the walk can learn from a step: the ask it needs and, of a choice, the values."""

_ANYWHERE = frozenset({"torque", "turns", "wanted"})
PLACEHOLDERS: Mapping[str, frozenset[str]] = {
    "build": _ANYWHERE | {"true_tdc"},
    "position": _ANYWHERE | {"position"},
    "stand": frozenset({"torque", "position", "stand"}),
    "valve": _ANYWHERE | {"position", "valve", "pushrod", "bank", "stand", "lash", "least", "most"},
}
"""What can stand in braces in say, why and if_not, by `each`."""
_FILLED_IN = ("say", "why", "if_not")
_BRACES = re.compile(r"\{([^{}]*)\}")
_OPTION_KEY = re.compile(r"[A-Za-z0-9]")
_TAKEN_KEYS = frozenset("s?")  # s skips


def _wrench(step: Raw) -> Iterator[tuple[str, str, str]]:
    if step.get("fills") == "wrench" and step.get("skippable") is not True:
        yield "skippable", "is not true", "a wrench that will not do is refused: let it be skipped"


def procedure_faults(raw: Raw) -> list[Fault]:
    """Find every fault between keys and between steps of a procedure.

    Args:
        raw: The document as TOML gives it.

    Returns:
        The faults: those of the defaults, then those of the steps, each naming its step.
    """
    found = list(_defaults(raw.get("defaults")))
    steps = named_steps(raw)
    for where, step in steps:
        for check in (_placeholders, _confirm, _choice, _fills, _wrench, _reached):
            found += (Fault(f"{where}.{key}", *said) for key, *said in check(step))
    return [*found, *_ids(steps), *_conditions(steps)]


def named_steps(raw: Raw) -> list[tuple[str, Raw]]:
    """Give the steps that are tables, each with what a fault calls it.

    Args:
        raw: The document as TOML gives it.

    Returns:
        Pairs like ("step 3 (heads)", its table).
    """
    given = raw.get("step")
    tables = given[:MOST_STEPS] if isinstance(given, list) else []
    return [
        (_name(step, number), step)
        for number, step in enumerate(tables, start=1)
        if isinstance(step, Mapping)
    ]


def braces_in(step: Raw) -> Iterator[tuple[str, str]]:
    """Give the names in braces of a step's texts, each with the key it stands under.

    Args:
        step: The step's table.

    Yields:
        Pairs like ("say", "valve").
    """
    for key in _FILLED_IN:
        text = step.get(key)
        if isinstance(text, str):
            yield from ((key, name) for name in _BRACES.findall(text))


def naming_steps(faults: Sequence[Fault], raw: Raw) -> list[Fault]:
    """Name the step by its id where a fault only counts it.

    Args:
        faults: As the models found them, at "step 3.say".
        raw: The document as TOML gives it.

    Returns:
        The same faults, at "step 3 (heads).say".
    """
    given = raw.get("step")
    steps = given if isinstance(given, list) else []
    return [
        replace(fault, where=_COUNTED.sub(partial(_named, steps), fault.where, 1))
        for fault in faults
    ]


def _named(steps: Sequence[object], found: re.Match[str]) -> str:
    number = int(found[1])
    return _name(steps[number - 1], number) if number <= len(steps) else found.group()


_COUNTED = re.compile(r"^step ([0-9]+)")
_Found = Iterator[tuple[str, str, str]]


def _name(step: object, number: int) -> str:
    step_id = step.get("id") if isinstance(step, Mapping) else None
    named = isinstance(step_id, str) and step_id
    return f"step {number} ({one_line(str(step_id), 64)})" if named else f"step {number}"


def _defaults(raw: object) -> Iterator[Fault]:
    if not isinstance(raw, Mapping):
        return
    pair = [_turns(raw.get(key)) for key in ("least_turns", "most_turns")]
    if ("least_turns" in raw) != ("most_turns" in raw):
        missing = "most_turns" if "least_turns" in raw else "least_turns"
        yield Fault(f"defaults.{missing}", "is missing", "a window has a least and a most")
    if pair[0] is not None and pair[1] is not None and pair[0] > pair[1]:
        problem = f"{quoted(raw['least_turns'])} is more than most_turns, "
        problem += quoted(raw["most_turns"])
        yield Fault("defaults.least_turns", problem, "write the smaller one here")
    wanted = _turns(raw.get("wanted_turns"))
    least, most = pair
    if (
        wanted is not None
        and least is not None
        and most is not None
        and not least <= wanted <= most
    ):
        problem = f"{quoted(raw['wanted_turns'])} is outside least_turns and most_turns"
        yield Fault("defaults.wanted_turns", problem, "let it lie between them")
    yield from _hold(raw)


def _hold(raw: Raw) -> Iterator[Fault]:
    hold = raw.get("hold_minutes")
    if isinstance(hold, Mapping):
        for condition in LIFTER_CONDITIONS:
            if condition not in hold:
                yield Fault(f"defaults.hold_minutes.{condition}", "is missing", "add its minutes")
        for condition in sorted(set(map(str, hold)) - set(LIFTER_CONDITIONS))[:MOST_OPTIONS]:
            instead = did_you_mean(condition, LIFTER_CONDITIONS, "lifters are")
            yield Fault(f"defaults.hold_minutes.{condition}", "no lifter is so", instead)


def _turns(typed: object) -> float | None:
    try:
        return None if typed is None else turns(typed)
    except QuantityFault:
        return None


def _placeholders(step: Raw) -> _Found:
    each = str(step.get("each"))
    allowed = PLACEHOLDERS.get(each)
    if allowed is None:
        return
    for key in _FILLED_IN:
        text = step.get(key)
        if not isinstance(text, str):
            continue
        for name in _BRACES.findall(text):
            if name not in allowed:
                yield key, f"{{{name}}} has no meaning in a step of each {each}", _braces(allowed)
        if set(_BRACES.sub("", text)) & {"{", "}"}:
            yield key, "has a brace by itself", "braces come in pairs around a name"


def _braces(allowed: frozenset[str]) -> str:
    return f"what can stand there: {', '.join(f'{{{name}}}' for name in sorted(allowed))}"


def _confirm(step: Raw) -> _Found:
    if step.get("ask") == "confirm":
        if "if_not" not in step:
            yield "if_not", "is missing", "a confirm says what to do when it is not so"
        if "yes" not in step:
            yield "yes", "is missing", 'name the state confirmed, not "checked"'
    else:
        for key in ("yes", "no"):
            if key in step:
                yield key, "belongs to a confirm", 'leave it out, or let ask be "confirm"'


def _choice(step: Raw) -> _Found:
    options = step.get("options")
    if step.get("ask") != "choice":
        if "options" in step:
            yield "options", "belong to a choice", 'leave them out, or let ask be "choice"'
        return
    if not isinstance(options, list) or len(options) < 2:
        yield "options", "are fewer than two", "a choice needs at least two"
        return
    tables = [option for option in options[:MOST_OPTIONS] if isinstance(option, Mapping)]
    for key in _texts(tables, "key"):
        if not _OPTION_KEY.fullmatch(key):
            yield "options", f"{quoted(key)} is no key", "a key is a single letter or digit"
        elif key.lower() in _TAKEN_KEYS:
            yield "options", f"the key {quoted(key)} skips a step", "use another"
    for name in ("key", "value"):
        for twice in _twice([text.lower() for text in _texts(tables, name)]):
            yield "options", f"the {name} {quoted(twice)} is given twice", "let each differ"


def _texts(tables: Sequence[Raw], name: str) -> list[str]:
    return [value for table in tables if isinstance(value := table.get(name), str)]


def _twice(words: Sequence[str]) -> list[str]:
    return sorted({word for word in words if words.count(word) > 1})


def _fills(step: Raw) -> _Found:
    name = step.get("fills")
    if not isinstance(name, str):
        return
    if name not in FILLS:
        yield "fills", f"the walk knows no {quoted(name)}", did_you_mean(name, FILLS, "it knows")
        return
    ask, values = FILLS[name]
    if step.get("ask") != ask:
        yield "ask", f"is {quoted(step.get('ask'))}", f"{name} is filled by ask = {quoted(ask)}"
    options = step.get("options")
    if not values or not isinstance(options, list):
        return
    given = _texts([option for option in options if isinstance(option, Mapping)], "value")
    for value in sorted(set(given) - set(values)):
        yield "options", f"{name} can't be {quoted(value)}", did_you_mean(value, values, "it is")


def _reached(step: Raw) -> _Found:
    phase, each = step.get("phase"), step.get("each")
    allowed = EACH_IN_PHASE.get(phase) if isinstance(phase, str) else None
    if allowed is not None and isinstance(each, str) and each in EACHES and each not in allowed:
        problem = f"a step of each {each} is never reached in {phase}: nothing is gone round there"
        yield "each", problem, 'let it be "build"'


def _ids(steps: Sequence[tuple[str, Raw]]) -> Iterator[Fault]:
    seen: dict[str, str] = {}
    for where, step in steps:
        step_id = step.get("id")
        if isinstance(step_id, str):
            if step_id in seen:
                yield Fault(f"{where}.id", f"is the id of {seen[step_id]} too", "let each differ")
            seen.setdefault(step_id, where)


def _conditions(steps: Sequence[tuple[str, Raw]]) -> Iterator[Fault]:
    by_id: dict[str, tuple[int, Raw]] = {}
    for number, (_, step) in enumerate(steps):
        if isinstance(step.get("id"), str):
            by_id.setdefault(str(step["id"]), (number, step))
    for number, (where, step) in enumerate(steps):
        condition = step.get("only_if")
        if not isinstance(condition, Mapping) or not isinstance(condition.get("step"), str):
            continue
        name = str(condition["step"])
        if name not in by_id:
            instead = did_you_mean(name, by_id, "there are")
            yield Fault(f"{where}.only_if", f"there is no step {quoted(name)}", instead)
            continue
        place, earlier = by_id[name]
        for problem, instead in _condition(condition, (place, earlier), (number, step)):
            yield Fault(f"{where}.only_if", problem, instead)


def _condition(
    condition: Raw, earlier: tuple[int, Raw], here: tuple[int, Raw]
) -> Iterator[tuple[str, str]]:
    name = quoted(condition.get("step"))
    if _when(*earlier) >= _when(*here):
        yield f"the step {name} comes later", "name one asked before"
        return
    step = earlier[1]
    if step.get("each") != "build" and step.get("each") != here[1].get("each"):
        yield (
            f"the step {name} has many answers: one for each {step.get('each')}",
            ("name a step of each build, or one of the same each"),
        )
    values = _answers(step)
    wanted = condition.get("is")
    if not values:
        yield f"the step {name} has no set answers", "name a choice or a confirm"
    elif isinstance(wanted, str) and wanted not in values:
        yield (
            f"{name} is never {quoted(wanted)}, so the step is never reached",
            (did_you_mean(wanted, values, "it can be")),
        )


def _when(number: int, step: Raw) -> tuple[int, int]:
    phase = step.get("phase")
    return (PHASES.index(phase) if isinstance(phase, str) and phase in PHASES else -1, number)


def _answers(step: Raw) -> list[str]:
    if step.get("ask") == "confirm":
        return ["yes"]
    options = step.get("options")
    if step.get("ask") != "choice" or not isinstance(options, list):
        return []
    return _texts([option for option in options if isinstance(option, Mapping)], "value")
