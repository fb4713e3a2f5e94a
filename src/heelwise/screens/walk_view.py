"""The left of the walk screen: question, figures, reason, answer line and verdict."""

from __future__ import annotations

from dataclasses import replace

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from heelwise.documents.entries import AnyEntry, Begun, HandedOver, Paused, Recovered, Resumed
from heelwise.documents.steps import Caution
from heelwise.screens.lengths import lengths_in, prompt_in
from heelwise.screens.styled_text import Part, ago, all_wrapped, content, lines, shown
from heelwise.screens.theme import glyphs
from heelwise.screens.walk_beside import Beside
from heelwise.screens.widgets.answer import AnswerLine
from heelwise.screens.widgets.bars import TopLine, Where
from heelwise.screens.widgets.drawn import Drawn
from heelwise.screens.widgets.placard import Placard, count_bar, prompt_figures, verdict_figures
from heelwise.session import Session, is_rehearsal
from heelwise.sheet.words import entry_words
from heelwise.walk.prompts import Fact, Prompt
from heelwise.walk.scene import Scene
from heelwise.walk.state import RESUME_STEP
from heelwise.walk.walker import Feedback, Walker, next_prompt
from heelwise.wording import painted

HELP_WIDTH = 74
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


def resume_rows(prompt: Prompt, walker: Walker, unit: str) -> list[list[Part]]:
    """The context of a resume, nothing for any other prompt."""
    if prompt.id != RESUME_STEP:
        return []
    rows: list[list[Part]] = [[(_when_left(walker), "quiet")], [("last done", "next")]]
    for entry in last_work(walker.state.entries):
        rows.append(
            [
                (f"{entry.number:>4} {entry.at:%d %b %H:%M}  ", "quiet"),
                (painted(entry_words(entry, walker.build.procedure), unit), "plain"),
            ]
        )
    rows += [
        [("next, if the crank has not moved", "next")],
        [(painted(_next(walker), unit), "plain")],
    ]
    return rows


def last_work(entries: list[AnyEntry]) -> list[AnyEntry]:
    """The last three entries about the engine, oldest first."""
    work = [e for e in entries if not isinstance(e.body, OF_THE_RECORD)]
    return work[-SHOWN:]


def _when_left(walker: Walker) -> str:
    entries = walker.state.entries
    before = [e for e in entries if not isinstance(e.body, Resumed)]
    last = before[-1]
    when = f"{last.at:%d %b %H:%M}, {ago(last.at, walker.now())}"
    if isinstance(last.body, Paused):
        return f"Paused by {last.by}: {when}."
    return f"Closed without pausing. Last entry by {last.by}: {when}."


def _next(walker: Walker) -> str:
    going_on = replace(walker.state, resume_asked=None)
    return next_prompt(Scene(walker.build, going_on)).question


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

    def show(self, session: Session, feedback: Feedback | None) -> None:
        """Show the prompt that stands, and what the last answer came to."""
        walker = session.walker
        prompt = walker.prompt
        self.query_one(TopLine).show(
            Where(
                session.record.head.build.name,
                walker.by,
                len(walker.state.entries),
                prompt.phase,
                prompt.progress,
                prompt.done,
                prompt.total,
            )
        )
        self.show_figures(session)
        self._show_question(prompt, session)
        self.tell(feedback, painted(prompt.question, lengths_in(self)))
        self.query_one(Beside).show(prompt, walker.scene)
        self.fit()

    def on_resize(self) -> None:
        """See again what there is room for."""
        self.fit()

    def on_answer_line_grew(self) -> None:
        """See again what there is room for."""
        self.fit()

    def fit(self) -> None:
        """Show all, then let what is large give way until question and answer are whole."""
        self._tight = 0
        self._give_way()

    def _give_way(self) -> None:
        self._hide_what_is_large()
        self.call_after_refresh(self._look_for_room)

    def _hide_what_is_large(self) -> None:
        for step, name in enumerate(GIVES_WAY):
            placard = self.query_one(name, Placard)
            placard.display = placard.filled and self._tight <= step
        self.query_one("#said").display = self._told and self._tight <= len(GIVES_WAY)

    def _look_for_room(self) -> None:
        if not self.is_attached:
            return  # left in between
        said = self.query_one("#said")
        last = said if said.display else self.query_one("#ask")
        over = last.region.bottom > self.query_one("#left").region.bottom
        if over and self._tight <= len(GIVES_WAY):
            self._tight += 1
            self._give_way()

    def show_figures(self, session: Session, typed: str = "") -> None:
        """Show what is shown large: the time left of a wait, a reading as typed; and the bar."""
        walker, unit = session.walker, lengths_in(self)
        now = None if is_rehearsal(session.record.head) else walker.now()
        prompt, scene = walker.prompt, walker.scene
        figures = prompt_figures(prompt_in(prompt, unit), scene, now, typed, unit)
        self.query_one("#figures", Placard).show(figures)
        self._hide_what_is_large()
        self.query_one("#bar").display = prompt.records == COUNT
        self.query_one("#bar", Drawn).show(lambda width: count_bar(prompt, scene, typed, width))

    def _show_question(self, asked: Prompt, session: Session) -> None:
        prompt = prompt_in(asked, lengths_in(self))
        self.query_one("#question", Static).update(question_text(prompt))
        caution = self.query_one("#caution", Static)
        caution.display = prompt.caution is not None
        if prompt.caution is not None:
            caution.update(caution_text(prompt.caution))
        self.query_one("#why", Static).update(shown(prompt.why))
        self._show_facts(prompt, session)
        self.query_one("#more", VerticalScroll).scroll_home(animate=False)
        sensed = None if session.walker.closed else session.sense()
        place = self.query_one("#sensed", Static)
        place.display = sensed is not None
        if sensed is not None:
            report = painted(sensed.report, lengths_in(self))
            place.update(content([(" you find ", "find"), (f" {report}", "strong")]))

    def _show_facts(self, prompt: Prompt, session: Session) -> None:
        before = resume_rows(prompt, session.walker, lengths_in(self))
        if is_rehearsal(session.record.head) and len(session.walker.state.entries) == 1:
            before = [*_what_it_is(session), *before]

        def facts(width: int) -> list[list[Part]]:
            return [*all_wrapped(before, width, indent=4), *fact_rows(prompt.facts, width)]

        self.query_one("#facts", Drawn).show(facts)

    def tell(self, feedback: Feedback | None, question: str = "") -> None:
        """Tell in one row what the last answer came to, unless the question says it again.

        SHORT and LONG are shown large as well.
        """
        unit = lengths_in(self)
        figures = verdict_figures(feedback.entries, unit) if feedback is not None else []
        text = painted(feedback.text, unit) if feedback is not None else ""
        if text and text.split(". ")[0] in question:
            text = ""
        self._told = bool(text or figures)
        if feedback is None:
            self._hide_what_is_large()
            return
        self.query_one("#verdict", Placard).show(figures)
        self._hide_what_is_large()
        words = self.query_one("#words", Static)
        words.display = bool(text)
        sign = {"good": glyphs().good, "warn": glyphs().warn, "bad": glyphs().bad}.get(
            feedback.tone
        )
        parts = [(f"{sign} " if sign else "", feedback.tone)]
        words.update(content([*parts, (text, "plain")]))


def _what_it_is(session: Session) -> list[list[Part]]:
    virtual = "The engine is virtual: what you would find is shown above the answer. No waiting."
    kept = f"Kept by {session.walker.by} in {session.file}; the same command resumes it."
    return [[("A rehearsal.  ", "next"), (virtual, "plain")], [(kept, "quiet")], []]
