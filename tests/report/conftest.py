from __future__ import annotations

import pytest
from report_cases import Made, told

from diagnose.kb.load import load
from diagnose.kb.model import Knowledge
from diagnose.reasoning.book import Book
from diagnose.reasoning.rank import Ranker
from diagnose.report.document import build


@pytest.fixture(scope="session")
def kb() -> Knowledge:
    return load()


@pytest.fixture(scope="session")
def ranker(kb: Knowledge) -> Ranker:
    return Ranker(Book(kb))


@pytest.fixture(scope="session")
def made(kb: Knowledge, ranker: Ranker) -> list[Made]:
    """The first example of every cause; all of them would take a minute longer and say no more."""
    return [
        Made(f"{cause.id}: {example.name}", session, build(session, reason="clear"))
        for cause in kb.causes.values()
        for example in cause.examples[:1]
        for session in [told(ranker, example.answers)]
    ]
