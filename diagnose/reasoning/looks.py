"""The looks nobody took: signs that would bear the leading cause out, free and at once.

An interview ends when a cause is clear enough; a look at the one thing that belongs to it is still
worth more than the figure.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from diagnose.kb.model import Question
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.rank import Ranker, Ranking

LEADS = 0.5
TELLING = 0.4
MOST = 2


@dataclass(frozen=True, slots=True)
class Look:
    """A sign to look for: its question, its finding and the value that would bear out."""

    question: str
    finding: str
    value: str


def looks(
    ranker: Ranker, seen: Observations, ranking: Ranking, questions: Iterable[Question]
) -> list[Look]:
    """The most telling signs of the leading cause among questions not yet answered.

    Args:
        ranker: ranks cases of the book.
        seen: what is known.
        ranking: where the case stands.
        questions: those that could still be answered.

    Returns:
        At most two, each shown by the cause at least .4 more often than by any sick tray; none
        while no cause has one half.
    """
    leading, p = ranking.leaders(1)[0] if len(ranking.present) else ("", 0.0)
    if p < LEADS:
        return []
    i = ranker.book.position[leading]
    found = []
    for question in questions:
        for id_ in question.findings:
            finding = ranker.book.kb.findings[id_]
            if finding.form == "measure" or seen.known(id_) is not None:
                continue  # a number is measured, not looked for
            rates = ranker.book.rates(finding, ranking.context)
            for v, value in enumerate(finding.value_ids):
                gap = float(rates.single[i, v] - rates.background[v])
                if value != finding.normal and gap >= TELLING:
                    found.append((-gap, question.id, Look(question.id, id_, value)))
    best: dict[str, Look] = {}
    for _, id_, look in sorted(found, key=lambda row: row[:2]):
        best.setdefault(id_, look)
    return list(best.values())[:MOST]
