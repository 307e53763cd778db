"""The tests named next: what each result would change is what it does change."""

from __future__ import annotations

from copy import copy

import pytest
from report_cases import Made

from diagnose.interview.session import Session
from diagnose.kb.model import Knowledge


def with_result(session: Session, test: str, result: str) -> Session:
    after = Session(session.ranker, session.phone, copy(session.answers), list(session.skipped))
    after.apply(after.read(test, result))
    return after


def test_ranking_shown_for_a_result_is_the_ranking_with_it(made: list[Made]) -> None:
    tried = 0
    for m in made:
        for test in m.document["tests"]:
            for outcome in test["outcomes"]:
                after = with_result(m.session, test["id"], outcome["result"]).ranking()
                shown = [(x["id"], x["probability"]) for x in outcome["leaders"]]
                real = [(c, round(p, 6)) for c, p in after.leaders(3)]
                assert shown == real, f"{m.name}: {test['id']}={outcome['result']}"
                kind, p = after.kind_leaders()[0]
                assert outcome["kind"]["name"] == after.book.kb.kinds[kind].name
                assert outcome["kind"]["probability"] == round(p, 6)
                tried += 1
    assert tried > 100


def test_chances_of_the_results_add_up_to_one(made: list[Made]) -> None:
    for m in made:
        for test in m.document["tests"]:
            assert sum(o["chance"] for o in test["outcomes"]) == pytest.approx(1, abs=1e-4)


def test_a_likely_cause_comes_with_the_tests_that_prove_it(made: list[Made], kb: Knowledge) -> None:
    likely = [m for m in made if m.document["verdict"]["state"] == "likely"]
    assert likely
    for m in likely:
        wanted = list(kb.causes[m.document["verdict"]["causes"][0]].confirm)
        named = [t["id"] for t in m.document["tests"]]
        fitting = [t for t in wanted if t in named]
        assert named[: len(fitting)] == fitting, m.name


def test_to_settle_it_is_only_said_of_a_test_that_can(made: list[Made], kb: Knowledge) -> None:
    for m in made:
        said = m.document["verdict"]
        if "To settle it" not in said["text"]:
            continue
        test = kb.tests[m.document["tests"][0]["id"]]
        assert test.settles, m.name
        kind = {c.id for c in kb.causes.values() if c.kind == said["kind"]}
        named = kind if said["state"] == "kind_only" else set(said["causes"])
        normal = kb.findings[test.id].normal
        assert any(
            row.finding == test.id and row.value != normal
            for cause in named
            for row in kb.causes[cause].evidence
        ), m.name


def test_nothing_is_left_to_test_once_settled(made: list[Made]) -> None:
    settled = [m for m in made if m.document["verdict"]["state"] == "settled"]
    assert settled
    assert all(m.document["tests"] == [] for m in settled)
