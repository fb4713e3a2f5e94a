"""A procedure written out whole: its shared steps, and the one it is based on.

Steps shared by procedures stand once, in files of the folder `steps` beside them. A procedure names
its steps in order in `procedure.steps`; a `[[step]]` of it gives a step of its own, or the keys
that differ from the shared one. One with `based_on` takes another procedure, leaves out steps,
changes keys of steps, and puts in steps `after` or `before` one that is there.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from heelwise.documents.faults import Fault, did_you_mean, quoted
from heelwise.documents.folders import folders
from heelwise.documents.library import find_procedures
from heelwise.documents.toml import read_toml

Raw = Mapping[str, Any]
_DEEPEST = 5
_OF_THE_BASE = ("method", "steps", "for_mount")


def expanded(
    raw: Raw, file: str, above: tuple[str, ...] = ()
) -> tuple[dict[str, Any], list[Fault]]:
    """Write a procedure out whole.

    Args:
        raw: Its document as TOML gives it.
        file: Its name.
        above: Procedures being written out that are based on it.

    Returns:
        The document with every step in its place, and what is wrong with how it is put together.

    Raises:
        Faulty: If a shared step's file or the procedure it is based on can't be read.
    """
    head = raw.get("procedure")
    if not isinstance(head, Mapping):
        return dict(raw), []
    if "based_on" in head and "left_out" not in head:
        return _based(raw, head, file, above)
    if "steps" in head:
        return _of_named_steps(raw, head)
    return dict(raw), []


def shared_steps() -> dict[str, Raw]:
    """The steps that procedures share, by id; of two by one id the shop's own.

    Raises:
        Faulty: If one of their files can't be read.
    """
    found: dict[str, Raw] = {}
    for folder in reversed(folders()):
        for path in sorted((folder / "steps").glob("*.toml")):
            stat = path.stat()
            found |= _steps_in(path, stat.st_mtime_ns, stat.st_size)
    return found


@lru_cache(maxsize=32)
def _steps_in(path: Path, changed: int, size: int) -> dict[str, Raw]:
    """The steps of one file, as long as it isn't changed."""
    steps = read_toml(path).get("step")
    return dict(_by_id(steps if isinstance(steps, list) else []))


def _by_id(steps: list[Any]) -> Iterator[tuple[str, Raw]]:
    for step in steps:
        if isinstance(step, Mapping) and isinstance(step.get("id"), str):
            yield step["id"], step


def _own_steps(raw: Raw) -> list[Any]:
    steps = raw.get("step", [])
    return steps if isinstance(steps, list) else [steps]


def _texts(head: Raw, key: str, faults: list[Fault]) -> list[str]:
    given = head.get(key, [])
    if isinstance(given, list) and all(isinstance(each, str) for each in given):
        return given
    faults.append(Fault(f"procedure.{key}", "isn't a list of steps", 'write ids, like ["heads"]'))
    return []


def _of_named_steps(raw: Raw, head: Raw) -> tuple[dict[str, Any], list[Fault]]:
    faults: list[Fault] = []
    names = _texts(head, "steps", faults)
    own = dict(_by_id(_own_steps(raw)))
    shared = shared_steps()
    steps = []
    for name in names:
        if name not in shared and name not in own:
            hint = did_you_mean(name, [*shared, *own], "there are")
            faults.append(Fault("procedure.steps", f"there is no step {quoted(name)}", hint))
        else:
            steps.append({**shared.get(name, {}), **own.get(name, {})})
    for name in own:
        if name not in names:
            where, problem = f"step {name}", "is never asked"
            faults.append(Fault(where, problem, "name it in procedure.steps, in its place"))
    steps += [step for step in _own_steps(raw) if not _has_id(step)]
    kept = {key: value for key, value in head.items() if key != "steps"}
    return {**raw, "procedure": kept, "step": steps}, faults


def _has_id(step: object) -> bool:
    return isinstance(step, Mapping) and isinstance(step.get("id"), str)


