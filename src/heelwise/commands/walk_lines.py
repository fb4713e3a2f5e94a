"""The walk line by line: in JSON for other front ends, in words for people and screen readers.

Both are the same messages, out a prompt and what was kept, in an answer: see DEVELOPERS.md.
"""

import json
import sys
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar

from heelwise.commands.reporting import DONE, FAULTS, complain, say
from heelwise.documents.entries import AnyEntry, Paused
from heelwise.documents.quantities import with_unit
from heelwise.plain_text import plain
from heelwise.session import JOB_ASKED, Session, attempt, begin_session, to_begin
from heelwise.sheet.forms import sections_as
from heelwise.sheet.setup_words import setup_sections, unit_of
from heelwise.sheet.words import entry_words
from heelwise.storage.errors import StorageError
from heelwise.storage.names import initials, safe_name, typed_path
from heelwise.valvetrain.engine import Valve
from heelwise.walk.prompts import Ask, Refused
from heelwise.walk.scene import scene_of
from heelwise.walk.walker import Feedback
from heelwise.wording import painted

Message = dict[str, Any]
T = TypeVar("T")


class Ended(Exception):
    """The input has ended, or the person leaves."""


class JsonWalk:
    """A record walked by messages, a JSON object a line."""

    def __init__(self, session: Session) -> None:
        self.session, self.walker = session, session.walker
        self.unit = unit_of(session.record.head.setup)

    def walk(self) -> int:
        """Ask and answer until a rehearsal is signed off or the input ends, which is a pause."""
        with self.session:
            try:
                while True:
                    self.tell(question_json(self.session))
                    if self.walker.closed and self.session.truth is not None:
                        return DONE
                    self.tell(self._answered())
            except Ended:
                lacking = self.session.write_lacking()
                if lacking:
                    self.tell({"not_kept": lacking})
                elif not (self.walker.closed or self.paused):
                    self.tell(self._kept(self.walker.pause()))
                return FAULTS if lacking else DONE

    @property
    def paused(self) -> bool:
        """Whether the record was laid down last."""
        return self.session.record.entries[-1].when(Paused) is not None

    def _answered(self) -> Message:
        """One message taken: what was kept of it, once that is durable, or why it was refused."""
        again: Callable[[], Feedback] | None = None
        while True:
            try:
                given = self.hear()
                if again is None or given.get("do") not in ("try again", "go on in"):
                    again = attempt(self.session, self._act(given))
                elif given["do"] == "try again":
                    self.session.record.journal.recover_in_place()
                else:
                    self.session.continue_in(typed_path(str(given.get("folder", ""))))
                return self._kept(again())
            except Refused as refused:
                return {"refused": refused.problem, "instead": refused.instead}
            except StorageError as error:
                then = 'then {"do": "try again"} or {"do": "go on in", "folder": "..."}'
                self.tell({"not_kept": [str(error)], "instead": then})

    def _act(self, given: Message) -> Callable[[], Feedback]:
        def word(key: str) -> str:
            return str(given.get(key, ""))

        walker, valve, number = self.walker, word("valve"), word("number")
        if "answer" in given:
            texts = given.get("texts", [])
            texts = tuple(map(str, texts)) if isinstance(texts, list) else ()
            return lambda: walker.reply(word("answer"), texts)
        if valve and valve not in walker.state.by_name:
            raise Refused(f"{valve} isn't a valve of this engine", "one of its valves, or none")
        about = Valve.parse(valve) if valve else None
        crossed = int(number) if number.isascii() and number.isdigit() and len(number) < 10 else 0
        acts: dict[str, Callable[[], Feedback]] = {
            "note": lambda: walker.note(word("text"), about, word("photo")),
            "cross out": lambda: walker.cross_out(crossed, word("reason")),
            "crank lost": lambda: walker.lose_crank(word("reason")),
            "hand over": lambda: walker.hand_over(word("to")),
            "pause": walker.pause,
        }
        if word("do") not in acts:
            instead = f'"answer", or "do": one of {", ".join(acts)}'
            raise Refused("that line says nothing to do", instead)
        return acts[word("do")]

    def _kept(self, feedback: Feedback) -> Message:
        numbers, text = (
            [each.number for each in feedback.entries],
            painted(feedback.text, self.unit),
        )
        return {"kept": numbers, "text": text, "tone": feedback.tone}

    def tell(self, message: Message) -> None:
        """Write one message."""
        _tell(message)

    def hear(self) -> Message:
        """Take one; Ended at the end of the input, Refused where it isn't one."""
        return _heard()


def _tell(message: Message) -> None:
    print(json.dumps(message, allow_nan=False), flush=True)


def _heard() -> Message:
    line = _ask()
    try:
        given = json.loads(line)
        json.dumps(given, ensure_ascii=False).encode()  # half a surrogate pair is no text
    except (ValueError, RecursionError):
        given = None
    if not isinstance(given, dict):
        raise Refused("that line isn't a JSON object", 'like {"answer": "y", "texts": []}')
    return given


