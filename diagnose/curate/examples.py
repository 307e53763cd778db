"""Ranks the examples inside causes: the case a cause must win and the near miss it must lose."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.errors import UsageError
from diagnose.interview.session import Session
from diagnose.kb.model import Cause, Example, Knowledge
from diagnose.reasoning.book import Book
from diagnose.reasoning.rank import Ranker, Ranking


@dataclass(frozen=True, slots=True)
class Outcome:
    """How an example came out. `error` is set when its answers could not be read."""

    cause: str
    index: int
    example: Example
    passed: bool
    told: str
    error: str = ""


def rank_answers(ranker: Ranker, answers: dict[str, object]) -> Ranking:
    """Rank a set of raw answers, all taken.

    Raises:
        UsageError: when an answer does not fit its question.
    """
    session = Session(ranker)
    for id_, raw in answers.items():
        session.apply(session.read(id_, raw))
    return session.ranking()


def run_examples(kb: Knowledge) -> list[Outcome]:
    """Rank every example of every cause."""
    ranker = Ranker(Book(kb))
    return [
        _run(ranker, cause, i, example)
        for cause in kb.causes.values()
        for i, example in enumerate(cause.examples)
    ]


def _run(ranker: Ranker, cause: Cause, index: int, example: Example) -> Outcome:
    try:
        ranking = rank_answers(ranker, dict(example.answers))
    except UsageError as error:
        return Outcome(cause.id, index, example, False, "", f"{error.message} {error.hint}")
    told = ", ".join(f"{c} {p:.2f}" for c, p in ranking.leaders(3))
    told += f", not in the book {ranking.unlisted:.2f}"
    if example.beaten_by:
        rival = example.beaten_by
        known = rival in ranking.book.position
        passed = known and ranking.probability(rival) > ranking.probability(cause.id)
    else:
        passed = ranking.leaders(1)[0][0] == cause.id
    return Outcome(cause.id, index, example, passed, told)
