"""The one result document: plain data that every renderer reads, and nothing else.

It is JSON as it stands (format 1), is saved with the case, and re-renders without computing. All
probabilities are 0 to 1, weights in nat.
"""

from __future__ import annotations

from typing import Any

from diagnose.interview.session import Session
from diagnose.kb.model import UNSOURCED, Action, Cause, Cited, Knowledge
from diagnose.reasoning.advice import Advice, NextTest, advise, next_tests
from diagnose.reasoning.explain import CROPS, Weights, unexplained, weights
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.question import Scorer
from diagnose.reasoning.rank import Ranking
from diagnose.reasoning.verdict import Verdict, verdict, word
from diagnose.report.describe import crops_label, describe, label
from diagnose.report.wording import CLINIC_SAMPLE, OFFICIAL_SAMPLE, stop_text, verdict_text

FORMAT = 1
EXPLAINED = 5
REASONS = 8
SLIGHT = 0.1
SHOWN = 0.001
# Topics that ask how things were done: they may cause harm, and are not a sign of it.
CIRCUMSTANCES = frozenset({"care", "history", "surroundings"})

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
    tests = next_tests(ranker, seen, ranking, Scorer(ranking, seen, phone=session.phone), said)
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
        "set_aside": [{"id": q, "text": kb.questions[q].text} for q in session.set_aside()],
        "tests": [_test(kb, t) for t in tests],
        "actions": _actions(advice),
        "cautions": _cautions(kb, seen, advice, tests),
        "knowledge": {"version": kb.version, "digest": kb.digest},
    }
    document["sources"] = _sources(kb, document)
    return document


def _round(p: float) -> float:
    return round(p, 6)


def _cited(cited: Cited) -> Plain:
    return {"sources": list(cited.sources), "from_memory": cited.from_memory}


def _verdict(kb: Knowledge, ranking: Ranking, said: Verdict, tests: list[NextTest]) -> Plain:
    result: Plain = {
        "state": said.state,
        "kind": said.kind,
        "causes": list(said.causes),
        "probability": _round(said.probability),
        "word": word(said.probability, said.state),
        "text": verdict_text(kb, ranking, said, _next(kb, said, tests)),
    }
    if said.state == "official_check":
        result["clinic_sample"] = OFFICIAL_SAMPLE
    elif said.state in ("nothing_fits", "open"):
        result["clinic_sample"] = CLINIC_SAMPLE
    return result


def _next(kb: Knowledge, said: Verdict, tests: list[NextTest]) -> str:
    """What to do next: a test settles only what its results speak of."""
    if not tests:
        return ""
    test = kb.tests[tests[0].test]
    normal = kb.findings[test.id].normal
    named = [kb.causes[c] for c in said.causes]
    if said.state == "kind_only":
        named = [c for c in kb.causes.values() if c.kind == said.kind]
    rows = [r for c in named for r in c.evidence if r.finding == test.id and r.value != normal]
    return f"To settle it: {test.name}." if test.settles and rows else f"Next: {test.name}."


def _cautions(
    kb: Knowledge, seen: Observations, advice: Advice, tests: list[NextTest]
) -> list[Plain]:
    """The cautions of the advice, then those of the tests shown.

    What a leading cause or an action warns of is shown at once, unless the grower said that it is
    not so; what only a test warns of is shown at once when it is so.
    """
    of_tests = {id_: kb.cautions[id_] for t in tests for id_ in kb.tests[t.test].cautions}
    advised = {caution.id: caution for caution in advice.cautions}
    rows = []
    for id_, caution in (advised | of_tests).items():
        holds = caution.when.holds(seen.known) if caution.when else None
        waits = holds is False or (holds is None and id_ not in advised)
        show = "beside" if waits else caution.show
        rows.append({"id": id_, "text": caution.text, "show": show, **_cited(caution.cited)})
    return rows


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
    kb, cause = session.kb, session.kb.causes[id_]
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


def _is_sign(kb: Knowledge, finding: str) -> bool:
    """Whether a finding is something seen on plants, that a cause should explain."""
    question = kb.question_of(finding)
    circumstance = question is not None and question.topic in CIRCUMSTANCES
    return not circumstance and finding not in kb.at_hand.values()


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
        "answer": label(kb, seen, finding),
        "weight": round(weight, 3),
        "stated": bool(exact),
        "note": note,
        **_cited(cited),
    }


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
        "cautions": list(known.cautions),
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
        if id_ not in UNSOURCED and (s := kb.sources.get(id_)) is not None
    }
