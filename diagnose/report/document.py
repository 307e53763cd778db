"""The one result document: plain data that every renderer reads, and nothing else.

It is JSON as it stands (format 1), is saved with the case, and re-renders without computing. All
probabilities are 0 to 1, weights in nat.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from diagnose.interview.answers import Answer
from diagnose.interview.session import Session
from diagnose.kb.model import Action, Cause, Cited, Finding, Knowledge
from diagnose.reasoning.advice import Advice, NextTest, advise, next_tests
from diagnose.reasoning.explain import CROPS, Weights, unexplained, weights
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.question import Scorer
from diagnose.reasoning.rank import Ranking
from diagnose.reasoning.verdict import Verdict, verdict, word
from diagnose.report.wording import CLINIC_SAMPLE, stop_text, verdict_text

FORMAT = 1
EXPLAINED = 5
REASONS = 8
SLIGHT = 0.1
SHOWN = 0.001

Plain = dict[str, Any]


def build(session: Session, *, reason: str = "", case: str = "", alias: str = "") -> Plain:
    """Build the document of a session as it stands.

    Args:
        session: the interview, finished or not.
        reason: why it stopped: clear, nothing_more, cap, many_unknown, enough, or empty.
        case: the case number, when there is one.
        alias: the grower's alias, when there is one.
    """
    kb, ranker = session.kb, session.ranker
    seen, ranking = session.observations(), session.ranking()
    weighed = weights(ranker, seen, ranking)
    said = verdict(ranking, seen, weighed)
    tests = next_tests(ranker, seen, ranking, Scorer(ranking, seen, phone=session.phone))
    advice = advise(kb, seen, ranking, said)
    document: Plain = {
        "format": FORMAT,
        "case": case,
        "alias": alias,
        "verdict": _verdict(kb, ranking, said, tests),
        "stopped": {"reason": reason, "text": stop_text(reason)},
        "causes": [
            _cause(session, seen, ranking, weighed, id_, p, explained=i < EXPLAINED)
            for i, (id_, p) in enumerate(ranking.leaders())
            if p >= SHOWN or i < EXPLAINED
        ],
        "kinds": [
            {"id": k, "name": kb.kinds[k].name, "probability": _round(p)}
            for k, p in ranking.kind_leaders()
            if p >= SHOWN
        ],
        "unlisted": _round(ranking.unlisted),
        "questions_asked": [_asked(session, id_) for id_ in _shown(session)],
        "set_aside": session.set_aside(),
        "tests": [_test(kb, t) for t in tests],
        "actions": _actions(advice),
        "cautions": [
            {"id": c.id, "text": c.text, "show": c.show, **_cited(c.cited)} for c in advice.cautions
        ],
        "knowledge": {"version": kb.version, "digest": kb.digest},
    }
    document["sources"] = _sources(kb, document)
    return document


def _round(p: float) -> float:
    return round(p, 6)


def _cited(cited: Cited) -> Plain:
    return {"sources": list(cited.sources), "from_memory": cited.from_memory}


def _verdict(kb: Knowledge, ranking: Ranking, said: Verdict, tests: list[NextTest]) -> Plain:
    test = kb.tests[tests[0].test].name if tests else ""
    result: Plain = {
        "state": said.state,
        "kind": said.kind,
        "causes": list(said.causes),
        "probability": _round(said.probability),
        "word": word(said.probability, said.state),
        "text": verdict_text(kb, ranking, said, test),
    }
    if said.state in ("nothing_fits", "open", "official_check"):
        result["clinic_sample"] = CLINIC_SAMPLE
    return result


def _cause(
    session: Session,
    seen: Observations,
    ranking: Ranking,
    weighed: Weights,
    id_: str,
    probability: float,
    *,
    explained: bool,
) -> Plain:
    kb = session.kb
    cause = kb.causes[id_]
    result: Plain = {
        "id": id_,
        "name": cause.name,
        "standard_term": cause.standard_term,
        "kind": cause.kind,
        "probability": _round(probability),
        "word": word(probability),
    }
    if not explained:
        return result
    position = session.ranker.book.position[id_]
    rows = [_reason(kb, seen, cause, f, w) for f, w in weighed.of(position) if abs(w) >= SLIGHT]
    missing = unexplained(session.ranker, seen, ranking, id_)
    result |= {
        "for": [r for r in rows if r["weight"] > 0][:REASONS],
        "against": [r for r in rows if r["weight"] < 0][:REASONS],
        "unexplained": [
            {"finding": f, "name": kb.findings[f].name, "answer": _label(kb, seen, f)}
            for f in missing
        ],
        "rules": [
            {
                "id": f.rule.id,
                "effect": f.rule.effect,
                "because": f.rule.because,
                **_cited(f.rule.cited),
            }
            for f in ranking.fired
            if f.cause == id_
        ],
        "lookalikes": [
            {"cause": x.cause, "name": kb.causes[x.cause].name, "tell_apart": x.tell_apart}
            for x in cause.lookalikes
            if x.cause in kb.causes and ranking.probability(x.cause) >= 0.05
        ],
        "prospects": cause.prospects,
        "confirm": list(cause.confirm),
    }
    return result


def _reason(kb: Knowledge, seen: Observations, cause: Cause, finding: str, weight: float) -> Plain:
    if finding == CROPS:
        return {
            "finding": CROPS,
            "name": "Which crops are hurt and which are spared",
            "answer": _crops_label(kb, seen),
            "weight": round(weight, 3),
            **_cited(cause.hosts.cited),
        }
    report = seen.reports[finding]
    rows = [r for r in cause.evidence if r.finding == finding]
    exact = [r for r in rows if r.value == report.value] or rows
    cited = exact[0].cited if exact else Cited((), "memory")
    note = exact[0].note if exact else ""
    return {
        "finding": finding,
        "name": kb.findings[finding].name,
        "standard_term": kb.findings[finding].standard_term,
        "answer": _label(kb, seen, finding),
        "weight": round(weight, 3),
        "stated": bool(exact),
        "note": note,
        **_cited(cited),
    }


def _label(kb: Knowledge, seen: Observations, id_: str) -> str:
    finding, report = kb.findings[id_], seen.reports[id_]
    if report.value is None:
        return "not ticked"
    if report.number is not None and finding.form == "measure":
        return f"{report.number:g} {finding.unit}".strip()
    if finding.form in ("tick", "derived") and report.value in ("present", "absent"):
        return "yes" if report.value == "present" else "no"
    return finding.label(report.value)


def _crops_label(kb: Knowledge, seen: Observations) -> str:
    parts = []
    for state, name in (("hurt", "hurt"), ("fine_beside", "sound beside")):
        crops = [kb.crops[c].name for c, s in seen.crops.items() if s == state and c in kb.crops]
        if crops:
            parts.append(f"{name}: {', '.join(crops)}")
    return "; ".join(parts)


def _shown(session: Session) -> list[str]:
    """Everything asked or told, in the order it came."""
    return [*session.shown, *(a for a in session.answers if a not in session.shown)]


def _asked(session: Session, id_: str) -> Plain:
    kb = session.kb
    answer = session.answers.get(id_)
    text = kb.questions[id_].text if id_ in kb.questions else kb.tests[id_].name
    if answer is None:
        return {"id": id_, "text": text, "answer": "not asked", "state": "skipped"}
    state = "unknown" if answer.unknown else "answered"
    return {"id": id_, "text": text, "answer": describe(kb, answer), "state": state}


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
    question, raw = kb.questions[answer.question], answer.raw
    if question.form == "choice":
        return kb.findings[question.findings[0]].label(raw)
    if question.form == "tick":
        names = [_short(kb.findings[f]) for f in raw["ticked"]]
        looked = raw["looked_for"] == "all"
        return "; ".join(names) or ("none of these, looked" if looked else "none ticked")
    if question.form == "crops":
        return "; ".join(f"{kb.crops[c].name} {s.replace('_', ' ')}" for c, s in raw.items())
    if question.form == "inputs":
        return "; ".join(_slot(kb, slot, rows) for slot, rows in raw.items())
    if question.form == "timeline":
        return _timeline(kb, raw)
    return str(raw["text"]) if question.form == "words" else str(raw)


def _short(finding: Finding) -> str:
    return finding.name


def _slot(kb: Knowledge, slot: str, rows: list[Any]) -> str:
    if slot == "none_of":
        return f"none of: {', '.join(r.replace('_', ' ') for r in rows)}"
    ids = [r if isinstance(r, str) else r["input"] for r in rows]
    names = ", ".join(kb.inputs[i].name if i in kb.inputs else i for i in ids) or "nothing"
    return f"{slot}: {names}"


def _timeline(kb: Knowledge, raw: Mapping[str, Any]) -> str:
    parts = [f"right until {raw['last_right']}"] if "last_right" in raw else []
    for e in raw.get("events", ()):
        name = kb.events[e["event"]].name if e["event"] in kb.events else e["event"]
        again = ", again and again" if e.get("again") else ""
        parts.append(f"{name} {e.get('when', '(no date)')}{again}")
    return "; ".join(parts)


def _test(kb: Knowledge, test: NextTest) -> Plain:
    known = kb.tests[test.test]
    finding = kb.findings[test.test]
    return {
        "id": test.test,
        "name": known.name,
        "why": known.why,
        "how": list(known.how),
        "days": list(known.days),
        "cost": known.cost,
        "limits": known.limits,
        "gain": round(test.gain, 4),
        "outcomes": [
            {
                "result": o.result,
                "label": finding.label(o.result),
                "chance": _round(o.probability),
                "leaders": [
                    {"id": c, "name": kb.causes[c].name, "probability": _round(p)}
                    for c, p in o.leaders
                ],
                "kind": {"name": kb.kinds[o.kind[0]].name, "probability": _round(o.kind[1])},
            }
            for o in test.outcomes
        ],
        **_cited(known.cited),
    }


def _actions(advice: Advice) -> Plain:
    def rows(actions: tuple[Action, ...]) -> list[Plain]:
        return [
            {"id": a.id, "text": a.text, "why": a.why, "cautions": list(a.cautions)}
            | _cited(a.cited)
            for a in actions
        ]

    return {
        "today": rows(advice.today),
        **{stage: rows(actions) for stage, actions in advice.later},
        "withheld": [{"id": a.id, "text": a.text, "because": why} for a, why in advice.withheld],
    }


def _sources(kb: Knowledge, document: Plain) -> Plain:
    """The sources the document cites, with what a reader needs to find them."""
    cited: dict[str, None] = {}

    def walk(raw: object) -> None:
        if isinstance(raw, dict):
            for key, value in raw.items():
                if key == "sources" and isinstance(value, list):
                    cited.update(dict.fromkeys(value))
                else:
                    walk(value)
        elif isinstance(raw, list):
            for value in raw:
                walk(value)

    walk(document)
    return {
        id_: {"publisher": s.publisher, "title": s.title, "year": s.year, "url": s.url}
        for id_ in sorted(cited)
        if (s := kb.sources.get(id_)) is not None
    }
