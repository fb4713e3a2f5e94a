"""A procedure: the words, cautions, numbers and options the walk asks by."""

import hashlib
import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Literal

import tomli_w
from pydantic import Field, PlainValidator

from heelwise.documents import fields
from heelwise.documents.faults import Fault, QuantityFault, did_you_mean, quoted
from heelwise.documents.files import parse_toml, read_bytes, read_toml
from heelwise.documents.library import expanded
from heelwise.documents.methods import DEFAULT, METHODS, MOST_STEPS, Method, rule_faults
from heelwise.documents.setup_engine import Mount
from heelwise.documents.setup_lifters import LifterKind
from heelwise.documents.steps import LIFTER_CONDITIONS, MOST_OPTIONS, Level, StepId
from heelwise.documents.steps import Step as Step

_Minutes = Annotated[float, Field(ge=0, le=24 * 60)]


def _method(name: object) -> Method:
    if not isinstance(name, str) or name not in METHODS:
        hint = did_you_mean(str(name), METHODS, "the methods are")
        raise QuantityFault(f"is {quoted(name)}", hint)
    return METHODS[name]


class Defaults(fields.Table):
    """Numbers of a procedure, used where the setup gives none."""

    ascending = (("least_turns", "most_turns"),)
    together = ((ascending[0], "a window has both"),)

    margin_deg: Annotated[float, Field(ge=0, le=180)] = 10.0
    resolution_turns: Annotated[float, Field(gt=0, le=1)] = 0.125
    reserve_turns: Annotated[float, Field(ge=0, le=5)] = 0.25
    seat_turns: Annotated[float, Field(ge=0, le=1)] = 0.0
    hold_minutes: dict[str, _Minutes] = Field(
        default_factory=lambda: {"dry": 2.0, "soaked": 10.0, "pumped": 20.0, "used": 20.0}
    )
    hold_source: fields.Paragraph = (
        "common practice: 5 to 20 minutes are printed for oiled lifters; "
        "the lifter maker's sheet comes first"
    )
    unload_minutes: _Minutes = 1.0
    settled_turns: Annotated[float, Field(ge=0, le=0.5)] = 0.014
    length_tolerance: fields.Length = "0.010 in"
    recount_allowance_turns: Annotated[float, Field(ge=0, le=1)] = 0.125
    trial: Literal["one of each kind a bank", "one of each kind", "every valve"] = (
        "one of each kind a bank"
    )
    rule: Literal["as read", "guarded"] = "as read"
    travel_by: Literal["trials", "every count"] = "trials"
    pistons_down_deg: Annotated[float, Field(ge=0, le=90)] = 0.0
    most_pistons_down_deg: Annotated[float, Field(ge=0, le=90)] = 0.0
    least_turns: fields.TurnsNumber | None = None
    most_turns: fields.TurnsNumber | None = None
    wanted_turns: fields.TurnsNumber | None = None
    recount: Literal["sample", "one a bank", "all", "none"] = "sample"
    receive: Literal["every one", "one of each length", "none"] = "every one"
    lash_tolerance: fields.Length = "0.001 in"
    feeler_step: fields.Length = "0.001 in"
    gauge_source: fields.Paragraph = "common practice, no source"
    sealant_note: fields.Paragraph | None = None
    checking_pitch: fields.Length = "0.050 in"
    checking_pitch_source: fields.Paragraph = "two makers; see yours"

    def _own_faults(self) -> Iterator[Fault]:
        yield from super()._own_faults()
        least, most, wanted = map(self.figure, ("least_turns", "most_turns", "wanted_turns"))
        if least and most and wanted is not None and not least <= wanted <= most:
            problem = f"{wanted:g} is outside least_turns and most_turns"
            yield Fault("wanted_turns", problem, "write a value between them")
        hold = self.hold_minutes if isinstance(self.hold_minutes, Mapping) else {}
        for condition in LIFTER_CONDITIONS if hold else ():
            if condition not in hold:
                yield Fault(f"hold_minutes.{condition}", "is missing", "add its minutes")
        for condition in sorted(set(map(str, hold)) - set(LIFTER_CONDITIONS))[:MOST_OPTIONS]:
            hint = did_you_mean(condition, LIFTER_CONDITIONS, "lifters are")
            yield Fault(f"hold_minutes.{condition}", "isn't a condition of lifters", hint)


class LeftOut(fields.Table):
    """A step that a procedure leaves out of the one it is based on."""

    id: str
    title: fields.ShortLine
    level: Level | None = None
    hazard: fields.Paragraph | None = None


class Head(fields.Table):
    """[procedure]: its title, what it is for, and where its numbers come from."""

    id: StepId = ""
    title: fields.ShortLine
    method: Annotated[Method, PlainValidator(_method)] = METHODS[DEFAULT]
    for_mount: Annotated[list[Mount], Field(min_length=1)]
    for_lifter: Annotated[list[LifterKind], Field(min_length=1)]
    source: Annotated[fields.Paragraph, Field(examples=['source = "the maker\'s sheet"'])]
    first: fields.Paragraph = (
        "The maker's sheet, local codes and licensed practice come first. "
        "Where they differ from this walk, follow them and note it."
    )
    covers_not: list[fields.Paragraph] = Field(default_factory=list, max_length=50)
    based_on: str | None = None
    left_out: list[LeftOut] = Field(default_factory=list, max_length=MOST_STEPS)


