"""What a journal holds, as objects, and their JSON.

One line a record. Line 1 is the header; every other line is an event with a running number and a
time. Newlines inside texts are escaped by JSON, so a line is always one record.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from math import isfinite
from typing import Any

from diagnose.interview.answers import Answer
from diagnose.interview.values import clean_text
from diagnose.reasoning.report import Report

FORMAT = 1
LONGEST_ALIAS = 60
Clock = Callable[[], dt.datetime]


@dataclass(frozen=True, slots=True)
class Header:
    """Line 1: the case, the program and knowledge it was begun with, and an alias if any.

    The alias is all the personal data a case holds. `phone` says how the interview began.
    """

    case: str
    program: str
    version: str
    digest: str
    at: str = ""
    alias: str = ""
    phone: bool = False


@dataclass(frozen=True, slots=True)
class Event:
    """One later line. `line` counts from 1 in the file; `data` is everything but n, at, event."""

    n: int
    at: str
    event: str
    data: Mapping[str, Any]
    line: int


@dataclass(frozen=True, slots=True)
class Recorded:
    """An answer or a test result as it was written down.

    Fields:
        reports: what it said under the knowledge of that day.
        phone: it was told by phone.
        reading: what a test measured beyond its result (pots, power, false-alarm rate). Its
            reports then bring their own weights and are not worked out anew.
    """

    question: str
    raw: Any
    unknown: bool
    reports: tuple[Report, ...]
    at: str = ""
    phone: bool = False
    reading: Mapping[str, Any] = field(default_factory=dict)


def now() -> dt.datetime:
    """The time, in UTC."""
    return dt.datetime.now(dt.UTC)


def stamp(clock: Clock) -> str:
    """The time as text.

    >>> stamp(lambda: dt.datetime(2026, 4, 20, 18, 30, tzinfo=dt.UTC))
    '2026-04-20T18:30:00Z'
    """
    return clock().astimezone(dt.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def clean_alias(text: str) -> str:
    r"""An alias on one line, without control characters, at most 60 characters.

    >>> clean_alias("  Plot 7,\n by the\x1b gate ")
    'Plot 7, by the gate'
    """
    return " ".join(clean_text(text).split())[:LONGEST_ALIAS].rstrip()


def clean(value: Any) -> Any:
    r"""A JSON value with every text in it cleaned of control and direction characters.

    >>> clean({"when": "May\x1b[2J"})
    {'when': 'May[2J'}
    """
    if isinstance(value, str):
        return clean_text(value)
    if isinstance(value, Mapping):
        return {clean_text(str(k)): clean(v) for k, v in value.items()}
    if isinstance(value, Sequence):
        return [clean(v) for v in value]
    return value


def to_line(record: Mapping[str, Any]) -> bytes:
    """One record as a line of UTF-8 JSON, ending in a newline.

    Raises:
        ValueError: a number is not finite.
    """
    text = json.dumps(clean(record), ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.encode("utf-8", "replace") + b"\n"


def header_record(header: Header) -> dict[str, Any]:
    """The JSON of a header; an alias and the phone flag are left out when not set."""
    record: dict[str, Any] = {
        "format": FORMAT,
        "case": header.case,
        "program": header.program,
        "knowledge": {"version": header.version, "digest": header.digest},
        "at": header.at,
    }
    if header.alias:
        record["alias"] = header.alias
    if header.phone:
        record["phone"] = True
    return record


def header_from(record: Mapping[str, Any]) -> Header:
    """Read a header.

    Raises:
        KeyError, TypeError: something is missing or of the wrong kind.
    """
    knowledge = record["knowledge"]
    return Header(
        case=_text(record["case"]),
        program=_text(record["program"]),
        version=_text(knowledge["version"]),
        digest=_text(knowledge["digest"]),
        at=_text(record.get("at", "")),
        alias=clean_alias(_text(record.get("alias", ""))),
        phone=record.get("phone") is True,
    )


def answer_record(answer: Answer) -> dict[str, Any]:
    """The JSON of an answer."""
    return {
        "question": answer.question,
        "raw": answer.raw,
        "unknown": answer.unknown,
        "reports": [
            {
                "finding": r.finding,
                "likelihood": list(r.likelihood),
                "value": r.value,
                "number": r.number,
                "spoken": r.spoken,
            }
            for r in answer.reports
        ],
    }


def recorded_from(event: Event) -> Recorded:
    """Read an answer or a test result.

    Raises:
        KeyError, TypeError, ValueError: something is missing or of the wrong kind.
    """
    data = event.data
    return Recorded(
        question=_text(data["question"]),
        raw=clean(data["raw"]),
        unknown=data.get("unknown") is True,
        reports=tuple(_report(r) for r in data["reports"]),
        at=event.at,
        phone=data.get("phone") is True,
        reading=dict(data.get("reading") or {}),
    )


def _report(row: Mapping[str, Any]) -> Report:
    weights = tuple(float(w) for w in row["likelihood"])
    if not weights or not all(isfinite(w) and w >= 0.0 for w in weights):
        raise ValueError("weights must be zero or more")
    value, number = row.get("value"), row.get("number")
    return Report(
        finding=_text(row["finding"]),
        likelihood=weights,
        value=None if value is None else _text(value),
        number=None if number is None else float(number),
        spoken=row.get("spoken") is True,
    )


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise TypeError("a text is needed")
    return clean_text(value)
