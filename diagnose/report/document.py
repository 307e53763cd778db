"""The one result document: plain data that every renderer reads, and nothing else.

It is JSON as it stands (format 1), is saved with the case, and re-renders without computing. All
probabilities are 0 to 1, weights in nat.
"""

from __future__ import annotations

from diagnose.interview.offer import TEXT as OFFERED
from diagnose.interview.session import Session
from diagnose.kb.model import UNSOURCED, Action, Knowledge
from diagnose.reasoning.advice import Advice, advise
from diagnose.reasoning.explain import weights
from diagnose.reasoning.looks import looks
from diagnose.reasoning.next_test import NextTest, next_tests
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.question import Scorer
from diagnose.reasoning.rank import Ranking
from diagnose.reasoning.verdict import Verdict, verdict, word
from diagnose.report.describe import describe
from diagnose.report.reasons import Plain, cause_row, cited_row, rounded
from diagnose.report.wording import CLINIC_SAMPLE, OFFICIAL_SAMPLE, stop_text, verdict_text

FORMAT = 1
EXPLAINED = 5
SHOWN = 0.001


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
            cause_row(session, seen, ranking, weighed, id_, p, said, explained=i < EXPLAINED)
            for i, (id_, p) in enumerate(ranking.leaders())
            if p >= SHOWN or i < EXPLAINED
        ],
        "kinds": [
            {"id": k, "name": kb.kinds[k].name, "probability": rounded(p)}
            for k, p in ranking.kind_leaders()
            if p >= SHOWN
        ],
        "unlisted": rounded(ranking.unlisted),
        "questions_asked": [_asked(session, id_) for id_ in _shown(session)],
        "set_aside": [{"id": q, "text": kb.questions[q].text} for q in session.set_aside()],
        "looks": _looks(session, seen, ranking),
        "tests": [_test(kb, t) for t in tests],
        "actions": _actions(advice),
        "cautions": _cautions(kb, seen, advice, tests),
        "knowledge": {"version": kb.version, "digest": kb.digest},
    }
    document["sources"] = _sources(kb, document)
    return document


def _looks(session: Session, seen: Observations, ranking: Ranking) -> list[Plain]:
    """Signs worth a look, with the words that report them."""
    kb = session.kb
    rows = []
    for look in looks(session.ranker, seen, ranking, session.open_questions()):
        finding = kb.findings[look.finding]
        tick = finding.form == "tick"
        rows.append(
            {
                "question": look.question,
                "finding": look.finding,
                "name": finding.name if tick else f"{finding.name}: {finding.label(look.value)}",
                "help": kb.questions[look.question].help,
                "answer": look.finding if tick else look.value,
            }
        )
    return rows


def _verdict(kb: Knowledge, ranking: Ranking, said: Verdict, tests: list[NextTest]) -> Plain:
    result: Plain = {
        "state": said.state,
        "kind": said.kind,
        "causes": list(said.causes),
        "probability": rounded(said.probability),
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

    One to be shown at once is so only when its danger was named; else it stands beside the
    advice, in its calmer words.
    """
    of_tests = {id_: kb.cautions[id_] for t in tests for id_ in kb.tests[t.test].cautions}
    advised = {caution.id: caution for caution in advice.cautions}
    rows = []
    for id_, caution in (advised | of_tests).items():
        urgent = caution.show == "at_once"
        now = urgent and caution.when is not None and caution.when.holds(seen.known) is True
        text = caution.text if now or not urgent else caution.beside or caution.text
        show = "at_once" if now else "beside"
        rows.append({"id": id_, "text": text, "show": show, **cited_row(caution.cited)})
    return rows


def _shown(session: Session) -> list[str]:
    """Everything asked or told, in the order it came."""
    return [*session.shown, *(a for a in session.answers if a not in session.shown)]


def _text_of(kb: Knowledge, id_: str) -> str:
    """What was asked; an answer carried over may belong to a question of an older book."""
    if id_ in kb.questions:
        return kb.questions[id_].text
    return kb.tests[id_].name if id_ in kb.tests else f"{id_} (asked by an older book)"


def _asked(session: Session, id_: str) -> Plain:
    kb = session.kb
    answer = session.answers.get(id_)
    text = _text_of(kb, id_)
    if id_ in session.offers:
        offer = session.offers[id_]
        told = f"{len(offer.picked)} of {len(offer.offered)} subjects"
        return {"id": id_, "text": OFFERED, "answer": told, "state": "answered"}
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
                "chance": rounded(o.probability),
                "leaders": [
                    {"id": c, "name": kb.causes[c].name, "probability": rounded(p)}
                    for c, p in o.leaders
                ],
                "kind": {"name": kb.kinds[o.kind[0]].name, "probability": rounded(o.kind[1])},
            }
            for o in test.outcomes
        ],
        **cited_row(known.cited),
    }


def _actions(advice: Advice) -> Plain:
    def rows(actions: tuple[Action, ...]) -> list[Plain]:
        return [
            {"id": a.id, "text": a.text, "why": a.why, "cautions": list(a.cautions)}
            | cited_row(a.cited)
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
