"""A procedure: the words, cautions, numbers and options the walk asks by."""

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError, model_validator

from heelwise.documents.faults import Faulty, in_order
from heelwise.documents.method_checks import method_faults
from heelwise.documents.methods import DEFAULT, FORMS, Form, Method
from heelwise.documents.model_faults import faults_of
from heelwise.documents.procedure_checks import (
    MOST_OPTIONS,
    MOST_STEPS,
    naming_steps,
    procedure_faults,
)
from heelwise.documents.setup import FORMAT, format_faults
from heelwise.documents.setup_tables import LifterKind, Mount
from heelwise.documents.toml_reading import CAP, parse_toml, read_bytes
from heelwise.documents.typed_fields import Length, Paragraph, ShortLine, Table, TurnsNumber

Phase = Literal["prepare", "trial", "fit", "prove", "sign off"]
Each = Literal["build", "position", "stand", "valve"]
AskKind = Literal["confirm", "choice", "turns", "length", "torque", "lash", "degrees", "note"]
RecountRule = Literal["sample", "all"]
TrialRule = Literal["one of each kind a bank", "one of each kind", "every valve"]

_Minutes = Annotated[float, Field(ge=0, le=24 * 60)]
_Id = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=64)]


class Caution(Table):
    """A safety message shown with its step, before the action (levels of ANSI Z535)."""

    level: Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
    hazard: Paragraph
    consequence: Paragraph
    avoid: Paragraph


class StepOption(Table):
    """One answer of a choice: the key to press, the state it stands for, what is kept."""

    key: Annotated[str, Field(min_length=1, max_length=1)]
    label: ShortLine
    value: ShortLine


class OnlyIf(Table):
    """A step is asked only where an earlier one was answered so."""

    step: str
    is_: str = Field(alias="is")


class Step(Table):
    """One question of a procedure.

    `turns_crank`: it sends the crank round, so that nothing may be loaded when it is asked.
    `guard`: not answered by Enter alone; true unless said otherwise in Fit and Prove and beside a
    caution. `first_time_only`: not asked again when its valve is done over. `fills` names what
    the walk learns from the answer.
    """

    id: _Id
    phase: Phase
    each: Each
    say: Paragraph
    why: Paragraph
    caution: Caution | None = None
    ask: AskKind
    yes: ShortLine | None = None
    no: ShortLine | None = None
    if_not: Paragraph | None = None
    options: list[StepOption] = Field(default_factory=list, max_length=MOST_OPTIONS)
    fills: str | None = None
    only_if: OnlyIf | None = None
    skippable: bool = False
    first_time_only: bool = False
    turns_crank: bool = False
    guard: bool = False

    @model_validator(mode="before")
    @classmethod
    def _guard_unless_said(cls, raw: Any) -> Any:
        if not isinstance(raw, Mapping) or "guard" in raw:
            return raw
        return {**raw, "guard": raw.get("phase") in ("fit", "prove") or "caution" in raw}


class Defaults(Table):
    """Numbers of a procedure, used where the setup gives none."""

    margin_deg: Annotated[float, Field(ge=0, le=180)] = 10.0
    resolution_turns: Annotated[float, Field(gt=0, le=1)] = 0.125
    reserve_turns: Annotated[float, Field(ge=0, le=5)] = 0.25
    seat_turns: Annotated[float, Field(ge=0, le=1)] = 0.0
    hold_minutes: dict[str, _Minutes] = Field(
        default_factory=lambda: {"dry": 2.0, "soaked": 10.0, "pumped": 20.0, "used": 20.0}
    )
    hold_source: Paragraph = "common practice, no source"
    unload_minutes: _Minutes = 1.0
    settled_turns: Annotated[float, Field(ge=0, le=0.5)] = 0.0625
    length_tolerance: Length = "0.010 in"
    recount_allowance_turns: Annotated[float, Field(ge=0, le=1)] = 0.125
    trial: TrialRule = "one of each kind a bank"
    rule: Literal["as read", "guarded"] = "as read"
    pistons_down_deg: Annotated[float, Field(ge=0, le=90)] = 0.0
    least_turns: TurnsNumber | None = None
    most_turns: TurnsNumber | None = None
    wanted_turns: TurnsNumber | None = None
    recount: RecountRule = "sample"
    lash_tolerance: Length = "0.001 in"
    feeler_step: Length = "0.001 in"
    gauge_source: Paragraph = "common practice, no source"
    sealant_note: Paragraph | None = None
    checking_pitch: Length = "0.050 in"
    checking_pitch_source: Paragraph = "two makers; see yours"


