"""The left of the walk screen: question, figures, reason, answer line and verdict."""

from __future__ import annotations

from dataclasses import replace

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.css.query import NoMatches
from textual.widgets import Static

from heelwise.documents.entries import AnyEntry, Begun, HandedOver, Paused, Recovered, Resumed
from heelwise.documents.length_display import AS_WRITTEN, in_unit
from heelwise.screens.figures import answer_figures, count_bar, prompt_figures
from heelwise.screens.lengths import lengths_in, prompt_in
from heelwise.screens.styled_text import Part, ago, all_wrapped, content, lines, shown
from heelwise.screens.theme import glyphs
from heelwise.screens.walk_beside import Beside
from heelwise.screens.widgets.answer import AnswerLine
from heelwise.screens.widgets.bars import TopLine, Where
from heelwise.screens.widgets.drawn import Drawn
from heelwise.screens.widgets.placard import Placard
from heelwise.session import Session, is_rehearsal
from heelwise.sheet.words import entry_words
from heelwise.walk.prompts import Fact, Hazard, Prompt
from heelwise.walk.scene import Scene
from heelwise.walk.state import RESUME_STEP
from heelwise.walk.walker import Feedback, Walker, next_prompt

HELP_WIDTH = 74


def question_text(prompt: Prompt) -> Content:
    """The question under its heading."""
    told = prompt.heading and prompt.records != "count"  # that heading's figure is told large
    heading: list[Part] = [(prompt.heading + "\n", "quiet")] if told else []
    return content([*heading, (prompt.question, "strong")])


def caution_text(hazard: Hazard) -> Content:
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


def resume_rows(prompt: Prompt, walker: Walker, unit: str = AS_WRITTEN) -> list[list[Part]]:
    """The context of a resume, nothing for any other prompt."""
    if prompt.id != RESUME_STEP:
        return []
    rows: list[list[Part]] = [[(_laid_down(walker), "quiet")], [("done last", "next")]]
    for entry in last_work(walker.state.entries):
        rows.append(
            [
                (f"{entry.number:>4} {entry.at:%d %b %H:%M}  ", "quiet"),
                (entry_words(entry), "plain"),
            ]
        )
    rows += [
        [("next, if the crank is where it was", "next")],
        [(in_unit(_next(walker), unit), "plain")],
    ]
    return rows


def last_work(entries: list[AnyEntry]) -> list[AnyEntry]:
    """The last three entries about the engine, oldest first."""
    work = [e for e in entries if not isinstance(e.body, OF_THE_RECORD)]
    return work[-SHOWN:]


def _laid_down(walker: Walker) -> str:
    entries = walker.state.entries
    before = [e for e in entries if not isinstance(e.body, Resumed)]
    last = before[-1]
    when = f"{last.at:%d %b %H:%M}, {ago(last.at, walker.now())}"
    if isinstance(last.body, Paused):
        return f"Laid down by {last.by}: {when}."
    return f"Left without being laid down. Last entry by {last.by}: {when}."


def _next(walker: Walker) -> str:
    going_on = replace(walker.state, resume_asked=None)
    return next_prompt(Scene(walker.build, going_on)).question


SPACED_ROWS = 2


