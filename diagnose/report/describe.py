"""Says answers and findings in plain words for the result document."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from diagnose.interview.answers import Answer
from diagnose.kb.model import Finding, Knowledge
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.report import Report


def label(kb: Knowledge, seen: Observations, id_: str) -> str:
    """What was answered on one finding; "not ticked" for a box left empty in a list."""
    finding, report = kb.findings[id_], seen.reports[id_]
    if report.value is None and finding.form == "choice":
        return " or ".join(finding.label(v) for v in best_values(finding, report))
    if report.value is None:
        return "not ticked"
    if report.number is not None and finding.form == "measure":
        return f"{report.number:g} {finding.unit}".strip()
    if finding.form in ("tick", "derived") and report.value in ("present", "absent"):
        return "yes" if report.value == "present" else "no"
    return finding.label(report.value)


def best_values(finding: Finding, report: Report) -> list[str]:
    """The values an answer that leaves several open speaks for."""
    best = max(report.likelihood)
    return [v for v, w in zip(finding.value_ids, report.likelihood, strict=True) if w == best]


def crops_label(kb: Knowledge, seen: Observations) -> str:
    """Hurt crops, and those sound beside them."""
    parts = []
    for state, name in (("hurt", "hurt"), ("fine_beside", "sound beside")):
        crops = [kb.crops[c].name for c, s in seen.crops.items() if s == state and c in kb.crops]
        if crops:
            parts.append(f"{name}: {', '.join(crops)}")
    return "; ".join(parts)


def describe(kb: Knowledge, answer: Answer) -> str:
    """An answer in plain words.

    >>> from diagnose.kb.load import load
    >>> from diagnose.interview.answers import read_answer
    >>> kb = load()
    >>> describe(kb, read_answer(kb, "season", "spring"))
    'Spring'
    """
    if answer.unknown:
        return "don't know"
    if answer.question in kb.tests:
        return kb.findings[answer.question].label(answer.raw)
    if answer.question not in kb.questions:
        return "; ".join(_said(kb, report) for report in answer.reports if report.spoken)
    question, raw = kb.questions[answer.question], answer.raw
    if question.form == "choice":
        values = raw if isinstance(raw, list) else [raw]
        return " or ".join(kb.findings[question.findings[0]].label(v) for v in values)
    if question.form == "tick":
        names = [kb.findings[f].name for f in raw["ticked"]]
        looked = raw["looked_for"] == "all"
        return "; ".join(names) or ("none of these, looked" if looked else "none ticked")
    if question.form == "crops":
        return "; ".join(f"{kb.crops[c].name} {s.replace('_', ' ')}" for c, s in raw.items())
    if question.form == "inputs":
        return "; ".join(_slot(kb, slot, rows) for slot, rows in raw.items())
    if question.form == "timeline":
        return _timeline(kb, raw)
    return str(raw["text"]) if question.form == "words" else str(raw)


def _said(kb: Knowledge, report: Report) -> str:
    finding = kb.findings[report.finding]
    return f"{finding.name}: {finding.label(report.value)}" if report.value else finding.name


def _slot(kb: Knowledge, slot: str, rows: list[Any]) -> str:
    if slot == "none_of":
        return f"none of: {', '.join(r.replace('_', ' ') for r in rows)}"
    ids = [r if isinstance(r, str) else r["input"] for r in rows]
    names = ", ".join(kb.inputs[i].name if i in kb.inputs else i for i in ids) or "nothing"
    return f"{kb.slots[slot].name}: {names}"


def _timeline(kb: Knowledge, raw: Mapping[str, Any]) -> str:
    parts = [f"right until {raw['last_right']}"] if "last_right" in raw else []
    for e in raw.get("events", ()):
        name = kb.events[e["event"]].name if e["event"] in kb.events else e["event"]
        again = ", again and again" if e.get("again") else ""
        parts.append(f"{name} {e.get('when', '(no date)')}{again}")
    return "; ".join(parts)
