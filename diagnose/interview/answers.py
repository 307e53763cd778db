"""Reads answers: checks a raw value against its question and resolves it to reports.

Raw values, as in an answers file:
    choice    a value id, or a list of those it may be
    tick      {ticked: [ids], looked_for: all | [ids]}; `none` for "none of these, I looked"
    measure   "2.1 mS/cm" or a bare number in the question's unit
    crops     {crop id: hurt | fine_beside | fine_elsewhere | not_grown}
    inputs    {mix, ground, mulch, water, feed: [ids or {input, source, when, on}], none_of: [..]}
    timeline  {last_right: date, events: [{event, when, again}], none_of: [..]};
              `when` is a date, or "8 days before" the first sign
    words     {text, confirmed: [finding or finding=value]} or just the text
    a test    one of its result ids
`dont_know` (or nothing) is a proper answer to every question.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from diagnose.errors import UsageError
from diagnose.interview.dates import days_before
from diagnose.interview.values import (
    clean_text,
    find_name,
    keys,
    listed,
    one_of,
    read_date,
    read_number,
    twice,
)
from diagnose.kb import match
from diagnose.kb.model import PRESENT, Knowledge, Question
from diagnose.reasoning.report import (
    Report,
    band_of,
    dont_know,
    not_ticked,
    said,
    said_one_of,
    ticked,
)

DONT_KNOW = "dont_know"
NONE_LOOKED = "none"
CROP_STATES = ("hurt", "fine_beside", "fine_elsewhere", "not_grown")
INPUT_SOURCES = ("own", "bought", "farm", "gift", "unknown")


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer held against its question: the cleaned raw value, and what it says.

    `unknown` is True for "don't know" and "could not look".
    """

    question: str
    raw: Any
    reports: tuple[Report, ...] = ()
    unknown: bool = False


def read_answer(kb: Knowledge, id_: str, raw: Any, *, phone: bool = False) -> Answer:
    """Check and resolve one raw answer.

    Raises:
        UsageError: unknown question, unknown value, or a number out of range, with a remedy.

    >>> from diagnose.kb.load import load
    >>> read_answer(load(), "season", "spring").reports[0].value
    'spring'
    """
    if id_ in kb.tests:
        return _test(kb, id_, raw)
    question = find_question(kb, id_)
    if raw is None or raw == DONT_KNOW:
        unknowns = tuple(dont_know(kb.findings[f]) for f in question.findings)
        return Answer(id_, DONT_KNOW, unknowns, unknown=True)
    reader = _READERS[question.form]
    return reader(kb, question, raw, phone)


def find_question(kb: Knowledge, id_: str) -> Question:
    """The question with this id.

    Raises:
        UsageError: naming the nearest ids.
    """
    if id_ in kb.questions:
        return kb.questions[id_]
    near = match.nearest(id_, [*kb.questions, *kb.tests])
    hint = f"Did you mean {' or '.join(near)}?" if near else "See `diagnose kb questions`."
    if id_ in kb.findings:
        home = kb.findings[id_].home
        hint = f"'{id_}' is answered within the question '{home}'."
    raise UsageError(f"there is no question or test '{id_}'", hint)


def _test(kb: Knowledge, id_: str, raw: Any) -> Answer:
    finding = kb.findings[id_]
    if raw is None or raw == DONT_KNOW:
        return Answer(id_, DONT_KNOW, (dont_know(finding),), unknown=True)
    value = one_of(f"result of {id_}", raw, finding.value_ids)
    return Answer(id_, value, (said(finding, value),))


def _choice(kb: Knowledge, question: Question, raw: Any, phone: bool) -> Answer:
    finding = kb.findings[question.findings[0]]
    told = raw if isinstance(raw, list) and raw else [raw]
    values = list(dict.fromkeys(one_of(question.id, v, finding.value_ids) for v in told))
    if len(values) == 1:
        return Answer(question.id, values[0], (said(finding, values[0], phone=phone),))
    if len(values) == len(finding.values):
        return Answer(question.id, DONT_KNOW, (dont_know(finding),), unknown=True)
    return Answer(question.id, values, (said_one_of(finding, values, phone=phone),))


def _tick(kb: Knowledge, question: Question, raw: Any, phone: bool) -> Answer:
    known = question.findings
    if raw == NONE_LOOKED:
        raw = {"ticked": [], "looked_for": "all"}
    if isinstance(raw, list):
        raw = {"ticked": raw}
    keys(question.id, raw, ("ticked", "looked_for"))
    chosen = [one_of(question.id, f, known) for f in listed(question.id, raw, "ticked")]
    looked = raw.get("looked_for") or []
    if looked == "all":
        looked_ids = list(known)
    elif isinstance(looked, list):
        looked_ids = [one_of(f"{question.id}: looked_for", f, known) for f in looked]
    else:
        raise UsageError(
            f"{question.id}: looked_for is '{looked}'", "Write `all` or a list of finding ids."
        )
    if not chosen and not looked_ids:
        unknowns = tuple(dont_know(kb.findings[f]) for f in known)
        return Answer(question.id, DONT_KNOW, unknowns, unknown=True)
    reports = tuple(
        ticked(kb.findings[f])
        if f in chosen
        else not_ticked(kb.findings[f], looked=f in looked_ids, phone=phone)
        for f in known
    )
    clean = {"ticked": chosen, "looked_for": "all" if looked == "all" else looked_ids}
    return Answer(question.id, clean, reports)


