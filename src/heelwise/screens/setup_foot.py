"""The foot of the setup form: what the field wants, and what the setup still lacks, in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from heelwise.documents.faults import Fault, Faulty
from heelwise.documents.form_fields import TABLES, FormField
from heelwise.documents.setup_checking import FILE, Checked
from heelwise.documents.setup_fields import FIELD
from heelwise.screens.glyphs import glyphs
from heelwise.screens.sitting import methods_for
from heelwise.screens.tones import Part
from heelwise.screens.wrapping import all_wrapped, wrapped

MOST_LINES = 3
"""Lines for what is missing: the rest comes once some of it is there."""


@dataclass(frozen=True)
class Foot:
    """What the foot tells of.

    Attributes:
        checked: What was made of the fields.
        walk: What would stop the walk, where the fields are whole.
        here: The field being filled in.
        typed: What stands in the fields.
        remark: What was just done, or why not.
    """

    checked: Checked
    walk: tuple[Fault, ...]
    here: FormField | None
    typed: Mapping[str, str]
    remark: str


def walk_faults(checked: Checked) -> tuple[Fault, ...]:
    """Find what would stop the walk of a setup whose fields are right.

    Args:
        checked: What was made of the fields.
    """
    if checked.setup is None:
        return ()
    try:
        methods_for(checked.setup, FILE)
    except Faulty as faulty:
        return faulty.faults
    return ()


def foot_lines(foot: Foot, width: int) -> list[list[Part]]:
    """Lay the foot out.

    Args:
        foot: What it tells of.
        width: Cells there are.
    """
    rows = wrapped(_wanted(foot), width)[:2]
    if foot.remark:
        rows += wrapped([(foot.remark, "next")], width)
    return [*rows, *_state(foot, width)]


def _wanted(foot: Foot) -> list[Part]:
    field = foot.here
    if field is None:
        return [("", "plain")]
    parts: list[Part] = [(field.hint, "plain")]
    if field.without and not field.needed(foot.typed):
        parts.append((f" Left out: {field.without}.", "quiet"))
    return parts


def _state(foot: Foot, width: int) -> list[list[Part]]:
    signs = glyphs()
    checked = foot.checked
    faults = [*checked.between, *foot.walk]
    rows: list[list[Part]] = []
    if checked.faults:
        rows.append([(f"{signs.bad} Not right: ", "bad"), (_named(checked.faults), "plain")])
    rows += [[(f"{signs.bad} {_said(fault)}", "bad")] for fault in faults]
    if checked.missing:
        lacking = _named(field.where for field in checked.missing)
        rows.append([("Still missing: ", "strong"), (lacking, "plain")])
    if not rows:
        name = foot.typed.get("file.name", "").strip()
        said = f"{signs.good} Nothing is missing. F5 saves {name}.toml and opens it."
        rows.append([(said, "good")])
    told = all_wrapped(rows, width, indent=2)
    if len(told) > MOST_LINES:
        told = [*told[: MOST_LINES - 1], [*told[MOST_LINES - 1][:-1], (signs.more, "quiet")]]
    return told


def _said(fault: Fault) -> str:
    field = FIELD.get(fault.where)
    table = fault.where.partition(".")[0]
    called = f"{TABLES.get(table, table)}{f', {_inside(field.label)}' if field else ''}"
    return f"{called}: {fault.problem}; {fault.instead}"


def _named(wheres: Iterable[str]) -> str:
    """Fields called by group and label: "Cam: advance, lobe separation. Rocker: ratio"."""
    groups: dict[str, list[str]] = {}
    for field in sorted((FIELD[where] for where in wheres), key=_ORDER.index):
        groups.setdefault(TABLES[field.table], []).append(_inside(field.label))
    return ". ".join(f"{group}: {', '.join(labels)}" for group, labels in groups.items())


_ORDER = list(FIELD.values())


def _inside(label: str) -> str:
    """A label as it stands inside a sentence."""
    return label[:1].lower() + label[1:]
