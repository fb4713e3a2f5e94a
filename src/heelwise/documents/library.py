"""Where procedures, their shared steps and engine cards are found, read and put together."""

import os
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from heelwise.documents.faults import Fault, Faulty, did_you_mean, quoted
from heelwise.documents.fields import Paragraph, ShortLine, Table, read_model
from heelwise.documents.files import folders, read_toml
from heelwise.documents.setup_engine import EngineTable

_NAME = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,62}[a-z0-9])?")


def find_procedures() -> dict[str, Path]:
    """Every procedure's file by name, in alphabetical order; of two by one name the shop's own."""
    return _files_in("")


def find_cards() -> dict[str, Path]:
    """Every engine card's file by name, in alphabetical order; of two the shop's own."""
    return _files_in("engines")


def _files_in(inside: str) -> dict[str, Path]:
    paths: dict[str, Path] = {}
    for folder in reversed(folders()):
        for path in (folder / inside).glob("*.toml"):
            if _NAME.fullmatch(path.stem) and os.path.isfile(path):
                paths[path.stem] = path
    return dict(sorted(paths.items()))


# ---------------------------------------- engine cards


class CardHead(Table):
    """[card]: what the card is called, how its cylinders are numbered, where it comes from.

    `common`: offered before the rarer orders of its layout.
    """

    title: ShortLine
    numbering: Paragraph
    source: Annotated[Paragraph, Field(examples=['source = "common practice, no source"'])]
    common: bool = False


class Card(Table):
    """A whole card: the layout of one kind of engine, for many setups."""

    format: Literal[1]
    card: CardHead
    engine: EngineTable

    @property
    def order(self) -> str:
        """The firing order as it is written: 1-3-4-2."""
        return "-".join(map(str, self.engine.firing_order))

    def _own_faults(self) -> Iterator[Fault]:
        if self.engine is not None and self.engine.card is not None:
            yield Fault("engine.card", "names another card", "write the fields themselves")


def read_card(path: Path) -> Card:
    """Read a card from its file, or Faulty with every fault found in it."""
    return read_model(Card, read_toml(path), str(path))


def load_card(name: str) -> dict[str, object]:
    """The fields of a setup's [engine] that a card gives, not yet checked; Faulty without it."""
    cards = find_cards()
    if name not in cards:
        problem = f"there is no card {quoted(name)}"
        instead = did_you_mean(name, cards, "there are") if cards else "give firing_order instead"
        raise Faulty("engines", [Fault("card", problem, instead)])
    engine = read_toml(cards[name]).get("engine")
    if not isinstance(engine, dict) or "card" in engine:
        instead = "write its fields under [engine]"
        raise Faulty(str(cards[name]), [Fault("engine", "has no fields", instead)])
    return engine


# ---------------------------------------- cards found by typing


def read_cards(paths: Iterable[Path]) -> dict[str, Card]:
    """The cards that can be read, by name: more cylinders first, then the common orders."""
    cards = {}
    for path in paths:
        with suppress(Faulty):
            cards[path.stem] = read_card(path)
    return dict(
        sorted(
            cards.items(),
            key=lambda card: (-len(card[1].engine.firing_order), not card[1].card.common, card[0]),
        )
    )


def matching(cards: Mapping[str, Card], typed: str) -> list[str]:
    """The names of the cards that a text may mean; a whole name means that card alone.

    Words in any order or a part of the firing order: "v8 left", "1-8-4-3", "1843".
    """
    if typed in cards:
        return [typed]
    return [name for name, card in cards.items() if _may_mean(name, card, typed.lower())]


def _may_mean(name: str, card: Card, typed: str) -> bool:
    digits = re.sub(r"[\s,;–-]+", "", typed)
    if digits.isdigit() and len(digits) > 2:
        return digits in card.order.replace("-", "") * 2  # typed from any cylinder on
    text = f"{name} {card.card.title} {len(card.engine.firing_order)} cylinders".lower()
    words = re.findall(r"[a-z0-9]+", text)
    # A part of a word will do, but a number must be all of one: 4 is not in 145236.
    return all(w in (words if w.isdigit() else text) for w in typed.split())


# ---------------------------------------- a procedure written out whole

Raw = Mapping[str, Any]
_DEEPEST = 5
_OF_THE_BASE = ("method", "steps", "for_mount")


def expanded(raw: Raw, file: str) -> tuple[dict[str, Any], list[Fault]]:
    """The document with every step in its place, and what is wrong with how it is put together."""
    faults: list[Fault] = []
    return _whole(raw, (Path(file).stem,), faults), faults


def shared_steps() -> dict[str, Raw]:
    """The steps that procedures share, by id; of two by one id the shop's own."""
    shared: dict[str, Raw] = {}
    for folder in reversed(folders()):
        for path in sorted((folder / "steps").glob("*.toml")):
            stat = path.stat()
            shared |= _steps_in(path, stat.st_mtime_ns, stat.st_size)
    return shared


