"""One cause in the result document: its probability, its reasons and what it leaves unexplained."""

from __future__ import annotations

from typing import Any

from diagnose.interview.session import Session
from diagnose.kb.model import Cause, Cited, Knowledge
from diagnose.reasoning.explain import CROPS, STORY, Weights, unexplained
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.rank import Ranking
from diagnose.reasoning.verdict import Verdict, word
from diagnose.report.describe import crops_label, label

Plain = dict[str, Any]
REASONS = 8
SLIGHT = 0.1
# Topics that ask how things were done: they may cause harm, and are not a sign of it.
CIRCUMSTANCES = frozenset({"care", "history", "surroundings"})


def rounded(p: float) -> float:
    """A probability to six places."""
    return round(p, 6)


def cited_row(cited: Cited) -> Plain:
    """Sources and mark, as they stand in the document."""
    return {"sources": list(cited.sources), "from_memory": cited.from_memory}


def cause_row(
    session: Session,
    seen: Observations,
    ranking: Ranking,
    weighed: Weights,
    id_: str,
    probability: float,
    said: Verdict,
    *,
    explained: bool,
) -> Plain:
    """One cause with its reasons.

    Args:
        session: the interview.
        seen: what is known.
        ranking: where the case stands.
        weighed: the weight of every answer.
        id_: the cause.
        probability: P(the cause is at work).
        said: the verdict.
        explained: give reasons for and against; else only name and figure.
    """
    kb, cause = session.kb, session.kb.causes[id_]
    result: Plain = {
        "id": id_,
        "name": cause.name,
        "standard_term": cause.standard_term,
        "kind": cause.kind,
        "probability": rounded(probability),
        "word": word(probability, said.state if id_ in said.causes else ""),
    }
    if not explained:
        return result
    position = session.ranker.book.position[id_]
    spoken = [(f, w) for f, w in weighed.of(position) if abs(w) >= SLIGHT]
    rows = [
        _story(session, seen, position, w) if f == STORY else _reason(kb, seen, cause, f, w)
        for f, w in spoken
    ]
    missing = [f for f in unexplained(session.ranker, seen, ranking, id_) if _is_sign(kb, f)]
    result |= {
        "for": [r for r in rows if r["weight"] > 0][:REASONS],
        "against": [r for r in rows if r["weight"] < 0][:REASONS],
        "unexplained": [
            {"finding": f, "name": kb.findings[f].name, "answer": label(kb, seen, f)}
            for f in missing
        ],
        "rules": [
            {
                "id": f.rule.id,
                "effect": f.rule.effect,
                "because": f.rule.because,
                **cited_row(f.rule.cited),
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


def _is_sign(kb: Knowledge, finding: str) -> bool:
    """Whether a finding is something seen on plants, that a cause should explain."""
    question = kb.question_of(finding)
    circumstance = question is not None and question.topic in CIRCUMSTANCES
    return not circumstance and finding not in kb.at_hand.values()


def _story(session: Session, seen: Observations, position: int, weight: float) -> Plain:
    words = session.ranker.word_model.telling(seen.story, position, against=weight < 0)
    return {
        "finding": STORY,
        "name": "The words you used" if weight > 0 else "Words you used, seldom told of this",
        "standard_term": "",
        "answer": ", ".join(words),
        "weight": round(weight, 3),
        "stated": True,
        "note": "",
        "sources": [],
        "from_memory": True,
    }


def _reason(kb: Knowledge, seen: Observations, cause: Cause, finding: str, weight: float) -> Plain:
    if finding == CROPS:
        return {
            "finding": CROPS,
            "name": "Which crops are hurt and which are spared",
            "standard_term": "",
            "answer": crops_label(kb, seen),
            "weight": round(weight, 3),
            "stated": True,
            "note": "",
            **cited_row(cause.hosts.cited),
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
        "answer": label(kb, seen, finding),
        "weight": round(weight, 3),
        "stated": bool(exact),
        "note": note,
        **cited_row(cited),
    }
