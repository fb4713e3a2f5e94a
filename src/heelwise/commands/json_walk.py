"""The walk as JSON lines, for other front ends: out a prompt and what was kept, in an answer."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from heelwise.commands.reporting import DONE, FAULTS
from heelwise.documents.entries import Paused
from heelwise.session import Attempt, Session, begin_session, to_begin
from heelwise.sheet.setup_words import unit_of
from heelwise.storage.errors import StorageError
from heelwise.storage.names import typed_path
from heelwise.valvetrain.engine import Valve
from heelwise.walk.prompts import Refused
from heelwise.walk.walker import Feedback, Walker
from heelwise.wording import painted

Message = dict[str, Any]


class NoMore(Exception):
    """The input has ended."""


def begin_in_json(file: Path, folder: Path, by: str, again: bool = False) -> int:
    """Begin a build, or a re-check, and walk it: name, initials and procedure are asked first."""
    setup, serving = to_begin(file, folder, again)
    offered = {each.id: each for each in serving}
    procedures = [{"id": name, "title": each.title} for name, each in offered.items()]
    while True:
        _tell({"begin": {"procedures": procedures, "wants": ["name", "by", "procedure"]}})
        try:
            given = _heard()
            chosen = offered.get(str(given.get("procedure", next(iter(offered)))))
            if chosen is None:
                raise Refused("there is no such procedure", f"one of {', '.join(offered)}")
            name, initials = str(given.get("name", "")), str(given.get("by", by))
            return walk_in_json(begin_session(setup, chosen, folder, name, initials))
        except NoMore:
            return DONE
        except (Refused, StorageError) as error:
            _tell({"refused": error.problem, "instead": error.instead})


def walk_in_json(session: Session) -> int:
    """Tell and take lines until the input ends, which is a pause."""
    with session:
        try:
            while True:
                _tell(question_json(session))
                if session.walker.closed and session.truth is not None:
                    return DONE
                _tell(_answered(session))
        except NoMore:
            lacking = session.write_lacking()
            if lacking:
                _tell({"not_kept": lacking})
            elif not session.walker.closed and not session.record.entries[-1].when(Paused):
                _tell(_kept(session, session.walker.pause()))
            return FAULTS if lacking else DONE


def question_json(session: Session) -> Message:
    """The prompt that stands, with what hands and eyes report in a rehearsal."""
    prompt, unit = session.walker.prompt, unit_of(session.record.head.setup)
    texts = {key: painted(getattr(prompt, key), unit) for key in ("heading", "question", "why")}
    told: Message = {
        "id": prompt.id,
        "phase": prompt.phase,
        "valve": str(prompt.valve) if prompt.valve else None,
        **texts,
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


def _answered(session: Session) -> Message:
    """One line taken: what was kept of it, once that is durable, or why it was refused."""
    attempt: Attempt | None = None
    while True:
        try:
            given = _heard()
            if attempt is None or given.get("do") not in ("try again", "go on in"):
                attempt = Attempt(session, _act(session.walker, given))
            elif given["do"] == "try again":
                session.try_again()
            else:
                session.continue_in(typed_path(str(given.get("folder", ""))))
            return _kept(session, attempt.run())
        except Refused as refused:
            return {"refused": refused.problem, "instead": refused.instead}
        except StorageError as error:
            then = 'then {"do": "try again"} or {"do": "go on in", "folder": "..."}'
            _tell({"not_kept": [str(error)], "instead": then})


def _act(walker: Walker, given: Message) -> Callable[[], Feedback]:
    def word(key: str) -> str:
        return str(given.get(key, ""))

    if "answer" in given:
        texts = given.get("texts", [])
        texts = tuple(map(str, texts)) if isinstance(texts, list) else ()
        return lambda: walker.reply(word("answer"), texts)
    number = given.get("number")
    crossed = number if isinstance(number, int) else 0
    acts: dict[str, Callable[[], Feedback]] = {
        "note": lambda: walker.note(word("text"), _valve(walker, word("valve")), word("photo")),
        "cross out": lambda: walker.cross_out(crossed, word("reason")),
        "crank lost": lambda: walker.lose_crank(word("reason")),
        "hand over": lambda: walker.hand_over(word("to")),
        "pause": walker.pause,
    }
    if word("do") not in acts:
        instead = f'"answer", or "do": one of {", ".join(acts)}'
        raise Refused("that line says nothing to do", instead)
    return acts[word("do")]


def _valve(walker: Walker, name: str) -> Valve | None:
    if name and name not in walker.state.by_name:
        raise Refused(f"{name} isn't a valve of this engine", "one of its valves, or none")
    return Valve.parse(name) if name else None


def _kept(session: Session, feedback: Feedback) -> Message:
    text = painted(feedback.text, unit_of(session.record.head.setup))
    return {"kept": [e.number for e in feedback.entries], "text": text, "tone": feedback.tone}


def _tell(message: Message) -> None:
    print(json.dumps(message, allow_nan=False), flush=True)


def _heard() -> Message:
    """The next line as an object; raises NoMore at the end, Refused where it isn't one."""
    line = sys.stdin.readline()
    if not line:
        raise NoMore
    try:
        given = json.loads(line)
        json.dumps(given, ensure_ascii=False).encode()  # half a surrogate pair is no text
    except (ValueError, RecursionError):
        given = None
    if not isinstance(given, dict):
        raise Refused("that line isn't a JSON object", 'like {"answer": "y", "texts": []}')
    return given