class Head(Table):
    """[procedure]: its title, what it is for, and where its numbers come from."""

    id: _Id = ""
    title: ShortLine
    method: Method = DEFAULT
    for_mount: Annotated[list[Mount], Field(min_length=1)]
    for_lifter: Annotated[list[LifterKind], Field(min_length=1)]
    source: Annotated[Paragraph, Field(examples=['source = "the maker\'s sheet"'])]
    first: Paragraph = "The maker's sheet, local codes and licensed practice come first."
    covers_not: list[Paragraph] = Field(default_factory=list, max_length=50)


class Procedure(Head):
    """A whole procedure. Make it with `load_procedure` or `parse_procedure`."""

    defaults: Defaults = Field(default_factory=Defaults)
    steps: tuple[Step, ...]
    digest: str = ""

    def serves(self, mount: str, lifter: str) -> bool:
        """Tell whether it is meant for a rocker mount and a kind of lifter.

        Args:
            mount: As in [rocker] mount.
            lifter: As in [lifter] kind.

        Returns:
            True if both are named in it.
        """
        return mount in self.for_mount and lifter in self.for_lifter

    @property
    def form(self) -> Form:
        """What its method asks for."""
        return FORMS[self.method]

    def step(self, step_id: str) -> Step | None:
        """Find a step.

        Args:
            step_id: Its id.

        Returns:
            The step, or None.
        """
        return next((step for step in self.steps if step.id == step_id), None)


class _Document(Table):
    """The form of a procedure's file."""

    format: Literal[1]
    procedure: Head
    defaults: Defaults = Field(default_factory=Defaults)
    step: Annotated[
        list[Step], Field(min_length=1, max_length=MOST_STEPS, examples=["a [[step]] table"])
    ]


def procedure_digest(data: bytes) -> str:
    """Give the digest a record knows its procedure by.

    Args:
        data: The file's bytes.

    Returns:
        SHA-256 in lower-case hex, CR LF read as LF.
    """
    return hashlib.sha256(data.replace(b"\r\n", b"\n")).hexdigest()


def parse_procedure(raw: Mapping[str, object], file: str, digest: str = "") -> Procedure:
    """Make a procedure of a document, or tell everything that is wrong with it.

    Args:
        raw: The document as TOML gives it.
        file: Its name, for the faults; its stem is the id of a procedure that names none.
        digest: Of the file's bytes, as `procedure_digest` gives it.

    Returns:
        The procedure.

    Raises:
        Faulty: With every fault; of a document made for a newer Heelwise, that alone.
    """
    faults = format_faults(raw)
    if faults and "newer" in faults[0].problem:
        raise Faulty(file, faults)
    document: _Document | None = None
    try:
        document = _Document.model_validate({**raw, "format": FORMAT})
    except ValidationError as error:
        faults += naming_steps(faults_of(error, model=_Document), raw)
    faults += procedure_faults(raw)
    faults += method_faults(raw)
    if faults or document is None:
        raise Faulty(file, in_order(faults, raw))
    head = document.procedure.model_dump()
    head["id"] = head["id"] or _id_of(file)
    return Procedure(**head, defaults=document.defaults, steps=tuple(document.step), digest=digest)


def _id_of(file: str) -> str:
    stem = Path(file).stem.lower()
    words = "".join(c if c.isascii() and c.isalnum() else " " for c in stem).split()
    return "-".join(words)[:64].strip("-") or "procedure"


def load_procedure(path: Path) -> Procedure:
    """Read a procedure from its file.

    Args:
        path: The file.

    Returns:
        The procedure, with the digest of its file.

    Raises:
        Faulty: With every fault found in it.
    """
    data = read_bytes(path, CAP)
    return parse_procedure(parse_toml(data, str(path)), str(path), procedure_digest(data))
