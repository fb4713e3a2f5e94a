"""The walk line by line: the same prompts and answers, for screen readers and plain consoles."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from heelwise.commands.reporting import DONE, FAULTS, complain, say
from heelwise.documents.entries import AnyEntry
from heelwise.documents.quantities import with_unit
from heelwise.plain_text import plain
from heelwise.session import (
    Attempt,
    Session,
    begin_session,
    to_begin,
)
from heelwise.sheet.forms import sections_as
from heelwise.sheet.setup_words import setup_sections, unit_of
from heelwise.sheet.words import entry_words
from heelwise.storage.errors import StorageError
from heelwise.storage.names import initials, safe_name, typed_path
from heelwise.valvetrain.engine import Valve
from heelwise.walk.prompts import Ask, Refused
from heelwise.walk.scene import scene_of
from heelwise.walk.walker import Feedback, Walker
from heelwise.wording import painted

MARKS = {"good": "[ok] ", "warn": "[look] ", "bad": "[!] ", "plain": ""}

T = TypeVar("T")


class Leave(Exception):
    """The person leaves the walk."""


def begin_in_lines(file: Path, folder: Path, by: str, again: bool = False) -> int:
    """Begin a build of a setup file, or look at a finished one `again`, and walk it."""
    setup, procedures = to_begin(file, folder, again)
    procedure = procedures[0]
    try:
        say(f"Setup read from {file}.")
        scene = scene_of(setup, procedure)
        sections = setup_sections(scene, datetime.now().astimezone().date())
        say(sections_as(sections, "text", unit_of(setup)) + "\n")
        by = by or _asked("Your initials: ", initials)
        name = _asked("A name for this build (letters, digits, dashes): ", safe_name)
        if len(procedures) > 1:
            for number, each in enumerate(procedures, start=1):
                say(f"{number}  {each.title}")
            procedure = _asked("Which one? ", lambda typed: procedures[_number(typed, number) - 1])
    except Leave:
        say("Nothing was begun.")
        return DONE
    return walk_in_lines(begin_session(setup, procedure, folder, name, by))


def _asked(label: str, check: Callable[[str], T]) -> T:
    """Ask until what was typed passes a check."""
    while True:
        try:
            return check(_ask(label))
        except (StorageError, Refused) as error:
            say(f"[!] {error}")


def _number(typed: str, most: int) -> int:
    if typed.isascii() and typed.isdigit() and len(typed) <= 9 and 0 < int(typed) <= most:
        return int(typed)
    raise Refused(f"{typed[:20]!r} won't do", f"give a number from 1 to {most}")


def walk_in_lines(session: Session) -> int:
    """Ask and answer until the record is closed or the person leaves."""
    with session:
        walker = session.walker
        if len(walker.state.entries) > 2:  # what was done last, before anything is asked
            say("Last done:")
            _list(walker, walker.state.entries[-4:])
        try:
            while True:
                _show(session)
                if walker.closed and session.truth is not None:
                    return DONE
                _answer(session)
        except Leave:
            lacking = session.write_lacking()
            for line in lacking or [f"Left. The record is {session.file}."]:
                say(line)
            return FAULTS if lacking else DONE
        except StorageError as error:
            complain([str(error), *session.write_lacking()])
            return FAULTS


def _list(walker: Walker, entries: Sequence[AnyEntry]) -> None:
    for entry in entries:
        struck = "x" if entry.number in walker.state.crossed else "~"
        mark = " " if walker.state.counts(entry) else struck
        words = entry_words(entry, walker.build.procedure)
        say(f"{mark}{entry.number:>5}  {entry.at:%Y-%m-%d %H:%M}  {entry.by}  {words}")


def _show(session: Session) -> None:
    prompt, unit = session.walker.prompt, unit_of(session.record.head.setup)
    progress = f"  ({prompt.progress})" if prompt.progress else ""
    say(f"\n--- {prompt.phase}{progress}")
    if prompt.caution is not None:
        c = prompt.caution
        say(f"{c.level}: {c.hazard} {c.consequence} {c.avoid}")
    if prompt.heading:
        say(painted(prompt.heading, unit).upper())
    say(painted(prompt.question, unit))
    if prompt.why:
        not_yet = session.walker.state.not_yet  # then a remedy stands in its place
        first = not_yet is not None and not_yet.body.step == prompt.id
        say(f"  {'first' if first else 'why'}: {painted(prompt.why, unit)}")
    for fact in prompt.facts:
        source = f"  [{painted(fact.source, unit)}]" if fact.source else ""
        say(f"  - {painted(fact.text, unit)}{source}")
    if prompt.wait_until is not None and session.truth is None:
        say(f"  not before {prompt.wait_until:%H:%M:%S}")
    sensed = session.sense() if not session.walker.closed else None
    if sensed is not None:
        say(f"  your hands and eyes: {sensed.report}")
    for option in prompt.options:
        say(f"  {option.key} = {painted(option.label, unit)}")
    if prompt.reading:
        example = prompt.example.removeprefix("like ")
        bare = f"; a bare number is in {unit}" if " mm" in prompt.example else ""
        say(f"  or type {prompt.reading}" + (f", e.g. {example}{bare}" if example else ""))


def _answer(session: Session) -> None:
    """Take lines until one is kept, or a word was done."""
    while True:
        try:
            unit = unit_of(session.record.head.setup)
            feedback = _kept(session, Attempt(session, _act(session.walker, _ask("> "), unit)))
        except Refused as refused:
            say(f"[!] {refused.problem}; {refused.instead}")
            continue
        if feedback.entries:
            say(f"kept {feedback.entries[-1].number}")
        if feedback.text:
            say(MARKS[feedback.tone] + painted(feedback.text, unit))
        return


def _act(walker: Walker, typed: str, unit: str) -> Callable[[], Feedback]:
    """What a line does: a whole word's act, which can be done at any prompt, or the answer.

    A length typed without its unit is in `unit`.
    """
    word, _, rest = typed.partition(" ")
    is_note = walker.prompt.ask is Ask.NOTE and rest and word != "cross"
    if word.lower() in _WORDS and not is_note:
        act = _WORDS[word.lower()][1]
        return lambda: act(walker, rest.strip())
    option = walker.prompt.option(typed)
    takes_length = " mm" in walker.prompt.example
    if option is None:
        answer = with_unit(typed, unit) if takes_length else typed
        return lambda: walker.reply(answer, ())
    chosen, texts = option.key, []
    for want in option.wants:
        length = takes_length and "length" in want
        text = _ask(f"  {want}{f' ({unit}, or with its unit)' if length else ''}: ")
        texts.append(with_unit(text, unit) if length else text)
    return lambda: walker.reply(chosen, tuple(texts))


def _kept(session: Session, attempt: Attempt) -> Feedback:
    """Keep an answer; when it can't be kept, say so and let the person decide, answer in hand."""
    while True:
        try:
            return attempt.run()
        except StorageError as error:
            complain([str(error)])
            say("This answer is not kept yet; everything before it is.")
        while not _mended(session):
            pass


