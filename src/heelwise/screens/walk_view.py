"""The left of the walk screen: question, figures, reason, answer line and verdict."""

from __future__ import annotations

from dataclasses import replace

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from heelwise.documents.entries import Begun, HandedOver, Paused, Recovered, Resumed
from heelwise.documents.steps import PHASES, Caution
from heelwise.plain_text import Part, all_wrapped, one_line
from heelwise.screens.answer import AnswerLine
from heelwise.screens.drawn import Drawn
from heelwise.screens.placard import Placard, count_bar, prompt_figures, verdict_figures
from heelwise.screens.styled_text import ago, content, in_unit, lengths_in, lines, shown
from heelwise.screens.theme import glyphs
from heelwise.screens.walk_beside import Beside
from heelwise.session import Session, is_rehearsal
from heelwise.sheet.words import entry_words
from heelwise.walk.prompts import Fact, Prompt
from heelwise.walk.scene import Scene
from heelwise.walk.state import RESUME_STEP
from heelwise.walk.walker import Feedback, Walker, next_prompt
from heelwise.wording import counted, painted

HELP_WIDTH = 74
AIRY, SPARE = -1, 6
"""There is room to breathe where so many rows are left for the reason and the figures."""
GIVES_WAY = ("#verdict", "#figures")
"""What is large, in the order in which it gives way to the answer; last, what was told before."""

COUNT = "count"


def question_text(prompt: Prompt) -> Content:
    """The question under its heading."""
    headed = prompt.heading and prompt.records != COUNT  # a count has it on its bar
    heading: list[Part] = [(prompt.heading + "\n", "quiet")] if headed else []
    return content([*heading, (prompt.question, "strong")])


def caution_text(hazard: Caution) -> Content:
    """A safety message: level, hazard, what comes of it, how to avoid it."""
    level = hazard.level.lower()
    return content(
        [
            (f" {hazard.level.upper()} ", level if level in _LEVELS else "warning"),
            (f" {hazard.hazard}", "strong"),
            (f" {hazard.consequence} {hazard.avoid}", "plain"),
        ]
    )


_LEVELS = ("danger", "warning", "caution", "notice")


def fact_rows(known: tuple[Fact, ...], width: int) -> list[list[Part]]:
    """Figures, each with where it comes from."""
    rows: list[list[Part]] = [
        [(f"{glyphs().bullet} ", "quiet"), (fact.text, "plain"), (f"  {fact.source}", "quiet")]
        for fact in known
    ]
    return all_wrapped(rows, width, indent=2)


def in_full(prompt: Prompt) -> Content:
    """A prompt with all that belongs to it, one under the other."""
    parts = [question_text(prompt)]
    if prompt.caution is not None:
        parts.append(caution_text(prompt.caution))
    parts.append(shown(prompt.why))
    if prompt.facts:
        parts.append(lines(fact_rows(prompt.facts, HELP_WIDTH)))
    return Content("\n").join(parts)


OF_THE_RECORD = (Begun, Paused, Resumed, Recovered, HandedOver)
"""Entries about the keeping of the record, not about the engine."""

SHOWN = 3


def resume_rows(walker: Walker, unit: str) -> list[list[Part]]:
    """What to know on coming back: who left when, what was done last, what comes next."""
    entries, build = walker.state.entries, walker.build
    left = next(entry for entry in reversed(entries) if not isinstance(entry.body, Resumed))
    how = "Paused by" if isinstance(left.body, Paused) else "Closed without pausing. Last entry by"
    when = f"{left.at:%d %b %H:%M}, {ago(left.at, walker.now())}"
    rows: list[list[Part]] = [[(f"{how} {left.by}: {when}.", "quiet")], [("last done", "next")]]
    work = [entry for entry in entries if not isinstance(entry.body, OF_THE_RECORD)]
    for entry in work[-SHOWN:]:
        start = f"{entry.number:>4} {entry.at:%d %b %H:%M}  "
        rows.append(
            [(start, "quiet"), (painted(entry_words(entry, build.procedure), unit), "plain")]
        )
    going_on = Scene(build, replace(walker.state, resume_asked=False))
    rows.append([("next, if the crank has not moved", "next")])
    return [*rows, [(painted(next_prompt(going_on).question, unit), "plain")]]


