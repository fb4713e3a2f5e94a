"""Starting a build from a setup file: what it was understood to say, then name and initials."""

from __future__ import annotations

import itertools
import os
import re
from datetime import datetime
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from heelwise.documents import quantities
from heelwise.documents.setup import Setup
from heelwise.screens.key_actions import key
from heelwise.screens.styled_text import Part, all_wrapped, content, shown
from heelwise.screens.theme import glyphs
from heelwise.screens.widgets.bars import KeyBar
from heelwise.screens.widgets.drawn import Drawn
from heelwise.screens.widgets.text_line import TextLine
from heelwise.session import ProcedureFile, Session, begin_session
from heelwise.storage.errors import StorageError
from heelwise.valvetrain.cam import Cam
from heelwise.valvetrain.engine import Engine, ValveKind
from heelwise.valvetrain.positions import Position
from heelwise.walk.build import Build
from heelwise.walk.limits import gauge_limits
from heelwise.walk.prepare import judge_wrench
from heelwise.walk.scene import Scene
from heelwise.walk.state import fold

Line = tuple[str, str, str]
"""What it is, what is understood, where it comes from."""

LABEL = 17


def understood(setup: Setup, method: ProcedureFile, width: int) -> list[list[Part]]:
    """Lay out what the walk will work with."""
    build = Build(setup, method.procedure)
    scene = Scene(build, fold(build.engine.valves, ()))
    rows = [
        ("method", method.procedure.title, method.procedure.id),
        *_engine(build.engine),
        *_positions(scene),
        *_limits(scene),
        *_pushrods(setup),
        *_wrench(setup),
        *_cam(build.cam),
    ]
    return all_wrapped([_parts(row) for row in rows], width, indent=LABEL)


def _parts(row: Line) -> list[Part]:
    label, said, source = row
    return [(f"{label:<{LABEL}}", "quiet"), (said, "strong"), (f"  {source}", "quiet")]


def _engine(engine: Engine) -> list[Line]:
    order = "-".join(map(str, engine.firing_order))
    way = "clockwise" if engine.clockwise else "counter-clockwise"
    rows = [
        ("engine", f"{engine.cylinders} cylinders, {len(engine.valves)} valves", "the setup"),
        ("firing order", order, f"{_gaps(engine)}; turns {way} from the front"),
    ]
    if len(engine.banks) > 1:
        said = "; ".join(f"{b.name} {' '.join(map(str, b.cylinders))}" for b in engine.banks)
        rows.append(("banks", said, "the setup"))
    return rows


def _gaps(engine: Engine) -> str:
    gaps = set(engine.firing_gaps)
    if len(gaps) == 1:
        return f"even, {next(iter(gaps)):g}° apart"
    return f"gaps {' '.join(f'{g:g}' for g in engine.firing_gaps)}°"


def _cam(cam: Cam | None) -> list[Line]:
    if cam is None:
        return [("cam", "not known", "one cylinder at a time, right for any four-stroke cam")]
    ends = cam.lobe_ends
    said = (
        f"IVO {ends.ivo_btdc:g}° BTDC, IVC {ends.ivc_abdc:g}° ABDC, "
        f"EVO {ends.evo_bbdc:g}° BBDC, EVC {ends.evc_atdc:g}° ATDC"
    )
    return [("lobe ends", said, cam.source), *(("", note, "worked out") for note in cam.notes())]


def _limits(scene: Scene) -> list[Line]:
    """What readings will be judged by: turns, or a gap under a feeler gauge."""
    if scene.build.method.reads == "turns":
        return _turns(scene)
    engine = scene.build.engine
    each = [next(v for v in engine.valves if v.kind is kind) for kind in ValveKind]
    found = [(v.kind, fact) for v in each for fact in gauge_limits(scene, v).facts]
    rows = [
        ("intake" if kind is ValveKind.INTAKE else "exhaust", f.text, f.source) for kind, f in found
    ]
    return list(dict.fromkeys(rows))


def _turns(scene: Scene) -> list[Line]:
    window, used = scene.window, scene.travel.used
    least, most = map(quantities.show_turns, (window.least_turns, window.most_turns))
    never = quantities.show_turns(scene.never_past)
    rows = [
        ("window", f"{least} to {most} turns", window.source),
        ("travel per turn", _both(used.mm), used.source),
        ("never past", f"{never} turns", scene.never_past_fact.source),
    ]
    notes = (*scene.travel.notes, *window.notes)
    return [*rows, *(("", note, "") for note in notes)]


def _pushrods(setup: Setup) -> list[Line]:
    pushrods = setup.pushrods
    if pushrods is None:
        return []
    rows = [
        (f"{kind} pushrod", quantities.understood(typed), "the setup")
        for kind, typed in (("intake", pushrods.intake), ("exhaust", pushrods.exhaust))
    ]
    lengths = setup.lengths()
    if lengths:
        said = f"{len(lengths)} lengths, {_both(lengths[0])} to {_both(lengths[-1])}"
        rows.append(("to be had", said, "the setup"))
    return rows


def _wrench(setup: Setup) -> list[Line]:
    if setup.wrench is None:
        return []
    judged = judge_wrench(setup, datetime.now().astimezone().date())
    sign = f"{glyphs().bad} " if judged.against else ""
    said = f"{setup.wrench.name}: {sign}{'; '.join(judged.notes)}"
    return [("wrench", said, "the setup, against ISO 6789-1:2017 as makers cite it")]


def _positions(scene: Scene) -> list[Line]:
    plan = scene.plan
    rows = [("", said, "the walk's preference") for said in scene.preferred.reasons]
    if scene.loaded_lifters_wait:
        rows.append(("", "Lifters taken as used; dry ones may be parked elsewhere.", "until asked"))
    return [*(_position(p) for p in plan.positions), *rows]