def question_json(session: Session) -> Message:
    """The prompt that stands, with what hands and eyes report in a rehearsal."""
    prompt, unit = session.walker.prompt, unit_of(session.record.head.setup)
    told: Message = {
        "id": prompt.id,
        "phase": prompt.phase,
        "valve": str(prompt.valve) if prompt.valve else None,
        **{key: painted(getattr(prompt, key), unit) for key in ("heading", "question", "why")},
        "caution": prompt.caution and prompt.caution.model_dump(),
        "options": [
            {"key": each.key, "text": painted(each.label, unit), "wants": list(each.wants)}
            for each in prompt.options
        ],
        **{key: getattr(prompt, key) for key in _AS_IT_IS},
        "facts": [
            {"text": painted(each.text, unit), "source": painted(each.source, unit)}
            for each in prompt.facts
        ],
        "wait_until": prompt.wait_until and prompt.wait_until.isoformat(),
    }
    if session.walker.closed:
        return {"closed": True, "last_seal": session.record.entries[-1].seal, "prompt": told}
    sensed = session.sense()
    if sensed is None:
        return {"prompt": told}
    answer = {"text": sensed.report, "answer": sensed.answer, "texts": list(sensed.texts)}
    return {"prompt": told, "hands_and_eyes": answer}


_AS_IT_IS = (
    *("reading", "example", "suggested", "crank_target_deg"),
    *("records", "progress", "done", "total"),
)


def begin_in_json(file: Path, folder: Path, by: str, again: bool = False) -> int:
    """Begin a build, or a re-check, and walk it: name, initials and procedure are asked first."""
    setup, serving = to_begin(file, folder, again)
    offered = {each.id: each for each in serving}
    procedures = [{"id": name, "title": each.title} for name, each in offered.items()]
    may = {} if setup.whose else {"may_have": ["job"]}
    while True:
        _tell({"begin": {"procedures": procedures, "wants": ["name", "by", "procedure"], **may}})
        try:
            given = _heard()
            chosen = offered.get(str(given.get("procedure", next(iter(offered)))))
            if chosen is None:
                raise Refused("there is no such procedure", f"one of {', '.join(offered)}")
            name, by_whom = str(given.get("name", "")), str(given.get("by", by))
            job = str(given.get("job", ""))
            return JsonWalk(begin_session(setup, chosen, folder, name, by_whom, job)).walk()
        except Ended:
            return DONE
        except (Refused, StorageError) as error:
            _tell({"refused": error.problem, "instead": error.instead})


# ---------------------------------------------------------------- in words

_MARKS = {"good": "[ok] ", "warn": "[look] ", "bad": "[!] ", "plain": ""}
_WORDS = {
    "help": ("", "these words"),
    "record": ("", "every entry so far, crossed-out ones marked"),
    "cross": ("N REASON", "cross out entry N; what depended on it is asked again"),
    "where": ("REASON", "the crank has moved, or you aren't sure"),
    "note": ("TEXT", "keep a note (begin it with a valve to keep it there)"),
    "over": ("INITIALS", "somebody else takes over"),
    "pause": ("", "stop here; the same command picks up at this question"),
    "quit": ("", "leave; what was kept stays kept"),
}
"""What can be typed at any prompt: what it wants, what it does."""


