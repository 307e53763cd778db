"""The shipped knowledge, tested from its own data: every cause, every example, every pair.

The counts are what the project promises; the rules for one cause are those of `diagnose kb check`.
"""

from __future__ import annotations

from functools import cache

import pytest

from diagnose.curate.checks.evidence import ENOUGH_ROWS, ENOUGH_SOURCES, read_publishers
from diagnose.curate.checks.lookalikes import ENOUGH, pairs, separating
from diagnose.curate.coverage import counting
from diagnose.curate.examples import Outcome, run_examples
from diagnose.curate.run import check_knowledge
from diagnose.kb.load import load
from diagnose.kb.locate import knowledge_root
from diagnose.kb.model import Cause

KB = load()
CAUSES = list(KB.causes.values())
PAIRS = pairs(KB)

every_cause = pytest.mark.parametrize("cause", CAUSES, ids=[c.id for c in CAUSES])


@cache
def outcomes() -> list[Outcome]:
    return run_examples(KB)


# --- each cause -----------------------------------------------------------------------------------


@every_cause
def test_cause_has_enough_evidence(cause: Cause) -> None:
    assert ENOUGH_ROWS >= 8
    assert len(cause.evidence) >= ENOUGH_ROWS


@every_cause
def test_evidence_rests_on_two_publishers_that_were_read(cause: Cause) -> None:
    assert ENOUGH_SOURCES >= 2
    assert len(read_publishers(cause, KB)) >= ENOUGH_SOURCES


@every_cause
def test_cause_has_a_case_to_win_and_a_near_miss_to_lose(cause: Cause) -> None:
    assert any(example.expect == "first" for example in cause.examples)
    assert any(example.beaten_by for example in cause.examples)


@pytest.mark.parametrize(
    ("cause", "index"),
    [(c.id, i) for c in CAUSES for i in range(len(c.examples))],
    ids=[f"{c.id}-{i}" for c in CAUSES for i in range(len(c.examples))],
)
def test_example_is_borne_out(cause: str, index: int) -> None:
    outcome = next(o for o in outcomes() if (o.cause, o.index) == (cause, index))
    assert outcome.passed, f"{outcome.example.name}: {outcome.told or outcome.error}"


@every_cause
def test_near_miss_is_lost_to_a_cause_of_the_book(cause: Cause) -> None:
    for example in cause.examples:
        assert not example.beaten_by or example.beaten_by in KB.causes


@every_cause
def test_cause_has_lookalikes_in_the_book(cause: Cause) -> None:
    assert cause.lookalikes
    assert all(x.cause in KB.causes and x.tell_apart for x in cause.lookalikes)


@pytest.mark.parametrize(("first", "second"), PAIRS, ids=[f"{a}-{b}" for a, b in PAIRS])
def test_lookalikes_are_told_apart_by_two_findings(first: str, second: str) -> None:
    assert ENOUGH >= 2
    found = separating(KB.causes[first], KB.causes[second], KB)
    assert len(found) >= ENOUGH, f"only {found}"


@every_cause
def test_cause_says_what_to_expect_and_what_to_do_now(cause: Cause) -> None:
    assert cause.prospects
    assert cause.actions.get("now")
    assert all(test in KB.tests for test in cause.confirm)


# --- the whole book -------------------------------------------------------------------------------


def test_book_holds_what_it_promises() -> None:
    right = {c.id: [o.passed for o in outcomes() if o.cause == c.id] for c in CAUSES}
    graded = [crop for crop in KB.crops.values() if crop.sensitivity]
    assert sum(counting(cause, KB, all(right[cause.id])) for cause in CAUSES) >= 115
    assert len(KB.findings) >= 230
    assert len(graded) >= 60
    assert len(KB.inputs) >= 30
    assert len(KB.substances) >= 25
    assert len(KB.tests) >= 45
    assert len(KB.actions) >= 70
    assert len(KB.cautions) >= 30


def test_three_rows_in_four_rest_on_a_source_that_was_read() -> None:
    rows = [row for cause in CAUSES for row in cause.evidence]
    assert sum(not row.cited.from_memory for row in rows) >= 0.75 * len(rows)


def test_check_command_finds_no_error_and_no_warning() -> None:
    faults = [str(f) for f in check_knowledge(knowledge_root(None)) if f.level != "note"]
    assert faults == []


# --- what is offered ------------------------------------------------------------------------------


def test_every_chosen_question_says_what_it_is_about() -> None:
    opening = {id_ for part in KB.opening for id_ in part.questions}
    for question in KB.questions.values():
        assert question.id in opening or question.about != question.text, question.id