SHORTEST_BAR = 6


class TopLine(Widget):
    """Build, phases, progress."""

    DEFAULT_CSS = "TopLine { height: 2; background: $panel; padding: 0 1; }"

    def show(self, build: str, kept: str, prompt: Prompt) -> None:
        """Show a build's name, who keeps how many entries, and how far the prompt's phase is."""
        self._shown = build, kept, prompt
        self.refresh()

    _shown: tuple[str, str, Prompt] | None = None

    def render(self) -> Content:
        """Both lines for the present width."""
        if self._shown is None:
            return Content("")
        build, kept, prompt = self._shown
        width = self.content_size.width
        phases = _phases(prompt.phase)
        room = width - sum(len(text) for text, _ in phases)
        name = one_line(build, max(room - 1, 1)).ljust(room)
        return lines([[(name, "strong"), *phases], _progress(prompt, f"  {kept}", width)])


def _phases(phase: str) -> list[Part]:
    at = PHASES.index(phase)
    parts: list[Part] = []
    for number, name in enumerate(PHASES):
        if number == at:
            parts.append((f" {glyphs().next} {name.upper()} ", "key"))
        else:
            parts.append((f" {glyphs().good if number < at else ''}{name.capitalize()} ", "quiet"))
    return parts


def _progress(prompt: Prompt, kept: str, width: int) -> list[Part]:
    room = width - len(kept)
    bar = room - len(prompt.progress) - 2
    parts: list[Part] = [(one_line(prompt.progress, room), "plain")]
    if prompt.total and bar >= SHORTEST_BAR:
        full = round(prompt.done / prompt.total * bar)
        parts += [("  ", "plain"), (glyphs().full * full, "good")]
        parts += [(glyphs().empty * (bar - full), "line")]
    return [*parts, (kept.rjust(width - sum(len(text) for text, _ in parts)), "quiet")]