class WordWalk(JsonWalk):
    """The same messages as lines to read, lines typed as messages."""

    _shown: Message | None = None
    _not_kept = False

    def walk(self) -> int:
        """Walk it, what was done last before anything is asked."""
        self._file = self.session.file
        if len(self.walker.state.entries) > 2:
            say("Last done:")
            self._list(self.walker.state.entries[-4:])
        code = super().walk()
        if code == DONE:
            say(f"Left. The record is {self.session.file}.")
        return code

    def _list(self, entries: Sequence[AnyEntry]) -> None:
        state = self.walker.state
        for entry in entries:
            mark = " " if state.counts(entry) else "x" if entry.number in state.crossed else "~"
            words = entry_words(entry, self.walker.build.procedure)
            say(f"{mark}{entry.number:>5}  {entry.at:%Y-%m-%d %H:%M}  {entry.by}  {words}")

    def tell(self, message: Message) -> None:
        """Say one, but not the question that stands already."""
        if "prompt" in message:
            if message != self._shown:
                self._show(message["prompt"], message.get("hands_and_eyes"))
            self._shown = message
            return
        self._not_kept = "instead" in message and "not_kept" in message
        complain(message.get("not_kept", ()))
        if self._not_kept:
            say("This answer is not kept yet; everything before it is.")
        elif "refused" in message:
            say(f"[!] {message['refused']}; {message['instead']}")
        if self._file != self.session.file:
            self._file = self.session.file
            say(f"Going on in {self._file}.")
        if message.get("kept"):
            say(f"kept {message['kept'][-1]}")
        if message.get("text"):
            say(_MARKS[message["tone"]] + message["text"])

    def _show(self, prompt: Message, sensed: Message | None) -> None:
        progress = f"  ({prompt['progress']})" if prompt["progress"] else ""
        say(f"\n--- {prompt['phase']}{progress}")
        if prompt["caution"]:
            say("{level}: {hazard} {consequence} {avoid}".format_map(prompt["caution"]))
        if prompt["heading"]:
            say(prompt["heading"].upper())
        say(prompt["question"])
        if prompt["why"]:
            not_yet = self.walker.state.not_yet  # then a remedy stands in its place
            first = not_yet is not None and not_yet.body.step == prompt["id"]
            say(f"  {'first' if first else 'why'}: {prompt['why']}")
        for fact in prompt["facts"]:
            say(f"  - {fact['text']}" + (f"  [{fact['source']}]" if fact["source"] else ""))
        if sensed:
            say(f"  your hands and eyes: {sensed['text']}")
        elif prompt["wait_until"]:
            say(f"  not before {datetime.fromisoformat(prompt['wait_until']):%H:%M:%S}")
        for option in prompt["options"]:
            say(f"  {option['key']} = {option['text']}")
        if prompt["reading"]:
            example = prompt["example"].removeprefix("like ")
            bare = f"; a bare number is in {self.unit}" if " mm" in example else ""
            say(f"  or type {prompt['reading']}" + (f", e.g. {example}{bare}" if example else ""))

    def hear(self) -> Message:
        """Take a line; Ended where the person leaves, Refused for bytes that aren't text."""
        if self.paused:
            raise Ended
        if self._not_kept:
            typed = _checked(
                "again = try here again; FOLDER = go on in another folder; quit: ", str
            )
            if typed == "quit":
                raise Ended
            return {"do": "try again" if typed in ("again", "") else "go on in", "folder": typed}
        while True:
            typed = _ask("> ")
            word, _, rest = typed.partition(" ")
            note = self.walker.prompt.ask is Ask.NOTE and rest and word != "cross"
            if note or word.lower() not in _WORDS:
                return self._answer(typed)
            if acted := self._word(word.lower(), rest.strip()):
                return acted

    def _word(self, word: str, rest: str) -> Message:
        """The message of a word that can be typed at any prompt; empty where it's done with."""
        first, _, more = rest.partition(" ")
        if word == "quit":
            raise Ended
        if word == "help":
            for name, (wants, does) in _WORDS.items():
                say(f"{f'{name} {wants}':<18} {does}")
            return {}
        if word == "record":
            self._list(self.walker.state.entries)
            say("x = crossed out, ~ = rested on one that was")
            return {}
        if word == "note" and first in self.walker.state.by_name:
            return {"do": "note", "text": more, "valve": first}
        return {
            "cross": {"do": "cross out", "number": first, "reason": more},
            "where": {"do": "crank lost", "reason": rest},
            "note": {"do": "note", "text": rest},
            "over": {"do": "hand over", "to": rest},
            "pause": {"do": "pause"},
        }[word]

    def _answer(self, typed: str) -> Message:
        """An answer with the texts it wants; a bare number for a length is in the setup's unit."""
        prompt, unit = self.walker.prompt, self.unit
        option, takes_length = prompt.option(typed), " mm" in prompt.example
        if option is None:
            return {"answer": with_unit(typed, unit) if takes_length else typed}
        texts = []
        for want in option.wants:
            length = takes_length and "length" in want
            text = _ask(f"  {want}{f' ({unit}, or with its unit)' if length else ''}: ")
            texts.append(with_unit(text, unit) if length else text)
        return {"answer": option.key, "texts": texts}


def begin_in_words(file: Path, folder: Path, by: str, again: bool = False) -> int:
    """Begin a build of a setup file, or look at a finished one `again`, and walk it."""
    setup, procedures = to_begin(file, folder, again)
    offered = {str(number): each for number, each in enumerate(procedures, start=1)}
    number = "1" if len(offered) == 1 else ""
    try:
        say(f"Setup read from {file}.")
        sections = setup_sections(scene_of(setup, procedures[0]), datetime.now().date())
        say(sections_as(sections, "text", unit_of(setup)) + "\n")
        by = by or _checked("Your initials: ", initials)
        name = _checked("A name for this build (letters, digits, dashes): ", safe_name)
        job = "" if setup.whose else _ask(f"{JOB_ASKED} (Enter leaves it out): ")
        while number not in offered:
            for key, each in offered.items():
                say(f"{key}  {each.title}")
            number = _checked("Which one? ", str)
    except Ended:
        say("Nothing was begun.")
        return DONE
    return WordWalk(begin_session(setup, offered[number], folder, name, by, job)).walk()


def _checked(label: str, check: Callable[[str], T]) -> T:
    """Ask until what was typed passes a check."""
    while True:
        try:
            return check(_ask(label))
        except (StorageError, Refused) as error:
            say(f"[!] {error}")


def _ask(label: str = "") -> str:
    """Take a line; Ended at the end of the input, Refused for bytes that aren't text."""
    sys.stdout.write(plain(label))
    sys.stdout.flush()
    line = sys.stdin.readline()
    if not line:
        raise Ended
    if any("\udc80" <= character <= "\udcff" for character in line):
        raise Refused("a character there can't be read here", "type it plainly: deg for °")
    return line.strip()
