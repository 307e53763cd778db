"""Reads files of cases with a known answer, for a trial.

A case with a fault is not thrown away: what of an answer does not fit is left out, a cause the book
does not hold is kept as one it must miss, and each fault is told with its place and remedy.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from diagnose.errors import Location, UnreadableError, UsageError
from diagnose.interview.answers import read_answer
from diagnose.kb import match, strictyaml
from diagnose.kb.model import Knowledge
from diagnose.kb.strictyaml import Document


@dataclass(frozen=True, slots=True)
class Case:
    """A case with a known answer; `expect` empty means nobody could say.

    `faults` tells what of it could not be used, each with its place and remedy.
    """

    id: str
    answers: Mapping[str, Any]
    expect: tuple[str, ...] = ()
    expect_kind: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()


def read_cases(path: Path, kb: Knowledge) -> list[Case]:
    """Read a file of cases: a list, or a mapping with the key `cases`.

    Raises:
        UnreadableError: the file is no list of cases; with file and line.
    """
    try:
        document = strictyaml.read(path)
    except strictyaml.StrictYamlFault as problem:
        fault = problem.fault
        raise UnreadableError(fault.wrong, fault.remedy, fault.location) from None
    raw = document.value
    rows = raw.get("cases") if isinstance(raw, dict) else raw
    if not isinstance(rows, list):
        raise UnreadableError(
            "no list of cases here",
            "Write `cases:` with a list of id, answers, expect.",
            Location(str(path), 1, 1),
        )
    keys = ("cases",) if isinstance(raw, dict) else ()
    return [_case(kb, document, (*keys, i), row) for i, row in enumerate(rows)]


def _case(kb: Knowledge, document: Document, at: tuple[str | int, ...], row: Any) -> Case:
    if not isinstance(row, dict) or not isinstance(row.get("answers"), dict):
        raise UnreadableError("a case needs an id and answers", "Add them.", document.place(at))
    name = str(row.get("id", int(at[-1]) + 1))
    answers: dict[str, Any] = {}
    faults = []
    for id_, raw in row["answers"].items():
        try:
            read_answer(kb, id_, raw)
            answers[id_] = raw
        except UsageError as error:
            place = document.place((*at, "answers", id_))
            faults.append(f"{place} case {name}: {error.message}\n    {error.hint}")
            if (rest := _what_fits(kb, id_, raw)) is not None:
                answers[id_] = rest
    expect = _ids(row.get("expect"))
    for id_ in expect:
        if id_ not in kb.causes:
            near = match.nearest(id_, kb.causes)
            hint = f"Did you mean {', '.join(near)}?" if near else "See `diagnose kb list causes`."
            place = document.place((*at, "expect"))
            faults.append(f"{place} case {name}: there is no cause '{id_}'\n    {hint}")
    kinds = _ids(row.get("expect_kind")) or tuple(
        dict.fromkeys(kb.causes[c].kind for c in expect if c in kb.causes)
    )
    return Case(name, answers, expect, kinds, tuple(faults))


def _what_fits(kb: Knowledge, id_: str, raw: Any) -> Any:
    """The part of a crops, inputs or tick answer that can be read; None when nothing can."""
    question = kb.questions.get(id_)
    if question is None or not isinstance(raw, dict):
        return None
    kept: dict[str, Any] = {}
    for key, value in raw.items():
        if not isinstance(value, list):
            if _reads(kb, id_, {key: value}):
                kept[key] = value
            continue
        rows = [row for row in value if _reads(kb, id_, {key: [row]})]
        if rows or not value:
            kept[key] = rows
    return kept if kept and _reads(kb, id_, kept) else None


def _reads(kb: Knowledge, id_: str, raw: Any) -> bool:
    try:
        read_answer(kb, id_, raw)
    except UsageError:
        return False
    return True


def _ids(raw: object) -> tuple[str, ...]:
    if raw is None:
        return ()
    return tuple(str(x) for x in raw) if isinstance(raw, list) else (str(raw),)
