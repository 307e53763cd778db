"""Rules: fire only when true; unknown never counts as no; each factor falls on its cause."""

from __future__ import annotations

from dataclasses import replace
from math import exp, log
from typing import Any

import pytest

from diagnose.kb.condition import condition_from
from diagnose.kb.model import Knowledge, Rule
from diagnose.reasoning import demo
from diagnose.reasoning.book import Book
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.rank import Ranker
from diagnose.reasoning.report import Report, dont_know, not_ticked, said, ticked

YES = {"finding": "yes", "is": "present"}
NO = {"finding": "no", "is": "present"}
OPEN = {"finding": "open", "is": "present"}
FACTS = {"yes": ("present", None), "no": ("absent", None), "ec": ("band1", 2.0)}


@pytest.mark.parametrize(
    ("raw", "truth"),
    [
        (YES, True),
        (NO, False),
        (OPEN, None),
        ({"finding": "yes", "is": ["absent", "present"]}, True),
        ({"not": YES}, False),
        ({"not": NO}, True),
        ({"not": OPEN}, None),
        ({"all": [YES, YES]}, True),
        ({"all": [YES, OPEN]}, None),
        ({"all": [NO, OPEN]}, False),  # no answer to the open one could make it true
        ({"any": [NO, NO]}, False),
        ({"any": [NO, OPEN]}, None),
        ({"any": [YES, OPEN]}, True),
        ({"at_least": {"count": 2, "of": [YES, YES, OPEN]}}, True),
        ({"at_least": {"count": 2, "of": [YES, NO, OPEN]}}, None),
        ({"at_least": {"count": 2, "of": [NO, NO, OPEN]}}, False),
        ({"finding": "ec", "above": 1.5}, True),
        ({"finding": "ec", "above": 2.0}, False),
        ({"finding": "ec", "below": 2.5}, True),
        ({"finding": "yes", "above": 1.0}, None),  # known, but no number with it
        ({"finding": "open", "below": 1.0}, None),
    ],
)
def test_conditions_are_true_false_or_open(raw: dict[str, Any], truth: bool | None) -> None:
    assert condition_from(raw).holds(FACTS.get) is truth


def book(*rules: tuple[str, dict[str, Any]]) -> Knowledge:
    findings = [demo.yes_no("x", 0.2), demo.measured("ec", [1.0, 3.0])]
    a, b = demo.cause("a", {}), demo.cause("b", {})
    made = tuple(Rule(f"r{i}", condition_from(w), e, "") for i, (e, w) in enumerate(rules))  # type: ignore[arg-type]
    return demo.book(findings, [replace(a, rules=made), b])


def factors(kb: Knowledge, report: Report) -> tuple[float, float, float]:
    """What the rules did to the odds of a, b and a with b, each against "not in the book"."""
    seen = Observations({report.finding: report})
    plain = replace(kb, causes={c: replace(v, rules=()) for c, v in kb.causes.items()})
    after, before = (Ranker(Book(k)).rank(seen).posterior for k in (kb, plain))
    changed = [exp(log(after[h] / after[0]) - log(before[h] / before[0])) for h in (1, 2, 3)]
    return changed[0], changed[1], changed[2]


X = {"finding": "x", "is": "present"}


@pytest.mark.parametrize(
    ("effect", "factor"),
    # the reasoning section of DEVELOPERS.md
    [
        ("rules_out", 0.001),
        ("strongly_against", 0.1),
        ("against", 1 / 3),
        ("for", 3.0),
        ("strongly_for", 10.0),
    ],
)
def test_a_rule_multiplies_its_cause_alone_and_in_pairs(effect: str, factor: float) -> None:
    kb = book((effect, X))
    expected = pytest.approx((factor, 1.0, factor), rel=1e-9)
    assert factors(kb, ticked(kb.findings["x"])) == expected


def test_two_rules_multiply_but_two_exclusions_count_once() -> None:
    kb = book(("for", X), ("against", X), ("strongly_for", X))
    assert factors(kb, ticked(kb.findings["x"]))[0] == pytest.approx(10.0, rel=1e-9)
    kb = book(("rules_out", X), ("rules_out", {"not": {"finding": "x", "is": "absent"}}))
    assert factors(kb, ticked(kb.findings["x"]))[0] == pytest.approx(0.001, rel=1e-9)


@pytest.mark.parametrize("when", [{"finding": "x", "is": "absent"}, {"not": X}])
def test_an_absence_counts_only_when_looked_for(when: dict[str, Any]) -> None:
    kb = book(("rules_out", when))
    x = kb.findings["x"]
    assert factors(kb, not_ticked(x, looked=False))[0] == pytest.approx(1.0, rel=1e-9)
    assert factors(kb, dont_know(x))[0] == pytest.approx(1.0, rel=1e-9)
    assert factors(kb, not_ticked(x, looked=True))[0] == pytest.approx(0.001, rel=1e-9)
    assert factors(kb, said(x, "absent"))[0] == pytest.approx(0.001, rel=1e-9)


def test_a_value_nobody_spoke_is_not_heard() -> None:
    kb = book(("for", X))
    guessed = Report("x", (0.9, 0.1), "present", spoken=False)
    assert factors(kb, guessed)[0] == pytest.approx(1.0, rel=1e-9)


def test_a_measured_number_is_read_by_rules() -> None:
    kb = book(("for", {"finding": "ec", "above": 2.0}))
    ec = kb.findings["ec"]
    assert factors(kb, said(ec, "band1", number=2.1))[0] == pytest.approx(3.0, rel=1e-9)
    assert factors(kb, said(ec, "band1", number=1.9))[0] == pytest.approx(1.0, rel=1e-9)


def test_every_fired_rule_is_shown_and_no_other() -> None:
    kb = book(("rules_out", X), ("rules_out", X), ("for", {"finding": "ec", "above": 2.0}))
    ranking = Ranker(Book(kb)).rank(Observations({"x": ticked(kb.findings["x"])}))
    assert [(f.cause, f.rule.id) for f in ranking.fired] == [("a", "r0"), ("a", "r1")]