def _mended(session: Session) -> bool:
    """Ask what to do; whether the record can be appended to again."""
    try:
        typed = _ask("again = try here again; FOLDER = go on in another folder; quit: ")
        if typed == "quit":
            raise Leave
        if typed in ("again", ""):
            session.try_again()
        else:
            say(f"Going on in {session.continue_in(typed_path(typed))}.")
    except (StorageError, Refused) as error:
        complain([str(error)])
        return False
    return True


NOTHING = Feedback("", "plain", ())


def _help(walker: Walker, rest: str) -> Feedback:
    for usage, _, words in _WORDS.values():
        say(f"{usage:<18} {words}")
    return NOTHING


def _record(walker: Walker, rest: str) -> Feedback:
    _list(walker, walker.state.entries)
    say("x = crossed out, ~ = rested on one that was")
    return NOTHING


def _cross(walker: Walker, rest: str) -> Feedback:
    typed, _, reason = rest.partition(" ")
    return walker.cross_out(_number(typed, len(walker.state.entries)), reason)


def _note(walker: Walker, rest: str) -> Feedback:
    name, _, about = rest.partition(" ")
    if name in walker.state.by_name:
        return walker.note(about, Valve.parse(name))
    return walker.note(rest)


def _pause(walker: Walker, rest: str) -> Feedback:
    say(walker.pause().text)
    raise Leave


def _quit(walker: Walker, rest: str) -> Feedback:
    raise Leave


_WORDS: dict[str, tuple[str, Callable[[Walker, str], Feedback], str]] = {
    "help": ("help", _help, "these words"),
    "record": ("record", _record, "every entry so far, crossed-out ones marked"),
    "cross": ("cross N REASON", _cross, "cross out entry N; what depended on it is asked again"),
    "where": ("where REASON", Walker.lose_crank, "the crank has moved, or you aren't sure"),
    "note": ("note TEXT", _note, "keep a note (begin it with a valve to keep it there)"),
    "over": ("over INITIALS", Walker.hand_over, "somebody else takes over"),
    "pause": ("pause", _pause, "stop here; the same command picks up at this question"),
    "quit": ("quit", _quit, "leave; what was kept stays kept"),
}


def _ask(label: str) -> str:
    """Ask for a line; raises Leave at the end of the input, Refused for bytes that aren't text."""
    sys.stdout.write(plain(label))
    sys.stdout.flush()
    line = sys.stdin.readline()
    if not line:
        raise Leave
    if any("\udc80" <= character <= "\udcff" for character in line):
        raise Refused("a character there can't be read here", "type it plainly: deg for °")
    return line.strip()
