"""What is wrong between a procedure's method and its steps.

Looks at the tables as TOML gave them and passes over what it can't read: that is
reported by the models.
"""

from collections.abc import Iterator, Mapping, Sequence

from heelwise.documents.entry_base import PASSING
from heelwise.documents.faults import Fault, quoted
from heelwise.documents.methods import DEFAULT, FORMS, METHODS, Form, Place, places_of
from heelwise.documents.model_faults import did_you_mean
from heelwise.documents.procedure_checks import (
    FILLS,
    MOST_OPTIONS,
    PLACEHOLDERS,
    Raw,
    braces_in,
    named_steps,
)

Named = Sequence[tuple[str, Raw]]

BY_METHOD: Mapping[str, frozenset[str]] = {
    "turns": frozenset(
        {"turns to the click", "turns and lock", "checking pushrod", "checking lifter", "recheck"}
    ),
    "wanted": frozenset({"turns and lock"}),
    "lash": frozenset({"lash and lock"}),
    "least": frozenset({"lash and lock", "stands and gap"}),
    "most": frozenset({"lash and lock", "stands and gap"}),
    "stand": frozenset({"stands and gap"}),
}
"""Figures that only some methods have; others have a meaning in all."""

_AFTER = ("locked", "recheck", "play")
"""What comes after the valve's count or gauging in Fit, in the order given here."""


def method_faults(raw: Raw) -> list[Fault]:
    """Find every fault between a procedure's method and its lifters and steps.

    Args:
        raw: The document as TOML gives it.

    Returns:
        The faults; none where the method itself can't be read, or there are no steps at all.
    """
    head = raw.get("procedure")
    table = head if isinstance(head, Mapping) else {}
    method = table.get("method", DEFAULT)
    steps = named_steps(raw)
    if not isinstance(method, str) or method not in METHODS or not steps:
        return []
    form = FORMS[method]
    found = list(_lifters(table.get("for_lifter"), form, method))
    for where, step in steps:
        for check in (_place, _unreached, _figures, _proof, _always):
            found += (Fault(f"{where}.{key}", *said) for key, *said in check(step, form, method))
    return [
        *found,
        *_missing(steps, form, method),
        *_twice(steps, form),
        *_order(steps),
        *_lash_order(steps),
    ]


_Found = Iterator[tuple[str, str, str]]


def _lifters(kinds: object, form: Form, method: str) -> Iterator[Fault]:
    for kind in kinds if isinstance(kinds, list) else ():
        if isinstance(kind, str) and kind.split(" ")[0] in _OTHER[form.lifters]:
            problem = f"{quoted(kind)} lifters can't be set by {quoted(method)}"
            yield Fault("procedure.for_lifter", problem, f"name {form.lifters} lifters")


_OTHER = {"hydraulic": ("solid",), "solid": ("hydraulic",)}


def _place(step: Raw, form: Form, method: str) -> _Found:
    fills = step.get("fills")
    if not isinstance(fills, str) or fills not in FILLS:
        return
    allowed = [place for place in places_of(form) if place[2] == fills]
    if not allowed:
        names = sorted({place[2] for place in places_of(form)})
        yield (
            "fills",
            f"{fills} has no place in {quoted(method)}",
            (f"it can fill {', '.join(names)}"),
        )
        return
    phase, each = _filled(step)[:2]
    if phase not in {place[0] for place in allowed}:
        phases = " or ".join(dict.fromkeys(place[0] for place in allowed))
        yield "phase", f"is {quoted(phase)}", f"{fills} is filled in {phases}"
    elif (phase, each) not in {place[:2] for place in allowed}:
        eaches = " or ".join(place[1] for place in allowed if place[0] == phase)
        yield "each", f"is {quoted(each)}", f"{fills} is filled for each {eaches}"


def _unreached(step: Raw, form: Form, method: str) -> _Found:
    phase, each = _filled(step)[:2]
    if (phase, each) in form.unreached or (each == "stand" and not form.stands):
        yield (
            "each",
            f"a step of each {each} in {phase} is never reached by {quoted(method)}",
            f"ask it elsewhere: this method is {form.said}",
        )


