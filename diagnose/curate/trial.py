"""Runs cases through the interview itself and measures how often the cause comes out right.

The interview asks its own questions; a case file answers what it knows and "don't know" to the
rest. Results of tests given with a case are known from the start.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from statistics import median
from typing import Any

from diagnose.curate.cases import Case
from diagnose.errors import UsageError
from diagnose.interview.answers import DONT_KNOW
from diagnose.interview.offer import Offer, Picked
from diagnose.interview.session import Session
from diagnose.interview.step import Done
from diagnose.kb.match import signs
from diagnose.kb.model import Knowledge, Question
from diagnose.reasoning.book import Book
from diagnose.reasoning.explain import weights
from diagnose.reasoning.rank import Ranker
from diagnose.reasoning.verdict import verdict

FORMAT = 1
BINS = 10


@dataclass(frozen=True, slots=True)
class Tried:
    """How a case came out. `rank` counts from 1; 0 when nothing is expected."""

    id: str
    rank: int
    probability: float
    questions: int
    verdict: str
    stated: float
    top: tuple[tuple[str, float], ...]
    kind: str
    right: bool
    kind_right: bool | None


@dataclass(frozen=True, slots=True)
class Trial:
    """All cases of a trial and the figures over them."""

    cases: tuple[Tried, ...]
    figures: dict[str, float] = field(default_factory=dict)

    def plain(self) -> dict[str, Any]:
        """As plain data, format 1."""
        rows = [
            {
                "id": t.id,
                "rank": t.rank,
                "probability": round(t.probability, 6),
                "questions": t.questions,
                "verdict": t.verdict,
                "top": [{"id": c, "probability": round(p, 6)} for c, p in t.top],
                "kind": t.kind,
                "right": t.right,
            }
            for t in self.cases
        ]
        return {"format": FORMAT, **self.figures, "cases": rows}


def run_trial(kb: Knowledge, cases: Sequence[Case], *, phone: bool = False) -> Trial:
    """Interview every case.

    Raises:
        UsageError: when an answer of a case does not fit its question, naming the case.
    """
    ranker = Ranker(Book(kb))
    tried = [try_case(ranker, case, phone=phone) for case in cases]
    return Trial(tuple(tried), figures(tried))


def interview_case(
    ranker: Ranker, case: Case, *, phone: bool = False, session: Session | None = None
) -> Session:
    """Let the interview ask; answer from the case, "don't know" where it is silent."""
    session = session or Session(ranker, phone)
    try:
        for id_, raw in case.answers.items():
            answer = session.read(id_, raw)  # a wrong id must not pass as silence
            if id_ in ranker.book.kb.tests:
                session.apply(answer)
        while not isinstance(step := session.next_step(), Done):
            if isinstance(step, Offer):
                session.pick(step.id, _picked(case, step))
                continue
            session.apply(session.read(step.question.id, _answer(session, case, step.question)))
    except UsageError as error:
        raise UsageError(f"case {case.id}: {error.message}", error.hint) from None
    return session


def _picked(case: Case, offer: Offer) -> Picked:
    """Of an offer a case picks what it answers: a grower knows what they know."""
    known = (q.id for q in offer.questions if case.answers.get(q.id, DONT_KNOW) != DONT_KNOW)
    return offer.taking(tuple(known))


def _answer(session: Session, case: Case, question: Question) -> Any:
    """What the case answers; a story has the signs found in it confirmed, as on the screen.

    Only what the case answers to the question of a sign is confirmed.
    """
    raw = case.answers.get(question.id, DONT_KNOW)
    if question.form != "words" or raw == DONT_KNOW:
        return raw
    told = dict(raw) if isinstance(raw, dict) else {"text": raw}
    if told.get("confirmed"):
        return raw
    confirmed = []
    for sign in signs(session.kb, str(told.get("text") or "")):
        home = session.kb.findings[sign.finding].home
        if home in case.answers:
            reports = session.read(home, case.answers[home]).reports
            if any(r.finding == sign.finding and r.value == sign.value for r in reports):
                confirmed.append(f"{sign.finding}={sign.value}")
    return {**told, "confirmed": confirmed}


def try_case(ranker: Ranker, case: Case, *, phone: bool = False) -> Tried:
    """Interview one case and judge it."""
    return judge(ranker, case, interview_case(ranker, case, phone=phone))


def judge(ranker: Ranker, case: Case, session: Session) -> Tried:
    """Judge a finished interview by what was expected."""
    kb = ranker.book.kb
    seen, ranking = session.observations(), session.ranking()
    said = verdict(ranking, seen, weights(ranker, seen, ranking))
    order = [c for c, _ in ranking.leaders()]
    # A cause the book does not hold can only be missed: it ranks after all others.
    places = {c: order.index(c) + 1 if c in order else len(order) + 1 for c in case.expect}
    best = min(places, key=places.__getitem__) if places else ""
    kind = ranking.kind_leaders()[0][0]
    forced = said.state in ("likely", "settled")
    right = places[best] == 1 if case.expect else not forced
    return Tried(
        case.id,
        places.get(best, 0),
        ranking.probability(best) if best in kb.causes else 0.0,
        len(kb.opening) + session.chosen_count(),
        said.state,
        ranking.leaders(1)[0][1],
        tuple(ranking.leaders(3)),
        kind,
        right,
        kind in case.expect_kind if case.expect_kind else None,
    )


def figures(tried: Sequence[Tried]) -> dict[str, float]:
    """Figures over a trial; ranks over the cases where something is expected."""
    known = [t for t in tried if t.rank]
    open_ = [t for t in tried if not t.rank]
    kinds = [t for t in tried if t.kind_right is not None]
    asked = sorted(t.questions for t in tried)
    stated = [(t.stated, t.right) for t in known]
    sure = [right for p, right in stated if p >= 0.8]
    return {
        "cases_known": len(known),
        "top1": _share([t.rank == 1 for t in known]),
        "top3": _share([t.rank <= 3 for t in known]),
        "kind1": _share([bool(t.kind_right) for t in kinds]),
        "sure_right": _share(sure),
        "sure_count": len(sure),
        "undetermined_right": _share([t.right for t in open_]),
        "questions_median": float(median(asked)) if asked else 0.0,
        "questions_p90": float(asked[int(0.9 * (len(asked) - 1))]) if asked else 0.0,
        "brier": round(_share([(p - right) ** 2 for p, right in stated]), 4),
        "ece": round(calibration_error(stated), 4),
    }


def _share(values: Sequence[float]) -> float:
    return round(sum(values) / len(values), 4) if values else 0.0


def calibration_error(stated: Sequence[tuple[float, bool]]) -> float:
    """Expected calibration error over ten equal bins.

    >>> calibration_error([(0.95, True), (0.85, False)])
    0.45
    """
    if not stated:
        return 0.0
    total = 0.0
    for b in range(BINS):
        inside = [(p, r) for p, r in stated if min(int(p * BINS), BINS - 1) == b]
        if inside:
            gap = sum(p for p, _ in inside) / len(inside) - sum(r for _, r in inside) / len(inside)
            total += abs(gap) * len(inside) / len(stated)
    return round(total, 12)