class WalkView(Vertical):
    """The top lines over two columns: the question and its answer; what was read so far."""

    def __init__(self, held_key_s: float) -> None:
        super().__init__()
        self._held_key_s = held_key_s
        self._tight, self._told = 0, False

    def compose(self) -> ComposeResult:
        """The parts, empty until something is shown."""
        yield TopLine(id="top")
        with Horizontal(id="middle"):
            with Vertical(id="left"):
                yield Placard(id="figures")
                yield Static(id="question")
                yield Drawn(id="bar")
                yield Static(id="caution")
                with Vertical(id="ask"):
                    yield Static(id="sensed")
                    yield AnswerLine(held_key_s=self._held_key_s, id="answer")
                with Vertical(id="said"):
                    yield Placard(id="verdict")
                    yield Static(id="words")
                with VerticalScroll(id="more", can_focus=False):
                    yield Static(id="why")
                    yield Drawn(id="facts")
            yield Beside(id="right")

    def show(self, session: Session, feedback: Feedback | None, typed: str) -> None:
        """Show the prompt that stands, what is typed, and what the last answer came to."""
        walker, unit = session.walker, lengths_in(self)
        prompt = in_unit(walker.prompt, unit)
        count = counted(len(walker.state.entries), "entry", "entries")
        self.query_one(TopLine).show(
            session.record.head.build.name, f"{walker.by} · {count}", prompt
        )
        self.show_figures(session, typed)
        self._show("question", question_text(prompt))
        self._show("caution", caution_text(prompt.caution) if prompt.caution else None)
        self._show("why", shown(prompt.why))
        sensed = None if walker.closed else session.sense()
        if sensed is None:
            self._show("sensed", None)
        else:
            report = painted(sensed.report, unit)
            self._show("sensed", content([(" you find ", "find"), (f" {report}", "strong")]))
        before = resume_rows(walker, unit) if prompt.id == RESUME_STEP else []
        if sensed is not None and len(walker.state.entries) == 1:
            before = _what_it_is(session)
        self.query_one("#facts", Drawn).show(
            lambda width: [
                *all_wrapped(before, width, indent=4),
                *fact_rows(prompt.facts, width),
            ]
        )
        self.query_one("#more", VerticalScroll).scroll_home(animate=False)
        self.tell(feedback, prompt.question)
        self.query_one(Beside).show(walker.prompt, walker.scene)
        self.fit()

    def _show(self, name: str, text: Content | None) -> None:
        place = self.query_one(f"#{name}", Static)
        place.display = text is not None
        place.update(text or "")

    def show_figures(self, session: Session, typed: str = "") -> None:
        """Show what is shown large: the time left of a wait, a reading as typed; and the bar."""
        walker, unit = session.walker, lengths_in(self)
        now = None if is_rehearsal(session.record.head) else walker.now()
        prompt, scene = walker.prompt, walker.scene
        figures = prompt_figures(in_unit(prompt, unit), scene, now, typed, unit)
        self.query_one("#figures", Placard).show_figures(figures)
        self._hide_what_is_large()
        self.query_one("#bar").display = prompt.records == COUNT
        self.query_one("#bar", Drawn).show(lambda width: count_bar(prompt, scene, typed, width))

    def tell(self, feedback: Feedback | None, question: str = "") -> None:
        """Tell in one row what the last answer came to, unless the question says it again.

        SHORT and LONG are shown large as well.
        """
        figures, text, tone = [], "", "plain"
        if feedback is not None:
            unit, tone = lengths_in(self), feedback.tone
            figures = verdict_figures(feedback.entries, unit)
            text = painted(feedback.text, unit)
            text = "" if text.split(". ")[0] in question else text
        self._told = bool(text or figures)
        self.query_one("#verdict", Placard).show_figures(figures)
        self._hide_what_is_large()
        signs = {
            "good": f"{glyphs().good} ",
            "warn": f"{glyphs().warn} ",
            "bad": f"{glyphs().bad} ",
        }
        told = content([(signs.get(tone, ""), tone), (text, "plain")])
        self._show("words", told if text else None)

    # ------------------------------------------------------------- room

    def on_resize(self) -> None:
        """See again what there is room for."""
        self.fit()

    def on_answer_line_grew(self) -> None:
        """See again what there is room for."""
        self.fit()

    def fit(self) -> None:
        """Show all with air, then let that and what is large give way to question and answer."""
        self._tight = AIRY
        self._give_way()

    def _give_way(self) -> None:
        self._hide_what_is_large()
        self.call_after_refresh(self._look_for_room)

    def _hide_what_is_large(self) -> None:
        self.query_one("#left").set_class(self._tight == AIRY, "airy")
        for step, name in enumerate(GIVES_WAY):
            placard = self.query_one(name, Placard)
            placard.display = placard.filled and self._tight <= step
        self.query_one("#said").display = self._told and self._tight <= len(GIVES_WAY)

    def _look_for_room(self) -> None:
        if not self.is_attached:
            return  # left in between
        said = self.query_one("#said")
        last = said if said.display else self.query_one("#ask")
        bottom = self.query_one("#left").region.bottom - (SPARE if self._tight == AIRY else 0)
        if last.region.bottom > bottom and self._tight <= len(GIVES_WAY):
            self._tight += 1
            self._give_way()


def _what_it_is(session: Session) -> list[list[Part]]:
    virtual = "The engine is virtual: what you would find is shown above the answer. No waiting."
    kept = f"Kept by {session.walker.by} in {session.file}; the same command resumes it."
    return [[("A rehearsal.  ", "next"), (virtual, "plain")], [(kept, "quiet")], []]