def _figures(step: Raw, form: Form, method: str) -> _Found:
    allowed = PLACEHOLDERS.get(str(step.get("each")), frozenset())
    for key, name in braces_in(step):
        if name in allowed and method not in BY_METHOD.get(name, {method}):
            yield key, f"{{{name}}} has no meaning in {quoted(method)}", "leave it out"


def _proof(step: Raw, form: Form, method: str) -> _Found:
    options = step.get("options")
    if step.get("fills") != "proof" or not isinstance(options, list):
        return
    tables = [option for option in options[:MOST_OPTIONS] if isinstance(option, Mapping)]
    values = [value for table in tables if isinstance(value := table.get("value"), str)]
    known = FILLS["proof"][1]
    for value in sorted(set(values) & set(known) - set(form.proofs)):
        instead = did_you_mean(value, form.proofs, "it finds")
        yield "options", f"a proof of {quoted(method)} can't be {quoted(value)}", instead
    usable = set(values) & set(form.proofs)
    if len(options) > 1 and usable and not usable & set(PASSING):
        yield "options", "no proof can pass", f"add {_or(form.proofs, passing=True)}"
    if len(options) > 1 and usable and usable <= set(PASSING):
        yield "options", "no proof can fail", f"add {_or(form.proofs, passing=False)}"


def _always(step: Raw, form: Form, method: str) -> _Found:
    if _filled(step) not in form.must or step.get("fills") not in _WORKED_WITH:
        return
    if step.get("skippable") is True:
        yield "skippable", f"{quoted(method)} can't do without {step['fills']}", "leave it out"
    if "only_if" in step:
        yield "only_if", f"{quoted(method)} always needs {step['fills']}", "leave it out"


_WORKED_WITH = (
    "cup_hydraulic",
    "cup_solid",
    "checking_length",
    "rocker_down",
    "lash_checked",
    "lifter_back",
)
"""What a length can't be worked out without, or the engine not go on without."""


def _or(proofs: Sequence[str], *, passing: bool) -> str:
    return " or ".join(word for word in proofs if (word in PASSING) is passing)


def _filled(step: Raw) -> Place:
    return (str(step.get("phase")), str(step.get("each")), str(step.get("fills")))


def _missing(steps: Named, form: Form, method: str) -> Iterator[Fault]:
    names = {_filled(step)[2] for _, step in steps if _filled(step) not in form.must}
    given = {_filled(step) for _, step in steps}
    for phase, each, fills in form.must:
        # A step that fills it in the wrong place is told of where it stands.
        if (phase, each, fills) not in given and fills not in names:
            problem = (
                f"no step of each {each} in {phase} fills {fills}, which {quoted(method)} needs"
            )
            ask = FILLS[fills][0]
            yield Fault("step", problem, f"add one with ask = {quoted(ask)}")


def _twice(steps: Named, form: Form) -> Iterator[Fault]:
    seen: dict[Place, str] = {}
    for where, step in steps:
        place = _filled(step)
        if place[2] != "None" and place in (*form.must, *form.may):
            if place in seen:
                problem = f"{place[2]} is filled by {seen[place]} already"
                yield Fault(f"{where}.fills", problem, "this step is never reached: leave one out")
            seen.setdefault(place, where)


def _order(steps: Named) -> Iterator[Fault]:
    reached = False
    for where, step in steps:
        phase, each, fills = _filled(step)
        if (phase, each) != ("fit", "valve"):
            continue
        reached = reached or fills in ("count", "gauge")
        if fills in _AFTER and not reached:
            problem = f"{fills} comes before the valve is counted or gauged"
            yield Fault(f"{where}.fills", problem, "write it after that step")


_BY_LASH = ("checking_length", "rocker_down", "lash_checked", "lifter_back")
"""The order of a trial by lash: the pushrod measured, the lash, the hydraulic lifter back."""


def _lash_order(steps: Named) -> Iterator[Fault]:
    seen: list[str] = []
    for where, step in steps:
        fills = _filled(step)[2]
        if fills not in _BY_LASH:
            continue
        after = [name for name in seen if _BY_LASH.index(name) > _BY_LASH.index(fills)]
        if after:
            instead = "the order is the pushrod's length, the lash, the lifter put back"
            yield Fault(f"{where}.fills", f"{fills} comes after {after[0]}", instead)
        seen.append(fills)
