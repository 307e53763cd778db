"""The small forms that keep 10 times the knowledge quick say the same as working all of it out.

The long way here: every hypothesis, one by one, in plain loops over the book's rates.
"""

from __future__ import annotations

from itertools import pairwise
from math import log

import numpy as np
import pytest

from diagnose.kb.model import Finding, Knowledge
from diagnose.reasoning import demo
from diagnose.reasoning.book import Book
from diagnose.reasoning.likelihood import Context
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.question import Scorer, answer_table, information
from diagnose.reasoning.rank import Ranker
from diagnose.reasoning.report import not_ticked, said, ticked
from diagnose.reasoning.settings import Settings

WORDS = ("always", "usually", "often", "sometimes", "rarely", "never")


def random_book(seed: int, spoken: float) -> Knowledge:
    """14 causes, 12 ticked findings, 8 choices; each row is there with the chance `spoken`."""
    random = np.random.default_rng(seed)
    findings: list[Finding] = [
        demo.yes_no(f"t{i}", float(random.uniform(0.02, 0.6))) for i in range(12)
    ]
    for i in range(8):
        shares = random.dirichlet(np.ones(2 + i % 3) * 3)
        background = {f"v{v}": float(p) for v, p in enumerate(shares)}
        findings.append(demo.choice(f"c{i}", background, "v0" if i % 2 else ""))
    causes = []
    for c in range(14):
        rates = {
            (f.id, f.value_ids[int(random.integers(len(f.values)))]): str(random.choice(WORDS))
            for f in findings
            if random.random() < spoken
        }
        causes.append(demo.cause(f"cause{c}", rates, f"kind{c % 9}"))
    return demo.book(findings, causes, {"g": ("t1", "t0", "c1")})


def answers(kb: Knowledge) -> Observations:
    f = kb.findings
    reports = [
        ticked(f["t0"]),
        not_ticked(f["t1"], looked=True),
        not_ticked(f["t2"], looked=False),
        said(f["c0"], "v1"),
        said(f["c1"], "v0"),
        said(f["c2"], "v1", phone=True),
    ]
    return Observations({r.finding: r for r in reports})


books = pytest.mark.parametrize(
    ("seed", "spoken", "pairs"),
    [(1, 0.1, 0.15), (2, 0.3, 0.15), (3, 1.0, 0.15), (4, 0.02, 0.15), (5, 0.3, 0.0)],
)


def long_log_posterior(book: Book, seen: Observations, powers: dict[str, float]) -> list[float]:
    """Log prior plus the powered log of sum_v L[v] P(v | h), hypothesis by hypothesis."""
    n = len(book.causes)
    result = []
    for h, prior in enumerate(book.prior):
        total = log(prior)
        for id_, power in powers.items():
            finding = book.kb.findings[id_]
            rates = book.rates(finding, Context())
            if h == 0:
                row = rates.unlisted(book.common)
            elif h <= n:
                row = rates.single[h - 1]
            else:
                at = slice(h - n - 1, h - n)
                row = rates.pairs(book.first[at], book.second[at])[0]
            weights = seen.reports[id_].likelihood
            total += power * log(sum(w * p for w, p in zip(weights, row, strict=True)))
        result.append(total)
    return result


@books
def test_the_posterior_is_that_of_every_hypothesis_worked_out(
    seed: int, spoken: float, pairs: float
) -> None:
    kb = random_book(seed, spoken)
    book = Book(kb, Settings(pairs=pairs, group_power=0.3))
    powers = {"t1": 0.3, "t0": 1.0, "c1": 0.3, "t2": 1.0, "c0": 1.0, "c2": 1.0}
    logs = np.array(long_log_posterior(book, answers(kb), powers))
    weights = np.exp(logs - logs.max())
    ranking = Ranker(book).rank(answers(kb))
    np.testing.assert_allclose(ranking.posterior, weights / weights.sum(), rtol=1e-11, atol=0)


@books
def test_the_weight_of_a_report_covers_every_hypothesis(
    seed: int, spoken: float, pairs: float
) -> None:
    kb = random_book(seed, spoken)
    book = Book(kb, Settings(pairs=pairs))
    seen = answers(kb)
    for id_, report in seen.reports.items():
        alone = np.array(long_log_posterior(book, seen, {id_: 1.0})) - np.log(book.prior)
        ours = Ranker(book).weight(report, Context())
        np.testing.assert_allclose(ours, alone, rtol=0, atol=1e-12)


@books
def test_gains_are_those_over_every_scored_hypothesis(
    seed: int, spoken: float, pairs: float
) -> None:
    kb = random_book(seed, spoken)
    book = Book(kb, Settings(pairs=pairs, leaders=6))
    seen = answers(kb)
    scorer = Scorer(Ranker(book).rank(seen), seen)
    findings = [f for f in kb.findings.values() if f.id not in seen.reports]
    ours = scorer.single(findings)
    for finding in findings:
        rates = book.rates(finding, Context())
        doubles = rates.pairs(scorer.first, scorer.second)
        rows = np.vstack([rates.unlisted(book.common), rates.single, doubles])
        long = information(scorer.weights, rows @ answer_table(finding, False, book.settings))
        assert ours[finding.id] == pytest.approx(long, rel=0, abs=1e-12)


def test_scored_pairs_are_those_among_the_leaders() -> None:
    kb = random_book(2, 0.3)
    book = Book(kb, Settings(leaders=6))
    seen = answers(kb)
    ranking = Ranker(book).rank(seen)
    scorer = Scorer(ranking, seen)
    leading = {book.position[c] for c, _ in ranking.leaders(6)}
    assert set(scorer.first.tolist()) | set(scorer.second.tolist()) <= leading
    different = {book.kb.causes[book.causes[i]].kind for i in leading}
    assert len(different) > 1
    assert len(scorer.first) == sum(
        book.kind_of[i] != book.kind_of[j] for i in leading for j in leading if i < j
    )


def test_the_joint_gain_grows_with_the_list_and_stays_below_the_sum() -> None:
    kb = random_book(2, 0.3)
    scorer = Scorer(Ranker(Book(kb)).rank(Observations()), Observations())
    ticks = [f for f in kb.findings.values() if f.form == "tick"][:6]
    gains = [scorer.joint(ticks[:k]) for k in range(1, 7)]
    assert all(shorter <= longer + 1e-12 for shorter, longer in pairwise(gains))
    assert gains[0] == pytest.approx(scorer.single(ticks[:1])[ticks[0].id], abs=1e-12)
    assert gains[-1] < sum(scorer.single(ticks).values())
