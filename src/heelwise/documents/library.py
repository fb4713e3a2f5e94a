"""Where procedures, their shared steps and engine cards are found, read and put together."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
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
    making = _Making(Path(file).stem)
    return making.whole(raw, ()), making.faults


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


@dataclass
class _Making:
    """One procedure being written out; `name` is its file's."""

    name: str
    faults: list[Fault] = field(default_factory=list)

    def whole(self, raw: Raw, above: tuple[str, ...]) -> dict[str, Any]:
        """A document written out; `above`: the procedures based on it that are being so."""
        head = _table(raw.get("procedure"))
        if "based_on" in head and "left_out" not in head:
            return self._based(raw, head, above)
        return self._of_named(raw, head) if "steps" in head else dict(raw)

    def _fault(self, where: str, problem: str, instead: str) -> None:
        self.faults.append(Fault(where, problem, instead))

    def _no_step(self, where: str, name: object, known: Iterable[str]) -> None:
        hint = did_you_mean(str(name), known, "there are")
        self._fault(where, f"there is no step {quoted(name)}", hint)

    def _names(self, head: Raw, key: str) -> list[str]:
        given = head.get(key, [])
        if isinstance(given, list) and all(isinstance(each, str) for each in given):
            return given
        self._fault(f"procedure.{key}", "isn't a list of steps", 'write ids, like ["heads"]')
        return []

    def _of_named(self, raw: Raw, head: Raw) -> dict[str, Any]:
        names, own = self._names(head, "steps"), _steps_of(raw)
        by_id = {step["id"]: step for step in own if _has_id(step)}
        shared = shared_steps()
        steps = []
        for name in names:
            if name in shared or name in by_id:
                steps.append({**shared.get(name, {}), **by_id.get(name, {})})
            else:
                self._no_step("procedure.steps", name, [*shared, *by_id])
        for name in by_id:
            if name not in names:
                instead = "name it in procedure.steps, in its place"
                self._fault(f"step {name}", "is never asked", instead)
        steps += [step for step in own if not _has_id(step)]
        return {**raw, "procedure": _without(head, "steps"), "step": steps}

    def _based(self, raw: Raw, head: Raw, above: tuple[str, ...]) -> dict[str, Any]:
        name, known = head["based_on"], find_procedures()
        others = set(known) - {self.name, *above}
        if not isinstance(name, str) or name not in others or len(above) >= _DEEPEST:
            hint = did_you_mean(str(name), others, "there are")
            problem = f"there is no procedure {quoted(name)} for it to be based on"
            self._fault("procedure.based_on", problem, hint)
            return {**raw, "procedure": _without(head, "leave_out", "steps")}
        base = self.whole(read_toml(known[name]), (*above, name))
        for key in _OF_THE_BASE:
            if key in head:
                self._fault(f"procedure.{key}", f"belongs to {name}", "leave it out here")
        steps = _steps_of(base)
        left_out = []
        for each in self._names(head, "leave_out"):
            place = self._place(steps, each, "procedure.leave_out")
            if place is not None:
                step = steps.pop(place)
                caution = _without(_table(step.get("caution")), "consequence", "avoid")
                left_out.append({"id": each, "title": step.get("title", each), **caution})
        for step in _steps_of(raw):
            self._put(steps, step)
        made = {**base["procedure"], "id": self.name, **_without(head, "leave_out")}
        made["left_out"] = [*base["procedure"].get("left_out", []), *left_out]
        defaults = {**_table(base.get("defaults")), **_table(raw.get("defaults"))}
        return {**raw, "procedure": made, "defaults": defaults, "step": steps}

    def _place(self, steps: list[Any], name: object, where: str = "") -> int | None:
        ids = [step["id"] if _has_id(step) else None for step in steps]
        if where and name not in ids:
            self._no_step(where, name, [each for each in ids if each])
        return ids.index(name) if name in ids else None

    def _put(self, steps: list[Any], step: Any) -> None:
        if not _has_id(step):
            self._fault("step", "has no id", 'write id = "..."')
            return
        where, place = f"step {step['id']}", self._place(steps, step["id"])
        sides = [key for key in ("after", "before") if key in step]
        made = _without(step, *sides)
        if place is not None and not sides:
            steps[place] = {**steps[place], **made}
        elif place is not None or len(sides) != 1:
            problem = "has no place" if place is None else "changes a step, and has a place too"
            self._fault(where, problem, 'a new step has one of after = "..." and before = "..."')
        else:
            (side,) = sides
            beside = self._place(steps, step[side], f"{where}.{side}")
            if beside is not None:
                new = {**shared_steps().get(step["id"], {}), **made}
                steps.insert(beside + (side == "after"), new)
