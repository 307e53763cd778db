"""Carries old answers over to today's knowledge, and says what could not be.

A raw answer is read anew where its question still takes it. Otherwise what it said about each
finding is kept as it was written down, as long as the book still has the finding. Nothing new is
read into an old answer: a box that was not on a list then is left unknown.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from diagnose.casebook.record import Recorded
from diagnose.errors import UsageError
from diagnose.interview.answers import NONE_LOOKED, Answer, read_answer
from diagnose.kb.model import PRESENT, Knowledge
from diagnose.reasoning.report import Report, said, ticked

# Answers in which each row stands by itself; the others are a whole.
ROWS = ("crops", "inputs", "timeline")


@dataclass(slots=True)
class _Read:
    """One old answer as far as it could be read anew; None when not at all."""

    old: Recorded
    answer: Answer | None


def carry_over(old: Sequence[Recorded], kb: Knowledge) -> tuple[dict[str, Answer], list[str]]:
    """Old answers and results under today's knowledge.

    Returns:
        Answers by the question they were given to then (an answer whose question was renamed names
        the new one), and a plain sentence for each loss.
    """
    lost: list[str] = []
    taken = {r.question for r in old}
    read = [_Read(r, _read_anew(kb, r, taken, lost)) for r in old]
    # Words are left out: the session itself lets lists overrule them.
    fresh = {
        report.finding
        for r in read
        if r.answer is not None and not _in_words(kb, r.answer)
        for report in r.answer.reports
        if report.informative
    }
    carried = {}
    for r in read:
        answer = _with_kept(kb, r, fresh, lost)
        if answer is not None:
            carried[r.old.question] = answer
    return carried, lost


def _read_anew(kb: Knowledge, old: Recorded, taken: set[str], lost: list[str]) -> Answer | None:
    if old.reading:  # its reports bring their own weights, which the result alone does not give
        return None
    for id_ in _homes(kb, old, taken):
        answer = _at(kb, old, id_, lost)
        if answer is not None:
            taken.add(answer.question)
            return answer
    return None


def _homes(kb: Knowledge, old: Recorded, taken: set[str]) -> Iterator[str]:
    """Where an answer may be read.

    Its own question; else the one its findings moved to; else, for answers in rows or words, any
    question of a form that takes it.
    """
    if old.question in kb.questions or old.question in kb.tests:
        yield old.question
        return
    homes = {kb.findings[r.finding].home for r in old.reports if r.finding in kb.findings}
    if len(homes) == 1:
        yield from homes - taken
    if isinstance(old.raw, Mapping):
        forms = (*ROWS, "words")
        yield from (q.id for q in kb.questions.values() if q.form in forms and q.id not in taken)


def _in_words(kb: Knowledge, answer: Answer) -> bool:
    question = kb.questions.get(answer.question)
    return question is not None and question.form == "words"


def _at(kb: Knowledge, old: Recorded, id_: str, lost: list[str]) -> Answer | None:
    question = kb.questions.get(id_)
    form = question.form if question else "test"
    raw = _looked_then(old) if form == "tick" else old.raw
    if (answer := _try(kb, old, id_, raw)) is not None:
        return _as_listed_then(old, answer, lost) if form == "tick" else answer
    # Rows are only dropped at the answer's own question: elsewhere a misfit means a wrong guess.
    if form in ROWS and id_ == old.question and isinstance(raw, Mapping):
        kept = _rows_that_read(kb, old, raw, lost)
        return _try(kb, old, id_, kept) if kept else None
    return None


def _try(kb: Knowledge, old: Recorded, id_: str, raw: Any) -> Answer | None:
    if id_ not in kb.questions and id_ not in kb.tests:
        return None
    try:
        return read_answer(kb, id_, raw, phone=old.phone)
    except UsageError:
        return None


def _looked_then(old: Recorded) -> Any:
    """A tick list's raw answer with "looked for all" spelled out as what was on the list then."""
    raw = {"ticked": [], "looked_for": "all"} if old.raw == NONE_LOOKED else old.raw
    if isinstance(raw, Mapping) and raw.get("looked_for") == "all":
        return {**raw, "looked_for": [r.finding for r in old.reports]}
    return raw


def _as_listed_then(old: Recorded, answer: Answer, lost: list[str]) -> Answer:
    listed = {r.finding for r in old.reports}
    new = [r.finding for r in answer.reports if r.finding not in listed]
    if answer.unknown:
        return answer
    if new:
        lost.append(
            f"{old.question}: not on the list when it was answered, so left unknown: "
            f"{', '.join(new)}."
        )
        return replace(answer, reports=tuple(r for r in answer.reports if r.finding in listed))
    return replace(answer, raw=old.raw)


def _rows_that_read(
    kb: Knowledge, old: Recorded, raw: Mapping[str, Any], lost: list[str]
) -> dict[str, Any]:
    """The rows still known.

    In a slot of inputs all rows stand or fall together: with one missing the slot would say that
    nothing else went in.
    """
    kept: dict[str, Any] = {}
    for key, value in raw.items():
        if not isinstance(value, list) or not value:
            if _try(kb, old, old.question, {key: value}):
                kept[key] = value
            else:
                lost.append(f"{old.question}: '{key}' is not known any more and is left out.")
            continue
        good = [row for row in value if _try(kb, old, old.question, {key: [row]})]
        bad = ", ".join(_name(row) for row in value if row not in good)
        if not bad:
            kept[key] = value
        elif good and key not in kb.slots:
            kept[key] = good
            lost.append(f"{old.question}: not known any more and left out: {bad}.")
        else:
            lost.append(
                f"{old.question}: '{key}' is left unknown, as it held what is not known any "
                f"more: {bad}."
            )
    return kept


def _name(row: Any) -> str:
    return str(row.get("input") or row.get("event")) if isinstance(row, Mapping) else str(row)


def _with_kept(kb: Knowledge, read: _Read, fresh: set[str], lost: list[str]) -> Answer | None:
    """Add what was said about findings the reading anew does not cover."""
    old, answer = read.old, read.answer
    covered = {r.finding for r in answer.reports if r.informative} if answer else set()
    kept: list[Report] = []
    gone: list[str] = []
    for report in old.reports:
        if not report.informative or report.finding in covered or report.finding in fresh:
            continue
        usable = _usable(kb, report, old)
        if usable is not None:
            kept.append(usable)
        elif report.spoken:
            gone.append(f"{report.finding} = {report.value}")
    if gone:
        lost.append(f"{old.question}: left out, as the book no longer has it: {', '.join(gone)}.")
    if answer is not None:
        names = {r.finding for r in kept}
        reports = (*(r for r in answer.reports if r.finding not in names), *kept)
        return replace(answer, reports=reports, unknown=answer.unknown and not kept)
    if kept:
        return Answer(old.question, old.raw, tuple(kept))
    if not gone and not old.unknown and not any(r.informative for r in old.reports):
        lost.append(f"{old.question}: left out, as the book no longer asks it.")
    return None


def _usable(kb: Knowledge, report: Report, old: Recorded) -> Report | None:
    """A report as written down, when it still fits its finding; else said again by its value."""
    finding = kb.findings.get(report.finding)
    if finding is None:
        return None
    value, weights = report.value, report.likelihood
    heaviest = weights.index(max(weights))
    if len(weights) == len(finding.values) and value in (None, finding.value_ids[heaviest]):
        return report
    if value not in finding.value_ids or old.reading:
        return None
    assert value is not None
    if finding.form == "tick" and value == PRESENT:
        return ticked(finding)
    return said(finding, value, phone=old.phone, number=report.number)
