"""Answers given before the interview: a file of them, or ID=VALUE words on the command line."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from diagnose.errors import UnreadableError, UsageError
from diagnose.interview.answers import Answer, read_answer
from diagnose.interview.dates import days_before, not_future
from diagnose.interview.typed import read_typed
from diagnose.kb import strictyaml
from diagnose.kb.model import Knowledge


def read_answers_file(
    kb: Knowledge, path: Path, *, today: dt.date | None = None, phone: bool = False
) -> list[Answer]:
    """Read a YAML or JSON file of answers: question or test id to value.

    Args:
        kb: the knowledge.
        path: the file.
        today: when given, a date after it is refused.
        phone: the answers were told by phone.

    Raises:
        UnreadableError: the file is not strict YAML, or is no mapping.
        UsageError: an answer does not fit; the message names file and line.
    """
    try:
        document = strictyaml.read(path)
    except strictyaml.StrictYamlFault as problem:
        fault = problem.fault
        raise UnreadableError(fault.wrong, fault.remedy, fault.location) from None
    if not isinstance(document.value, dict):
        raise UnreadableError(
            "an answers file maps question ids to values",
            "See `diagnose kb questions` for the ids and values.",
            document.place(()),
        )
    answers = []
    for id_, raw in document.value.items():
        try:
            answer = read_answer(kb, id_, raw, phone=phone)
            if today is not None:
                _past(kb, answer, today)
            answers.append(answer)
        except UsageError as error:
            raise UsageError(error.message, error.hint, document.place((id_,))) from None
    return answers


def _past(kb: Knowledge, answer: Answer, today: dt.date) -> None:
    question = kb.questions.get(answer.question)
    if question is None or question.form != "timeline" or answer.unknown:
        return
    told = [answer.raw.get("last_right"), *(e.get("when") for e in answer.raw.get("events", ()))]
    for when in filter(None, told):
        if days_before(when) is not None:
            continue
        not_future(dt.date.fromisoformat(when), today)


def read_words(
    kb: Knowledge, words: Iterable[str], today: dt.date, *, phone: bool = False
) -> list[Answer]:
    """Read ID=VALUE words.

    Raises:
        UsageError: a word without "=", an unknown id, or a value that does not fit.

    >>> from diagnose.kb.load import load
    >>> read_words(load(), ["season=spring"], dt.date(2026, 5, 1))[0].raw
    'spring'
    """
    answers = []
    for word in words:
        id_, equals, text = word.partition("=")
        if not equals:
            raise UsageError(f"'{word}' is no answer", "Write ID=VALUE, like season=spring.")
        raw: Any = read_typed(kb, id_.strip(), text.strip(), today)
        answers.append(read_answer(kb, id_.strip(), raw, phone=phone))
    return answers
