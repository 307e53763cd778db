"""A case with its result document: what reports are tried on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from diagnose.interview.session import Session
from diagnose.reasoning.rank import Ranker


@dataclass(frozen=True)
class Made:
    """A case and its document."""

    name: str
    session: Session
    document: dict[str, Any]


def told(ranker: Ranker, answers: Mapping[str, object]) -> Session:
    session = Session(ranker)
    for id_, raw in answers.items():
        session.apply(session.read(id_, raw))
    return session