class Procedure(Head):
    """A whole procedure. Make it with `load_procedure` or `parse_procedure`.

    `text` is all of it, shared steps written out, as a record keeps it; `digest` is of that.
    """

    defaults: Defaults = Field(default_factory=Defaults)
    steps: tuple[Step, ...]
    text: str
    digest: str

    @property
    def omissions(self) -> list[str]:
        """What its defaults leave out, for the sheet."""
        measured = {
            "none": "no new pushrod was measured",
            "one of each length": "one new pushrod of each length was measured, "
            "the others taken as ordered",
        }.get(self.defaults.receive if self.method.buys else "")
        recount = self.defaults.recount if self.method.recounts else ""
        counted = "no sample was counted again" if recount == "none" else None
        return [each for each in (measured, counted) if each]

    def serves(self, mount: str, lifter: str) -> bool:
        """Whether it is meant for a rocker mount and a kind of lifter."""
        return mount in self.for_mount and lifter in self.for_lifter

    def step(self, step_id: str) -> Step | None:
        """The step of an id, or None."""
        return next((step for step in self.steps if step.id == step_id), None)

    def notes(self) -> list[Fault]:
        """What to look at again: each step left out that guards a person."""
        serious = [each for each in self.left_out if each.level in ("DANGER", "WARNING")]
        return [
            Fault(
                f"procedure.leave_out ({each.id})",
                f"leaves out a {each.level}: {(each.hazard or '').rstrip('.')}",
                "be sure that your shop guards against it otherwise",
            )
            for each in serious
        ]


class _Document(fields.Table):
    """The form of a procedure's file, shared steps written out."""

    format: Literal[1]
    procedure: Head
    defaults: Defaults = Field(default_factory=Defaults)
    step: Annotated[
        list[Step], Field(min_length=1, max_length=MOST_STEPS, examples=["a [[step]] table"])
    ]

    def _own_faults(self) -> Iterator[Fault]:
        if isinstance(self.step, list):
            yield from rule_faults(self.procedure, self.step)


class _SharedSteps(fields.Table):
    """The form of a file of steps that procedures share."""

    format: Literal[1]
    step: Annotated[list[Step], Field(min_length=1, max_length=MOST_STEPS)]


def check_steps(path: Path) -> None:
    """Look at a file of shared steps, and raise Faulty with every fault."""
    raw = _of_today(read_toml(path))
    fields.read_model(_SharedSteps, raw, str(path))


def procedure_digest(data: bytes) -> str:
    """The digest a record knows its procedure by: SHA-256 in hex, CR LF read as LF."""
    return hashlib.sha256(data.replace(b"\r\n", b"\n")).hexdigest()


def parse_procedure(raw: Mapping[str, Any], file: str, text: str = "") -> Procedure:
    """Make a procedure of a document, shared steps and what it is based on written out, or Faulty.

    Its own `text` is kept where nothing had to be written out.
    """
    whole, faults = expanded(raw, file)
    return _made(whole, file, text if text and whole == raw else tomli_w.dumps(whole), faults)


def load_procedure(path: Path) -> Procedure:
    """Read a procedure from its file, or raise Faulty with every fault."""
    data = read_bytes(path)
    text = data.decode("utf-8", "replace").replace("\r\n", "\n")
    return parse_procedure(parse_toml(data, str(path)), str(path), text)


@lru_cache(maxsize=16)
def kept_procedure(text: str, name: str) -> tuple[Procedure, tuple[str, ...]]:
    """The procedure of a record, out of the text kept in it, and the keys not known; or Faulty.

    Most records of a folder hold the same few: they are known by their whole text.
    """
    raw, unknown = fields.without_unknown(_Document, _of_today(parse_toml(text.encode(), "")))
    return _made(raw, name, text, []), tuple(unknown)


def _made(raw: Mapping[str, Any], file: str, text: str, faults: list[Fault]) -> Procedure:
    document = fields.read_model(_Document, _of_today(raw), file, faults)
    head = {key: getattr(document.procedure, key) for key in Head.model_fields}
    words = re.findall(r"[a-z0-9]+", Path(file).stem.lower())
    head["id"] = head["id"] or "-".join(words)[:64].strip("-") or "procedure"
    return Procedure.model_construct(
        **head,
        defaults=document.defaults,
        steps=tuple(document.step),
        text=text,
        digest=procedure_digest(text.encode()),
    )


def _of_today(raw: Mapping[str, Any]) -> dict[str, Any]:
    steps = raw.get("step")
    rows = steps if isinstance(steps, list) else []
    today = [_step_of_today(row) if isinstance(row, Mapping) else row for row in rows]
    return {**raw, "step": today} if rows else dict(raw)


def _step_of_today(step: Mapping[str, Any]) -> dict[str, Any]:
    made = {("records" if key == "fills" else key): value for key, value in step.items()}
    made.pop("guard", None)
    if "title" not in made and isinstance(made.get("id"), str):
        made["title"] = made["id"].replace("-", " ").strip()[:100] or "a step"
    return made
