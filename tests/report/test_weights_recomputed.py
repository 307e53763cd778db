"""A stated weight is logit P with all answers minus logit P without that one, ranked from scratch.

"From scratch": a new ranker over the same book, which has met none of the reports.
"""

from __future__ import annotations

from dataclasses import replace

from report_cases import Made

from diagnose.kb.model import Knowledge
from diagnose.reasoning.book import Book
from diagnose.reasoning.explain import CROPS, STORY, logit
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.rank import Ranker

CLOSE = 1e-3


def forgetting(seen: Observations, finding: str) -> Observations:
    """What is known without the crops, the story, or the answer on one finding."""
    if finding == CROPS:
        return replace(seen, crops={})
    return replace(seen, story="") if finding == STORY else seen.without(finding)


def off_by(made: list[Made], kb: Knowledge, *, shifting: bool) -> list[str]:
    """Weights that are off, among answers that shift the rates of others or among all the rest.

    Backgrounds may vary by season, place or stage, and some rows hold for certain crops only: to
    forget such an answer changes what the others say.
    """
    varying = {f.background.vary_by for f in kb.findings.values()} | {CROPS}
    ranker, wrong, seen_any = Ranker(Book(kb)), [], False
    for m in made:
        seen, ranking = m.session.observations(), m.session.ranking()
        for cause in m.document["causes"]:
            for reason in (*cause.get("for", ()), *cause.get("against", ())):
                finding = reason["finding"]
                if (finding in varying) != shifting:
                    continue
                seen_any = True
                less = forgetting(seen, finding)
                without = ranker.rank(less).probability(cause["id"])
                weight = logit(ranking.probability(cause["id"])) - logit(without)
                if abs(weight - reason["weight"]) > CLOSE:
                    wrong.append(f"{m.name}, {cause['id']}: {finding} {reason['weight']}, {weight}")
    assert seen_any
    return wrong


def test_weights_are_what_forgetting_the_answer_takes_away(made: list[Made], kb: Knowledge) -> None:
    assert off_by(made, kb, shifting=False) == []


def test_weights_of_season_and_crops_too(made: list[Made], kb: Knowledge) -> None:
    assert off_by(made, kb, shifting=True) == []
