"""What the walk screen shows of a sitting; it decides nothing."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Static

from heelwise.documents.length_display import in_unit
from heelwise.screens import resuming
from heelwise.screens.figures import answer_figures, prompt_figures
from heelwise.screens.glyphs import glyphs
from heelwise.screens.lengths import lengths_in
from heelwise.screens.prompt_lengths import prompt_in
from heelwise.screens.sitting import Sitting, is_rehearsal
from heelwise.screens.tones import Part, content
from heelwise.screens.walk_beside import Beside
from heelwise.screens.widgets import question
from heelwise.screens.widgets.answer import AnswerLine
from heelwise.screens.widgets.count_bar import count_bar
from heelwise.screens.widgets.drawn import Drawn
from heelwise.screens.widgets.placard import Placard
from heelwise.screens.widgets.top_line import TopLine, Where
from heelwise.screens.wrapping import all_wrapped
from heelwise.walk.prompts import Prompt
from heelwise.walk.walker import Said

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

    def show(self, sitting: Sitting, said: Said | None) -> None:
        """Show the prompt that stands, and what the last answer came to."""
        walker = sitting.walker
        prompt, scene = walker.prompt, walker.scene
        self.query_one(TopLine).show(
            Where(
                sitting.record.head.build.name,
                walker.by,
                len(walker.standing.entries),
                prompt.phase,
                prompt.progress,
                prompt.done,
                prompt.total,
            )
        )
        self.show_figures(sitting)
        self._show_question(prompt, sitting)
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
        more, question = self.query_one("#more", VerticalScroll), self.query_one("#question")
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

    def show_figures(self, sitting: Sitting, typed: str = "") -> None:
        """Show the figures that are told large: the time left of a wait, a reading as typed."""
        walker = sitting.walker
        now = None if is_rehearsal(sitting.record.head) else walker.now()
        unit = lengths_in(self)
        figures = prompt_figures(prompt_in(walker.prompt, unit), walker.scene, now, typed, unit)
        self.query_one("#figures", Placard).show(figures)
        prompt, scene = walker.prompt, walker.scene

        def bar(width: int) -> list[list[Part]]:
            return count_bar(prompt, scene, typed, width)

        self.query_one("#bar", Drawn).show(bar)

    def _show_question(self, asked: Prompt, sitting: Sitting) -> None:
        prompt = asked if sitting.walker.closed else prompt_in(asked, lengths_in(self))
        self.query_one("#question", Static).update(question.question(prompt))
        caution = self.query_one("#caution", Static)
        caution.display = prompt.caution is not None
        if prompt.caution is not None:
            caution.update(question.caution(prompt.caution))
        self.query_one("#why", Static).update(question.reason(prompt))
        self._show_facts(prompt, sitting)
        self.query_one("#more", VerticalScroll).scroll_home(animate=False)
        sensed = None if sitting.walker.closed else sitting.sense()
        told = self.query_one("#sensed", Static)
        told.display = sensed is not None
        if sensed is not None:
            told.update(
                content([(" YOUR HANDS AND EYES ", "notice"), (f" {sensed.report}", "strong")])
            )

    def _show_facts(self, prompt: Prompt, sitting: Sitting) -> None:
        last = resuming.facts(prompt, sitting.walker, lengths_in(self))
        if is_rehearsal(sitting.record.head) and len(sitting.walker.standing.entries) == 1:
            last = [*_what_it_is(sitting), *last]

        def facts(width: int) -> list[list[Part]]:
            found = all_wrapped(last, width, indent=4)
            return [*found, *question.facts(prompt.facts, width)]

        self.query_one("#facts", Drawn).show(facts)

    def tell(self, said: Said | None) -> None:
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


def _what_it_is(sitting: Sitting) -> list[list[Part]]:
    """A rehearsal introduces itself, before its first question is answered."""
    said = "The engine is virtual: what hands and eyes find is told below. Waits pass at once."
    kept = f"Kept by {sitting.walker.by} in {sitting.file}; the same command goes on with it."
    return [[("A rehearsal.  ", "next"), (said, "plain")], [(kept, "quiet")], [("", "plain")]]