class WalkView(Vertical):
    """The top lines over two columns: the question and its answer; what was read so far."""

    def __init__(self, held_key_s: float) -> None:
        super().__init__()
        self._held_key_s = held_key_s
        self._large = False

    def compose(self) -> ComposeResult:
        """The parts, empty until something is shown."""
        yield TopLine(id="top")
        with Horizontal(id="middle"):
            with Vertical(id="left"):
                yield Placard(id="figures")
                yield Static(id="question")
                yield Static(id="caution")
                with VerticalScroll(id="more", can_focus=False):
                    yield Drawn(id="bar")
                    yield Static(id="why")
                    yield Drawn(id="facts")
                with Vertical(id="ask"):
                    yield Static(id="sensed")
                    yield AnswerLine(held_key_s=self._held_key_s, id="answer")
                with Vertical(id="said"):
                    yield Placard(id="verdict")
                    yield Static(id="words")
            yield Beside(id="right")

    def show(self, session: Session, said: Feedback | None) -> None:
        """Show the prompt that stands, and what the last answer came to."""
        walker = session.walker
        prompt, scene = walker.prompt, walker.scene
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
        self.tell(said)
        self.query_one(Beside).show(prompt, scene)
        self.call_after_refresh(self._space_out)

    def on_resize(self) -> None:
        """Look again whether there is room to spare."""
        self.call_after_refresh(self._space_out)

    def on_answer_line_grew(self) -> None:
        """Look again whether there is room to spare."""
        self.call_after_refresh(self._space_out)

    def _space_out(self) -> None:
        """Tell the verdict large where there is room; set the question off where there still is.

        The verdict stands in words under its large form, which gives way to the question.
        """
        try:
            more, question = self.query_one("#more", VerticalScroll), self.query_one("#question")
        except NoMatches:
            return  # left in between
        room = more.size.height + (SPACED_ROWS if question.has_class("-spaced") else 0)
        said, verdict = self.query_one("#said"), self.query_one("#verdict", Placard)
        rows = verdict.rows(said.content_size.width) if said.display else 0
        if rows:
            room += self.query_one("#left").region.bottom - said.region.bottom
            room += rows if verdict.display else 0
            self._large = verdict.display = room > rows  # one is always the reason's
            room -= rows if self._large else 0
        used = sum(part.outer_size.height for part in more.children)
        question.set_class(used <= room - SPACED_ROWS, "-spaced")

    def show_figures(self, session: Session, typed: str = "") -> None:
        """Show the figures that are told large: the time left of a wait, a reading as typed."""
        walker = session.walker
        now = None if is_rehearsal(session.record.head) else walker.now()
        unit = lengths_in(self)
        figures = prompt_figures(prompt_in(walker.prompt, unit), walker.scene, now, typed, unit)
        self.query_one("#figures", Placard).show(figures)
        prompt, scene = walker.prompt, walker.scene

        def bar(width: int) -> list[list[Part]]:
            return count_bar(prompt, scene, typed, width)

        self.query_one("#bar", Drawn).show(bar)

    def _show_question(self, asked: Prompt, session: Session) -> None:
        prompt = asked if session.walker.closed else prompt_in(asked, lengths_in(self))
        self.query_one("#question", Static).update(question_text(prompt))
        caution = self.query_one("#caution", Static)
        caution.display = prompt.caution is not None
        if prompt.caution is not None:
            caution.update(caution_text(prompt.caution))
        self.query_one("#why", Static).update(shown(prompt.why))
        self._show_facts(prompt, session)
        self.query_one("#more", VerticalScroll).scroll_home(animate=False)
        sensed = None if session.walker.closed else session.sense()
        told = self.query_one("#sensed", Static)
        told.display = sensed is not None
        if sensed is not None:
            told.update(
                content([(" YOUR HANDS AND EYES ", "notice"), (f" {sensed.report}", "strong")])
            )

    def _show_facts(self, prompt: Prompt, session: Session) -> None:
        last = resume_rows(prompt, session.walker, lengths_in(self))
        if is_rehearsal(session.record.head) and len(session.walker.state.entries) == 1:
            last = [*_what_it_is(session), *last]

        def facts(width: int) -> list[list[Part]]:
            found = all_wrapped(last, width, indent=4)
            return [*found, *fact_rows(prompt.facts, width)]

        self.query_one("#facts", Drawn).show(facts)

    def tell(self, said: Feedback | None) -> None:
        """Tell what the last answer came to; large if there was room for that the last time."""
        place = self.query_one("#said")
        unit = lengths_in(self)
        figures = answer_figures(said.entries, unit) if said is not None else []
        place.display = said is not None and bool(said.text or figures)
        if said is None:
            return
        verdict = self.query_one("#verdict", Placard)
        verdict.show(figures)
        verdict.display = self._large and bool(figures)
        words = self.query_one("#words", Static)
        words.display = bool(said.text)
        sign = {"good": glyphs().good, "warn": glyphs().warn, "bad": glyphs().bad}.get(said.tone)
        parts = [(f"{sign} " if sign else "", said.tone), (in_unit(said.text, unit), "plain")]
        words.update(content(parts))


def _what_it_is(session: Session) -> list[list[Part]]:
    """A rehearsal introduces itself, before its first question is answered."""
    said = "The engine is virtual: what hands and eyes find is told below. Waits pass at once."
    kept = f"Kept by {session.walker.by} in {session.file}; the same command goes on with it."
    return [[("A rehearsal.  ", "next"), (said, "plain")], [(kept, "quiet")], [("", "plain")]]
