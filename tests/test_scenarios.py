"""Whole cases, generated from tests/scenarios/*.yaml: told apart, and compost that did nothing.

Told apart: residue in something added, spray drift and a virus on the same twisted plants. Innocent
compost: nearly everyone uses compost or bought mix, so it must not be blamed for salt, ammonium,
lime, cold or a virus; those cases follow published descriptions, each named in the file.
"""

from __future__ import annotations

from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from diagnose.interview.offer import Offer
from diagnose.interview.session import Session
from diagnose.interview.step import Done
from diagnose.kb import strictyaml
from diagnose.kb.load import load
from diagnose.reasoning.book import Book
from diagnose.reasoning.explain import weights
from diagnose.reasoning.likelihood import Context
from diagnose.reasoning.rank import Ranker
from diagnose.reasoning.verdict import verdict

SCENARIOS = Path(__file__).parent / "scenarios"
APART: dict[str, Any] = strictyaml.read(SCENARIOS / "told_apart.yaml").value
INNOCENT: list[dict[str, Any]] = strictyaml.read(SCENARIOS / "innocent_compost.yaml").value["cases"]
GROUPS: list[dict[str, Any]] = APART["groups"]
RESIDUE = ("residue_in_input", "residue_in_ground")
CLEAR_GAP = 0.3
# Three answers name the kind surely; within it ten ways in, or sixteen viruses, share the leaf.
SURE, FIRST = 0.75, 0.5
BLAMED = 0.3

by_group = pytest.mark.parametrize("group", GROUPS, ids=[g["id"] for g in GROUPS])
by_case = pytest.mark.parametrize(
    ("group", "cause"),
    [(g, c) for g in GROUPS for c in g["causes"]],
    ids=[f"{g['id']}-{c}" for g in GROUPS for c in g["causes"]],
)
innocent = pytest.mark.parametrize("case", INNOCENT, ids=[c["id"] for c in INNOCENT])


@pytest.fixture(scope="module")
def ranker() -> Ranker:
    return Ranker(Book(load()))


def told(ranker: Ranker, *parts: dict[str, Any]) -> Session:
    session = Session(ranker)
    for part in parts:
        for id_, raw in part.items():
            session.apply(session.read(id_, raw))
    return session


def asked_next(session: Session, count: int) -> list[str]:
    """The next questions the interview chooses, each answered with "don't know"."""
    chosen: list[str] = []
    while len(chosen) < count and not isinstance(step := session.next_step(), Done):
        if isinstance(step, Offer):
            session.pick(step.id, step.taking())
            continue
        if not step.total:
            chosen.append(step.question.id)
        session.apply(session.read(step.question.id, None))
    return chosen


def pairs_apart(ranker: Ranker, question: str, causes: list[str]) -> set[tuple[str, str]]:
    """Pairs of causes whose rates differ by .3 or more on some finding of a question."""
    book = ranker.book
    apart = set()
    for id_ in book.kb.questions[question].findings:
        rates = book.rates(book.kb.findings[id_], Context()).single
        for pair in combinations(causes, 2):
            first, second = (rates[book.position[cause]] for cause in pair)
            if abs(first - second).max() >= CLEAR_GAP:
                apart.add(pair)
    return apart


def separators(ranker: Ranker, causes: list[str]) -> set[str]:
    """Questions that set one of three causes apart from both others."""
    return {q for q in ranker.book.kb.questions if len(pairs_apart(ranker, q, causes)) >= 2}


# --- residue, drift and virus told apart ----------------------------------------------------------


@by_group
def test_cases_of_a_group_differ_in_two_or_three_answers(group: dict[str, Any]) -> None:
    for first, second in combinations(group["causes"], 2):
        one, other = group["telling"][first], group["telling"][second]
        assert one.keys() == other.keys()
        assert 2 <= sum(one[q] != other[q] for q in one) <= 3


@by_case
def test_telling_answers_put_the_cause_first(
    ranker: Ranker, group: dict[str, Any], cause: str
) -> None:
    session = told(ranker, group["opening"], group["same"], group["telling"][cause])
    ranking = session.ranking()
    first, probability = ranking.leaders(1)[0]
    assert first == cause
    assert probability >= FIRST
    assert ranking.kinds[ranker.book.kb.causes[cause].kind] >= SURE


@by_group
def test_nothing_is_sure_before_the_telling_answers(ranker: Ranker, group: dict[str, Any]) -> None:
    ranking = told(ranker, group["opening"]).ranking()
    assert all(ranking.probability(cause) < SURE for cause in group["causes"])


@by_group
def test_interview_soon_asks_what_separates_them(ranker: Ranker, group: dict[str, Any]) -> None:
    telling = separators(ranker, group["causes"])
    assert len(telling) < len(ranker.book.kb.questions) / 2  # or any question would do
    chosen = asked_next(told(ranker, group["opening"]), 3)
    assert telling.intersection(chosen), f"asked {chosen}"


@by_group
def test_route_unknown_names_the_kind_and_no_virus(ranker: Ranker, group: dict[str, Any]) -> None:
    session = told(ranker, group["opening"], APART["route_unknown"]["signs"])
    seen, ranking = session.observations(), session.ranking()
    said = verdict(ranking, seen, weights(ranker, seen, ranking))
    assert (said.state, said.kind) == ("kind_only", "hormone_herbicide")
    assert ranking.kinds["virus"] < 0.05


@by_group
def test_route_is_asked_once_the_leaves_have_spoken(ranker: Ranker, group: dict[str, Any]) -> None:
    routes = APART["route_unknown"]["routes"]
    chosen = asked_next(told(ranker, group["opening"], APART["route_unknown"]["signs"]), 3)
    assert any(pairs_apart(ranker, q, routes) for q in chosen), f"asked {chosen}"


# --- innocent compost -----------------------------------------------------------------------------


def test_there_are_ten_cases_of_innocent_compost() -> None:
    assert len(INNOCENT) >= 10


@innocent
def test_compost_or_bought_mix_was_in_use(ranker: Ranker, case: dict[str, Any]) -> None:
    known = told(ranker, case["answers"]).observations().known
    used = ("organic_input_used", "bought_mix_used", "bought_compost_used")
    assert any(known(finding) == ("present", None) for finding in used)


@innocent
def test_every_case_names_its_source(ranker: Ranker, case: dict[str, Any]) -> None:
    assert case["source"]
    for source in case["source"]:
        assert source.startswith("https://") or source in ranker.book.kb.sources


@innocent
def test_compost_is_not_blamed(ranker: Ranker, case: dict[str, Any]) -> None:
    ranking = told(ranker, case["answers"]).ranking()
    assert sum(ranking.probability(cause) for cause in RESIDUE) < BLAMED


@innocent
def test_true_cause_leads(ranker: Ranker, case: dict[str, Any]) -> None:
    leaders = told(ranker, case["answers"]).ranking().leaders(3)
    assert leaders[0][0] in case["expect"], f"ranked {leaders}"