def _position(position: Position) -> Line:
    margins = [v.margin_deg for v in position.valves if v.margin_deg is not None]
    valves = " ".join(str(v.valve) for v in position.valves)
    least = f"least margin {min(margins):.0f}°, " if margins else ""
    said = f"crank at {position.crank_deg:g}°: {valves}"
    return (f"position {position.number}", said, f"{least}{position.landmark}")


def _both(mm: float) -> str:
    return f"{quantities.show_length(mm, 'in')} = {quantities.show_length(mm, 'mm')}"


LABELS = {"name": "Name of the build", "by": "Your initials"}


def free_name(folder: Path, stem: str) -> str:
    """A name for a build that no file of the folder has."""
    start = re.sub(r"[^A-Za-z0-9]+", "-", stem, flags=re.ASCII).strip("-")[:56] or "build"
    return next(
        name
        for number in itertools.count(1)
        if not os.path.lexists(folder / f"{(name := f'{start}-{number}')}.toml")
    )


class StartScreen(Screen[Session]):
    """Shows a setup and begins its build."""

    CSS_PATH = "start.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("f1", "app.help", "Help", "What this shows, and every key.", shown=True),
        key(
            "enter",
            "next",
            "Next",
            "The next line; after the last one the build begins.",
            shown=True,
        ),
        key("f2", "method", "Method", "Another procedure that serves this setup.", shown=True),
        key("up", "line('name')", "Name", "The line above: the build's name."),
        key("down", "line('by')", "Initials", "The line below: your initials."),
        key("pagedown", "scroll(1)", "More", "Read on in what was understood.", shown=True),
        key("pageup", "scroll(-1)", "Back up", "Read back."),
        key("escape", "back", "Back", "Back, without beginning.", shown=True),
    ]

    def __init__(
        self, file: Path, setup: Setup, methods: list[ProcedureFile], folder: Path, by: str
    ) -> None:
        super().__init__()
        self._file, self._setup, self._methods = file, setup, methods
        self._folder, self._by = folder, by
        self._chosen = 0

    @property
    def method(self) -> ProcedureFile:
        """The procedure to build by."""
        return self._methods[self._chosen]

    def compose(self) -> ComposeResult:
        """What was understood, then the two lines to fill in."""
        yield Static(id="title")
        with VerticalScroll(id="known", can_focus=False):
            yield Drawn(id="understood")
        with Vertical(id="form"):
            with Horizontal():
                yield Static(classes="label", id="label-name")
                yield TextLine(
                    id="name",
                    placeholder="letters, digits and dashes",
                    on_enter=self.action_next,
                )
            with Horizontal():
                yield Static(classes="label", id="label-by")
                yield TextLine(
                    id="by", placeholder="they go with every entry", on_enter=self.action_next
                )
            yield Static(id="remark")
        yield KeyBar()

    def on_mount(self) -> None:
        """Fill in what is known."""
        self.query_one("#name", TextLine).put(free_name(self._folder, self._file.stem))
        self.query_one("#by", TextLine).put(self._by)
        self.query_one("#name", TextLine).focus()
        self._show()

    def _show(self) -> None:
        setup, method = self._setup, self.method

        def lines_for(width: int) -> list[list[Part]]:
            return understood(setup, method, width)

        self.query_one("#understood", Drawn).show(lines_for)
        self.query_one("#title", Static).update(self._title())
        self._remark("", "")
        self.refresh_bindings()

    def _title(self) -> Content:
        """The file, and by which method of those that serve it."""
        many = len(self._methods)
        which = f" ({self._chosen + 1} of {many}: F2 changes it)" if many > 1 else ""
        return content(
            [
                (f" A new build from {self._file.name}", "next"),
                (f"  by {self.method.procedure.id}{which}", "strong"),
            ]
        )

    def on_descendant_focus(self) -> None:
        """Mark the line that is typed in, by a sign and not by its look alone."""
        for name in ("name", "by"):
            line = self.query_one(f"#{name}", TextLine)
            sign = glyphs().next if line.has_focus else " "
            self.query_one(f"#label-{name}", Static).update(shown(f"{sign} {LABELS[name]}"))

    def _remark(self, problem: str, instead: str) -> None:
        remark = self.query_one("#remark", Static)
        remark.display = bool(problem)
        remark.update(content([(f"{glyphs().bad} {problem}; ", "bad"), (instead, "plain")]))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Another method only where there is one."""
        return action != "method" or len(self._methods) > 1

    def action_method(self) -> None:
        """The next procedure."""
        self._chosen = (self._chosen + 1) % len(self._methods)
        self._show()

    def action_scroll(self, pages: int) -> None:
        """Scroll what was understood."""
        known = self.query_one("#known", VerticalScroll)
        known.scroll_relative(y=pages * max(known.size.height - 1, 1), animate=False)

    def action_line(self, name: str) -> None:
        """Type in one of the two lines."""
        self.query_one(f"#{name}", TextLine).focus()

    def action_back(self) -> None:
        """Back, without beginning."""
        self.dismiss(None)

    def action_next(self) -> None:
        """The next line, or begin."""
        name, by = self.query_one("#name", TextLine), self.query_one("#by", TextLine)
        if name.has_focus:
            by.focus()
        elif not by.value.strip():
            self._remark("nobody is named", "your initials")
        else:
            self._begin(name.value.strip(), by.value.strip())

    def _begin(self, name: str, by: str) -> None:
        try:
            session = begin_session(self._setup, self.method, self._folder, name, by)
        except StorageError as error:
            self._remark(f"{error.where}: {error.problem}", error.instead)
            self.query_one("#name", TextLine).focus()
        else:
            self.dismiss(session)