def _measure(kb: Knowledge, question: Question, raw: Any, phone: bool) -> Answer:
    finding = kb.findings[question.findings[0]]
    number = read_number(finding, raw)
    report = said(finding, band_of(finding, number), phone=phone, number=number)
    return Answer(question.id, f"{number:g} {finding.unit}".strip(), (report,))


def _crops(kb: Knowledge, question: Question, raw: Any, phone: bool) -> Answer:
    if not isinstance(raw, Mapping):
        raise UsageError(
            f"{question.id}: name crops with how they are", "For example: {tomato: hurt}."
        )
    clean: dict[str, str] = {}
    for name, state in raw.items():
        crop = find_name(f"{question.id}: crop", name, match.crop_names(kb))
        told = one_of(f"{question.id}: {name}", state, CROP_STATES)
        if clean.setdefault(crop, told) != told:
            raise twice(kb, crop)
    if not clean:
        return Answer(question.id, DONT_KNOW, (), unknown=True)
    return Answer(question.id, clean)


def _inputs(kb: Knowledge, question: Question, raw: Any, phone: bool) -> Answer:
    slots = tuple(kb.slots)
    keys(question.id, raw, (*slots, "none_of"))
    clean: dict[str, Any] = {}
    names = match.input_names(kb)
    for slot in slots:
        if slot not in raw or raw[slot] is None or raw[slot] == DONT_KNOW:
            continue
        rows = raw[slot] if isinstance(raw[slot], list) else [raw[slot]]
        clean[slot] = [_input_row(f"{question.id}: {slot}", row, names) for row in rows]
    tags = {t for i in kb.inputs.values() for t in i.tags}
    denied = listed(question.id, raw, "none_of")
    known = sorted(tags | set(kb.inputs))
    if denied:
        clean["none_of"] = [one_of(f"{question.id}: none_of", t, known) for t in denied]
    if not clean:
        return Answer(question.id, DONT_KNOW, (), unknown=True)
    return Answer(question.id, clean)


def _input_row(what: str, row: Any, names: Mapping[str, Sequence[str]]) -> Any:
    if isinstance(row, str):
        return find_name(what, row, names)
    keys(what, row, ("input", "source", "when", "on"))
    clean = {"input": find_name(what, row.get("input", ""), names)}
    if "source" in row:
        clean["source"] = one_of(f"{what}: source", row["source"], INPUT_SOURCES)
    for key in ("when", "on"):
        if row.get(key):
            clean[key] = clean_text(str(row[key]))
    return clean


def _timeline(kb: Knowledge, question: Question, raw: Any, phone: bool) -> Answer:
    keys(question.id, raw, ("last_right", "events", "none_of"))
    clean: dict[str, Any] = {}
    if raw.get("last_right"):
        clean["last_right"] = read_date(f"{question.id}: last_right", raw["last_right"]).isoformat()
    names = match.event_names(kb)
    events = []
    for row in listed(question.id, raw, "events"):
        keys(f"{question.id}: event", row, ("event", "when", "again"))
        event: dict[str, Any] = {"event": find_name("event", row.get("event", ""), names)}
        if row.get("when"):
            event["when"] = _when(f"{question.id}: when", row["when"])
        if row.get("again"):
            event["again"] = True
        events.append(event)
    if events:
        clean["events"] = events
    if denied := listed(question.id, raw, "none_of"):
        clean["none_of"] = [find_name("event", e, names) for e in denied]
    if not clean:
        return Answer(question.id, DONT_KNOW, (), unknown=True)
    return Answer(question.id, clean)


def _when(what: str, raw: Any) -> str:
    """A date, or how many days before the first sign, as it is kept."""
    days = days_before(str(raw))
    return read_date(what, raw).isoformat() if days is None else f"{days} days before"


def _words(kb: Knowledge, question: Question, raw: Any, phone: bool) -> Answer:
    if isinstance(raw, str):
        raw = {"text": raw}
    keys(question.id, raw, ("text", "confirmed", "suspects"))
    text = clean_text(str(raw.get("text") or ""))
    reports: dict[str, Report] = {}
    confirmed = []
    for item in listed(question.id, raw, "confirmed"):
        id_, _, value = str(item).partition("=")
        finding = kb.findings.get(one_of(f"{question.id}: confirmed", id_, list(kb.findings)))
        assert finding is not None
        value = one_of(f"{question.id}: {id_}", value or PRESENT, finding.value_ids)
        tick = finding.form == "tick" and value == PRESENT
        reports[id_] = ticked(finding) if tick else said(finding, value, phone=phone)
        confirmed.append(f"{id_}={value}")
    clean: dict[str, Any] = {"text": text, "confirmed": confirmed}
    if raw.get("suspects"):
        clean["suspects"] = clean_text(str(raw["suspects"]))
    unknown = not text and not confirmed
    return Answer(question.id, clean, tuple(reports.values()), unknown=unknown)


_READERS = {
    "choice": _choice,
    "tick": _tick,
    "measure": _measure,
    "crops": _crops,
    "inputs": _inputs,
    "timeline": _timeline,
    "words": _words,
}
