"""A group: one member counts in full, the others ^ .3; a sign seen comes before one missing."""

from __future__ import annotations

from math import log

import pytest

from diagnose.kb.model import Knowledge
from diagnose.reasoning import demo
from diagnose.reasoning.book import Book
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.question import Scorer
from diagnose.reasoning.rank import Ranker, powers
from diagnose.reasoning.report import Report, dont_know, not_ticked, said
from diagnose.reasoning.settings import Settings

SETTINGS = Settings(unlisted=0.12, pairs=0.0, group_power=0.3)
# One finding, present, usually against background: (.85 x .95 + .15 x .05) / (.1 x .95 + .9 x .05)
RATIO = log((0.85 * 0.95 + 0.15 * 0.05) / (0.1 * 0.95 + 0.9 * 0.05))


def book(groups: dict[str, tuple[str, ...]]) -> Knowledge:
    findings = [demo.yes_no(f, 0.1) for f in ("x", "y", "z")]
    usually = {(f, "present"): "usually" for f in ("x", "y", "z")}
    return demo.book(findings, [demo.cause("a", usually), demo.cause("b", {})], groups)


def log_odds(kb: Knowledge, told: list[Report]) -> float:
    """Log odds of cause a, that shows all three, against cause b, that shows none."""
    seen = Observations({r.finding: r for r in told})
    ranking = Ranker(Book(kb, SETTINGS)).rank(seen)
    return log(ranking.probability("a") / ranking.probability("b"))


def present(kb: Knowledge, *findings: str) -> list[Report]:
    return [said(kb.findings[f], "present", settings=Settings()) for f in findings]


@pytest.mark.parametrize(
    ("answered", "counts"),
    [(("x",), 1.0), (("x", "y"), 1.3), (("x", "y", "z"), 1.6), (("y", "z"), 1.3), (("z",), 1.0)],
)
def test_members_after_the_first_count_three_tenths(
    answered: tuple[str, ...], counts: float
) -> None:
    kb = book({"g": ("x", "y", "z")})
    assert log_odds(kb, present(kb, *answered)) == pytest.approx(counts * RATIO, abs=1e-12)


def test_findings_outside_any_group_count_in_full() -> None:
    kb = book({})
    assert log_odds(kb, present(kb, "x", "y", "z")) == pytest.approx(3 * RATIO, abs=1e-12)


def test_the_groups_order_decides_whichever_was_asked_first() -> None:
    kb = book({"g": ("z", "x", "y")})
    told = {r.finding: r for r in present(kb, "x", "y", "z")}
    assert powers(Book(kb, SETTINGS), told) == {"z": 1.0, "x": 0.3, "y": 0.3}
    backwards = dict(reversed(told.items()))
    assert powers(Book(kb, SETTINGS), backwards) == {"z": 1.0, "x": 0.3, "y": 0.3}


def test_a_sign_seen_counts_in_full_before_one_absent_or_left_empty() -> None:
    kb = book({"g": ("x", "y", "z")})
    f = kb.findings
    told = {
        "x": not_ticked(f["x"], looked=False),
        "y": said(f["y"], "absent"),
        "z": said(f["z"], "present"),
    }
    assert powers(Book(kb, SETTINGS), told) == {"z": 1.0, "x": 0.3, "y": 0.3}
    del told["z"]
    assert powers(Book(kb, SETTINGS), told) == {"y": 1.0, "x": 0.3}


def test_a_dont_know_does_not_take_the_first_place() -> None:
    kb = book({"g": ("x", "y", "z")})
    told = [dont_know(kb.findings["x"]), *present(kb, "y", "z")]
    assert log_odds(kb, told) == pytest.approx(1.3 * RATIO, abs=1e-12)


def test_a_member_of_an_answered_group_is_worth_three_tenths_of_its_gain() -> None:
    grouped, free = book({"g": ("x", "y")}), book({})
    gains = []
    for kb in (grouped, free):
        seen = Observations({r.finding: r for r in present(kb, "x")})
        scorer = Scorer(Ranker(Book(kb, SETTINGS)).rank(seen), seen)
        gains.append(scorer.single([kb.findings["y"], kb.findings["z"]]))
    assert gains[0]["y"] == pytest.approx(0.3 * gains[1]["y"], abs=1e-12)
    assert gains[0]["z"] == pytest.approx(gains[1]["z"], abs=1e-12)
    assert gains[1]["y"] > 0.01


def test_no_member_is_damped_before_the_group_is_answered() -> None:
    kb = book({"g": ("x", "y")})
    scorer = Scorer(Ranker(Book(kb, SETTINGS)).rank(Observations()), Observations())
    assert scorer.damped == set()