@lru_cache(maxsize=32)
def _steps_in(path: Path, changed: int, size: int) -> dict[str, Raw]:
    return {step["id"]: step for step in _steps_of(read_toml(path)) if _has_id(step)}


def _steps_of(raw: Raw) -> list[Any]:
    steps = raw.get("step", [])
    return list(steps) if isinstance(steps, list) else [steps]


def _has_id(step: object) -> bool:
    return isinstance(step, Mapping) and isinstance(step.get("id"), str)


def _table(value: object) -> Raw:
    return value if isinstance(value, Mapping) else {}


def _without(table: Raw, *keys: str) -> dict[str, Any]:
    return {key: value for key, value in table.items() if key not in keys}


def _no_step(where: str, name: object, known: Iterable[str]) -> Fault:
    hint = did_you_mean(str(name), known, "there are")
    return Fault(where, f"there is no step {quoted(name)}", hint)


def _whole(raw: Raw, names: tuple[str, ...], faults: list[Fault]) -> dict[str, Any]:
    """A document written out; `names`: its own, after those of the procedures based on it."""
    head = _table(raw.get("procedure"))
    if "based_on" in head and "left_out" not in head:
        return _based(raw, head, names, faults)
    return _of_named(raw, head, faults) if "steps" in head else dict(raw)


def _listed(head: Raw, key: str, faults: list[Fault]) -> list[str]:
    given = head.get(key, [])
    if isinstance(given, list) and all(isinstance(each, str) for each in given):
        return given
    faults.append(Fault(f"procedure.{key}", "isn't a list of steps", 'write ids, like ["heads"]'))
    return []


def _of_named(raw: Raw, head: Raw, faults: list[Fault]) -> dict[str, Any]:
    names, own, shared = _listed(head, "steps", faults), _steps_of(raw), shared_steps()
    by_id = {step["id"]: step for step in own if _has_id(step)}
    known = {**shared, **by_id}
    faults += [_no_step("procedure.steps", name, known) for name in names if name not in known]
    instead = "name it in procedure.steps, in its place"
    unasked = (name for name in by_id if name not in names)
    faults += [Fault(f"step {name}", "is never asked", instead) for name in unasked]
    steps = [{**shared.get(n, {}), **by_id.get(n, {})} for n in names if n in known]
    steps += [step for step in own if not _has_id(step)]
    return {**raw, "procedure": _without(head, "steps"), "step": steps}


def _based(raw: Raw, head: Raw, names: tuple[str, ...], faults: list[Fault]) -> dict[str, Any]:
    name, known = head["based_on"], find_procedures()
    others = set(known) - set(names)
    if not isinstance(name, str) or name not in others or len(names) > _DEEPEST:
        problem = f"there is no procedure {quoted(name)} for it to be based on"
        hint = did_you_mean(str(name), others, "there are")
        faults.append(Fault("procedure.based_on", problem, hint))
        return {**raw, "procedure": _without(head, "leave_out", "steps")}
    base = _whole(read_toml(known[name]), (*names, name), faults)
    for key in _OF_THE_BASE:
        if key in head:
            faults.append(Fault(f"procedure.{key}", f"belongs to {name}", "leave it out here"))
    steps, left_out = _steps_of(base), [*base["procedure"].get("left_out", [])]
    for each in _listed(head, "leave_out", faults):
        if each in (ids := _ids(steps)):
            step = steps.pop(ids.index(each))
            caution = _without(_table(step.get("caution")), "consequence", "avoid")
            left_out.append({"id": each, "title": step.get("title", each), **caution})
        else:
            faults.append(_no_step("procedure.leave_out", each, ids))
    for step in _steps_of(raw):
        faults += _put(steps, step)
    made = {**base["procedure"], "id": names[-1], **_without(head, "leave_out")}
    defaults = {**_table(base.get("defaults")), **_table(raw.get("defaults"))}
    return {**raw, "procedure": made | {"left_out": left_out}, "defaults": defaults, "step": steps}


def _ids(steps: list[Any]) -> list[str]:
    return [step["id"] if _has_id(step) else "" for step in steps]


def _put(steps: list[Any], step: Any) -> Iterator[Fault]:
    """Change a step of the base's, or put a new one in its place."""
    if not _has_id(step):
        yield Fault("step", "has no id", 'write id = "..."')
        return
    name, ids, sides = step["id"], _ids(steps), [key for key in ("after", "before") if key in step]
    made = _without(step, *sides)
    if name in ids and not sides:
        steps[ids.index(name)] |= made
    elif name in ids or len(sides) != 1:
        problem = "changes a step, and has a place too" if name in ids else "has no place"
        instead = 'a new step has one of after = "..." and before = "..."'
        yield Fault(f"step {name}", problem, instead)
    elif step[sides[0]] not in ids:
        yield _no_step(f"step {name}.{sides[0]}", step[sides[0]], ids)
    else:
        new = {**shared_steps().get(name, {}), **made}
        steps.insert(ids.index(step[sides[0]]) + (sides[0] == "after"), new)