def _based(
    raw: Raw, head: Raw, file: str, above: tuple[str, ...]
) -> tuple[dict[str, Any], list[Fault]]:
    name = head["based_on"]
    known = find_procedures()
    if not isinstance(name, str) or name not in known or Path(file).stem == name:
        problem = f"there is no procedure {quoted(name)} to be based on"
        hint = did_you_mean(str(name), set(known) - {Path(file).stem}, "there are")
        return _unbased(raw, head), [Fault("procedure.based_on", problem, hint)]
    if name in above or len(above) >= _DEEPEST:
        problem = f"{quoted(name)} is based on this one in its turn"
        return _unbased(raw, head), [Fault("procedure.based_on", problem, "name a whole one")]
    base, faults = expanded(read_toml(known[name]), name, (*above, name))
    faults += [
        Fault(f"procedure.{key}", f"belongs to {name}", "leave it out here")
        for key in _OF_THE_BASE
        if key in head
    ]
    steps = list(_own_steps(base))
    left_out = _leave_out(steps, _texts(head, "leave_out", faults), faults)
    for step in _own_steps(raw):
        _put(steps, step, faults)
    base_head = base.get("procedure", {})
    made = {**base_head, **{key: value for key, value in head.items() if key != "leave_out"}}
    if "id" not in head:
        made["id"] = Path(file).stem
    made["left_out"] = [*base_head.get("left_out", []), *left_out]
    defaults = {**base.get("defaults", {}), **_table(raw.get("defaults"))}
    rest = {
        key: value for key, value in raw.items() if key not in ("procedure", "defaults", "step")
    }
    return {**rest, "procedure": made, "defaults": defaults, "step": steps}, faults


def _unbased(raw: Raw, head: Raw) -> dict[str, Any]:
    kept = {key: value for key, value in head.items() if key not in ("leave_out", "steps")}
    return {**raw, "procedure": kept}


def _table(value: object) -> Raw:
    return value if isinstance(value, Mapping) else {}


def _place(steps: list[Any], name: object) -> int | None:
    places = (n for n, step in enumerate(steps) if _has_id(step) and step["id"] == name)
    return next(places, None)


def _leave_out(steps: list[Any], names: list[str], faults: list[Fault]) -> list[dict[str, str]]:
    left_out = []
    for name in names:
        place = _place(steps, name)
        if place is None:
            hint = did_you_mean(name, [step["id"] for step in steps if _has_id(step)], "there are")
            faults.append(Fault("procedure.leave_out", f"there is no step {quoted(name)}", hint))
            continue
        step = steps.pop(place)
        caution = _table(step.get("caution"))
        row = {"id": name, "title": step.get("title", name)}
        row |= {key: caution[key] for key in ("level", "hazard") if key in caution}
        left_out.append(row)
    return left_out


def _put(steps: list[Any], step: Any, faults: list[Fault]) -> None:
    """Change the step of that id, or put a new one in its place."""
    if not _has_id(step):
        faults.append(Fault("step", "has no id", 'write id = "..."'))
        return
    place = _place(steps, step["id"])
    where = f"step {step['id']}"
    anchors = [key for key in ("after", "before") if key in step]
    made = {key: value for key, value in step.items() if key not in anchors}
    if place is not None and not anchors:
        steps[place] = {**steps[place], **made}
        return
    if place is not None or len(anchors) != 1:
        problem = (
            "changes a step, and is put beside another" if place is not None else "has no place"
        )
        faults.append(
            Fault(where, problem, 'a new step has one of after = "..." and before = "..."')
        )
        return
    at = _place(steps, step[anchors[0]])
    if at is None:
        problem = f"there is no step {quoted(step[anchors[0]])}"
        hint = did_you_mean(str(step[anchors[0]]), [s["id"] for s in steps if _has_id(s)])
        faults.append(Fault(f"{where}.{anchors[0]}", problem, hint))
        return
    steps.insert(at + (anchors[0] == "after"), {**shared_steps().get(step["id"], {}), **made})
