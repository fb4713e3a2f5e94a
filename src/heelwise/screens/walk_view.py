"""What stands at the left of the walk: question, figures, reason and verdict, as rows."""

from dataclasses import replace
from typing import NamedTuple

from heelwise.documents.entries import Begun, HandedOver, Paused, Recovered, Resumed
from heelwise.documents.steps import PHASES
from heelwise.plain_text import Part, all_wrapped, one_line
from heelwise.screens.placard import Figure, count_bar, placard, prompt_figures, verdict_figures
from heelwise.screens.styled_text import ago, paragraphs
from heelwise.session import Session, is_rehearsal
from heelwise.sheet.words import entry_words
from heelwise.walk.prompts import Fact, Prompt
from heelwise.walk.scene import Scene
from heelwise.walk.state import RESUME_STEP
from heelwise.walk.walker import Feedback, Walker, next_prompt
from heelwise.wording import counted, painted

Rows = list[list[Part]]

COUNT = "count"
AIRY, NO_AIR, NO_VERDICT, NO_FIGURES, TERSE = range(5)
"""What is left out for want of room, one after the other: nothing; the air between the parts; the
verdict's large letters; the figures of the question; what was told before."""
SPARE = (6, 1, 1, 0, 0)
"""Rows that must be left for the reason, by what is left out."""
SHORTEST_BAR = 6


class Room(NamedTuple):
    """Cells across, the unit of lengths, whether figures can be twice as large; see `AIRY`."""

    width: int
    unit: str
    tall: bool = False
    left_out: int = NO_AIR


def question_rows(prompt: Prompt, width: int, unit: str) -> Rows:
    """The question under its heading; a count has that on its bar."""
    heading = "" if prompt.records == COUNT else painted(prompt.heading, unit)
    question = paragraphs(painted(prompt.question, unit), width, "strong")
    return [*(paragraphs(heading, width, "quiet") if heading else []), *question]


def caution_rows(prompt: Prompt, width: int, unit: str) -> Rows:
    """A safety message, if there is one: level, hazard, what comes of it, how to avoid it."""
    hazard = prompt.caution
    if hazard is None:
        return []
    level = hazard.level.lower()
    words = painted(hazard.hazard, unit)
    avoid = f" {painted(hazard.consequence, unit)} {painted(hazard.avoid, unit)}"
    tone = level if level in ("danger", "caution", "notice") else "warning"
    parts: list[Part] = [(f" {level.upper()} ", tone), (f" {words}", "strong"), (avoid, "plain")]
    return all_wrapped([parts], width)


def fact_rows(known: tuple[Fact, ...], width: int, unit: str) -> Rows:
    """Figures, each with where it comes from."""
    rows: Rows = [
        [
            ("▪ ", "quiet"),
            (painted(fact.text, unit), "plain"),
            (f"  {painted(fact.source, unit)}", "quiet"),
        ]
        for fact in known
    ]
    return all_wrapped(rows, width, indent=2)


def in_full(prompt: Prompt, width: int, unit: str) -> Rows:
    """A prompt with all that belongs to it, one under the other."""
    return [
        *question_rows(prompt, width, unit),
        *caution_rows(prompt, width, unit),
        *paragraphs(painted(prompt.why, unit), width),
        *fact_rows(prompt.facts, width, unit),
    ]


def large_parts(session: Session, typed: str, width: int, unit: str) -> tuple[list[Figure], Rows]:
    """What is worked out for the question once: its figures, and the bar of a count."""
    prompt, scene = session.walker.prompt, session.walker.scene
    now = None if is_rehearsal(session.record.head) else session.walker.now()
    figures = prompt_figures(prompt, scene, now, typed, unit)
    return figures, count_bar(prompt, scene, typed, width)


def above_rows(prompt: Prompt, large: tuple[list[Figure], Rows], found: str, room: Room) -> Rows:
    """What stands above the answers: figures, question, bar, caution, what virtual eyes `found`."""
    (figures, bar), (width, unit, tall, left_out) = large, room
    rows: Rows = []
    for part in (
        placard(figures if left_out < NO_FIGURES else [], width, tall=tall),
        [*question_rows(prompt, width, unit), *bar],
        caution_rows(prompt, width, unit),
    ):
        rows += [*part, []] if part and left_out == AIRY else part
    sensed: list[Part] = [(" you find ", "find"), (f" {found}", "strong")]
    return [*rows, *(all_wrapped([sensed], width) if found else [])]


