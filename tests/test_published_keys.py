"""Published diagnostic keys: what they name from their own findings must stand in the first three.

Every row of tests/data/published_keys/rows.yaml keeps what a key gives, in its own order, the
answer of the key, the causes of the book that stand for it, and the same findings as answers to
the questions, written by somebody who did not see the key's answer. Source: the key named on it.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest

from diagnose.curate.examples import rank_answers
from diagnose.kb import strictyaml
from diagnose.kb.load import load
from diagnose.reasoning.book import Book
from diagnose.reasoning.rank import Ranker

DATA = Path(__file__).parent / "data" / "published_keys" / "rows.yaml"
ROWS: list[dict[str, Any]] = strictyaml.read(DATA).value["rows"]
KB = load()
FIRST = 3
# .85 is aimed at and held
AGREEMENT = 0.85


def expected(row: dict[str, Any]) -> set[str]:
    """Causes that stand for the key's answer: by id, or every cause of a family it names."""
    families = row.get("expect_family", ())
    named = {c.id for c in KB.causes.values() if c.family in families}
    return named | set(row["expect"])


def scored(row: dict[str, Any]) -> bool:
    """Rows whose answer the book holds, and of which some finding could be asked for."""
    return bool(expected(row) and row["answers"])


SCORED = [row for row in ROWS if scored(row)]


@cache
def ranker() -> Ranker:
    return Ranker(Book(KB))


def agrees(row: dict[str, Any]) -> bool:
    """Whether one of the causes expected stands in the first three."""
    leaders = rank_answers(ranker(), row["answers"]).leaders(FIRST)
    return bool(expected(row) & {cause for cause, _ in leaders})


def test_all_rows_of_all_keys_are_here() -> None:
    assert len(ROWS) == 205
    assert len({row["key"] for row in ROWS}) == 53
    assert all(row["source"] and row["given"] and row["answer"] for row in ROWS)
    assert len(SCORED) >= 0.9 * len(ROWS)


def test_expected_causes_are_in_the_book() -> None:
    for row in ROWS:
        assert set(row["expect"]) <= set(KB.causes), row["row"]
        assert set(row.get("expect_family", ())) <= set(KB.families), row["row"]


def test_keys_agree_in_most_rows() -> None:
    agreeing = sum(agrees(row) for row in SCORED)
    assert agreeing >= AGREEMENT * len(SCORED), f"{agreeing} of {len(SCORED)}"


@pytest.mark.parametrize("row", SCORED, ids=[row["row"] for row in SCORED])
def test_row_agrees_or_says_why_not(row: dict[str, Any]) -> None:
    # `differs` says why the book or the key may be wrong; such a row must not agree in silence.
    assert agrees(row) != ("differs" in row), row.get("differs", f"expected {row['expect']}")
