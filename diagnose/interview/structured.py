"""The crops, inputs and timeline answers in the form derived findings are worked out from."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from diagnose.interview.answers import Answer
from diagnose.interview.dates import days_before
from diagnose.kb.model import Knowledge
from diagnose.reasoning.derive import Event, InputsAnswer, InputUsed, Structured, TimelineAnswer


def structured(answers: Mapping[str, Answer], kb: Knowledge) -> Structured:
    """The crops, inputs and timeline answers, out of all answers by question id.

    >>> from diagnose.interview.answers import read_answer
    >>> from diagnose.kb.load import load
    >>> kb = load()
    >>> raw = {"events": [{"event": "potted_on", "when": "8 days before"}]}
    >>> told = structured({"when": read_answer(kb, "when", raw)}, kb).timeline
    >>> told.last_right + 1 - told.events[0].day
    8
    """
    by_form = {
        kb.questions[id_].form: a.raw
        for id_, a in answers.items()
        if id_ in kb.questions and not a.unknown
    }
    return Structured(
        by_form.get("crops", {}),
        _inputs_answer(by_form.get("inputs", {}), kb),
        _timeline_answer(by_form.get("timeline", {})),
    )


def _inputs_answer(raw: Mapping[str, Any], kb: Knowledge) -> InputsAnswer:
    used = []
    for slot in kb.slots:
        for row in raw.get(slot, ()):
            full = {"input": row} if isinstance(row, str) else row
            used.append(
                InputUsed(
                    full["input"],
                    slot,
                    full.get("source", "unknown"),
                    full.get("when", ""),
                    full.get("on", ""),
                )
            )
    spoken = frozenset(slot for slot in kb.slots if slot in raw)
    return InputsAnswer(tuple(used), spoken, frozenset(raw.get("none_of", ())))


def _timeline_answer(raw: Mapping[str, Any]) -> TimelineAnswer:
    """A timeline in day numbers.

    Delays told as "8 days before" need no date of the first sign: where it is not told, any day
    stands for it, and dated events say nothing.
    """
    told = raw.get("events", ())
    relative = any(days_before(e.get("when", "")) is not None for e in told)
    last_right = raw.get("last_right")
    start = dt.date.fromisoformat(last_right).toordinal() if last_right else 0
    events = []
    for e in told:
        when, day = e.get("when", ""), None
        if (days := days_before(when)) is not None:
            day = start + 1 - days
        elif when and last_right:
            day = dt.date.fromisoformat(when).toordinal()
        events.append(Event(e["event"], day, e.get("again", False)))
    known = start if last_right or relative else None
    return TimelineAnswer(known, tuple(events), frozenset(raw.get("none_of", ())))