def told_rows(feedback: Feedback | None, question: str, room: Room) -> Rows:
    """What the last answer came to, unless the question says it; SHORT and LONG large."""
    width, unit, tall, left_out = room
    air: Rows = [[]] if left_out == AIRY else []
    if feedback is None or left_out >= TERSE:
        return air
    text = painted(feedback.text, unit)
    text = "" if text.split(". ")[0] in painted(question, unit) else text
    figures = verdict_figures(feedback.entries, unit) if left_out < NO_VERDICT else []
    sign = {"good": "✓", "warn": "!", "bad": "✗"}.get(feedback.tone)
    words: Rows = [[(f"{sign} " if sign else "", feedback.tone), (text, "plain")]] if text else []
    rows = [*placard(figures, width, tall=tall), *all_wrapped(words, width)]
    return [*air, *rows, *air] if rows else air


def reason_rows(session: Session, width: int, unit: str) -> Rows:
    """Why it is asked and the figures; on coming back what went before, at first what this is."""
    walker, rows = session.walker, Rows()
    if walker.prompt.id == RESUME_STEP:
        rows = resume_rows(walker, unit)
    elif is_rehearsal(session.record.head) and len(walker.state.entries) == 1:
        what = "The engine is virtual: what you would find is shown above the answer. No waiting."
        kept = f"Kept by {walker.by} in {session.file}; the same command resumes it."
        rows = [[("A rehearsal.  ", "next"), (what, "plain")], [(kept, "quiet")], []]
    return [
        *paragraphs(painted(walker.prompt.why, unit), width),
        *all_wrapped(rows, width, indent=4),
        *fact_rows(walker.prompt.facts, width, unit),
    ]


OF_THE_RECORD = (Begun, Paused, Resumed, Recovered, HandedOver)
"""Entries about the keeping of the record, not about the engine."""

SHOWN = 3


def resume_rows(walker: Walker, unit: str) -> Rows:
    """What to know on coming back: who left when, what was done last, what comes next."""
    entries, build = walker.state.entries, walker.build
    left = next(entry for entry in reversed(entries) if not isinstance(entry.body, Resumed))
    how = "Paused by" if isinstance(left.body, Paused) else "Closed without pausing. Last entry by"
    when = f"{left.at:%b %d %H:%M}, {ago(left.at, walker.now())}"
    rows: Rows = [[(f"{how} {left.by}: {when}.", "quiet")], [("last done", "next")]]
    work = [entry for entry in entries if not isinstance(entry.body, OF_THE_RECORD)]
    for entry in work[-SHOWN:]:
        start = f"{entry.number:>4} {entry.at:%b %d %H:%M}  "
        rows.append(
            [(start, "quiet"), (painted(entry_words(entry, build.procedure), unit), "plain")]
        )
    going_on = Scene(build, replace(walker.state, resume_asked=False))
    rows.append([("next, if the crank has not moved", "next")])
    return [*rows, [(painted(next_prompt(going_on).question, unit), "plain")]]


def top_rows(session: Session, width: int, unit: str) -> Rows:
    """Build and phases; progress, and who keeps how many entries."""
    walker = session.walker
    prompt, count = walker.prompt, counted(len(walker.state.entries), "entry", "entries")
    at, phases = PHASES.index(prompt.phase), list[Part]()
    for number, phase in enumerate(PHASES):
        done = "✓" if number < at else ""
        now: Part = (f" ▶ {phase.upper()} ", "key")
        phases.append(now if number == at else (f" {done}{phase.capitalize()} ", "quiet"))
    room = width - sum(len(text) for text, _ in phases)
    name = one_line(session.record.head.build.name, max(room - 1, 1)).ljust(room)
    kept = f"  {walker.by} · {count}"
    room = width - len(kept)
    progress = one_line(painted(prompt.progress, unit), room)
    bar = room - len(progress) - 2
    parts: list[Part] = [(progress, "plain")]
    if prompt.total and bar >= SHORTEST_BAR:
        full = round(prompt.done / prompt.total * bar)
        parts += [("  " + "█" * full, "good"), ("░" * (bar - full), "line")]
    used = sum(len(text) for text, _ in parts)
    return [[(name, "strong"), *phases], [*parts, (kept.rjust(width - used), "quiet")]]
