"""Which question to ask next: mutual information with the hypotheses, per effort.

Scored over all single causes, "not in the book", and the pairs among the leading causes, weighted
by their posterior. Rules are not simulated. A tick list's gain is exact over all patterns of
ticks; the sum of its single gains bounds it from above, so lists are worked out only until that
bound falls below the best so far. Unit: nat.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.kb.model import Finding, Question, Test
from diagnose.reasoning.likelihood import Array, Index, links
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.rank import Ranking
from diagnose.reasoning.report import said
from diagnose.reasoning.settings import Settings


@dataclass(frozen=True, slots=True)
class Gain:
    """What asking is worth: `gain` in nat, `per_effort` what questions are compared by."""

    id: str
    gain: float
    per_effort: float


def information(weights: Array, answers: Array) -> float:
    """Mutual information between hypotheses and answers.

    Args:
        weights: P(h), shape (hypotheses,), summing to 1.
        answers: P(answer | h), shape (hypotheses, answers), rows summing to 1.

    Returns:
        The expected fall in entropy of the hypotheses, in nat, never below 0.

    >>> round(information(np.array([0.5, 0.5]), np.array([[1.0, 0.0], [0.0, 1.0]])), 4)
    0.6931
    """
    mean = weights @ answers
    return max(0.0, float(_entropy(mean) - weights @ _entropy_rows(answers)))


def _entropy(p: Array) -> float:
    p = p[p > 0]
    return float(-(p * np.log(p)).sum())


def _entropy_rows(p: Array) -> Array:
    rows: Array = -(p * np.log(np.maximum(p, 1e-300))).sum(axis=-1)
    return rows


def answer_table(finding: Finding, phone: bool, settings: Settings) -> Array:
    """P(answer | true value): shape (values, answers), rows summing to 1."""
    if finding.form == "tick":
        present, absent = settings.ticked
        return np.array([[present, 1 - present], [absent, 1 - absent]])
    columns = [
        said(finding, v, phone=phone, settings=settings).likelihood for v in finding.value_ids
    ]
    table = np.array(columns).T
    result: Array = table / table.sum(axis=1, keepdims=True)
    return result


class Scorer:
    """Scores questions and tests at one point of a case."""

    def __init__(self, ranking: Ranking, seen: Observations, *, phone: bool = False) -> None:
        book = ranking.book
        self.book, self.seen, self.phone = book, seen, phone
        self.context = ranking.context
        self.settings = book.settings
        n = len(book.causes)
        leading = np.zeros(n, dtype=bool)
        leading[np.argsort(-ranking.present, kind="stable")[: self.settings.leaders]] = True
        kept = np.flatnonzero(leading[book.first] & leading[book.second])
        self.first: Index = book.first[kept]
        self.second: Index = book.second[kept]
        weights = np.concatenate([ranking.posterior[: n + 1], ranking.posterior[n + 1 :][kept]])
        self.weights: Array = weights / weights.sum()
        answered = seen.informative()
        self.damped: set[str] = set()
        for members in book.kb.groups.values():
            if any(f in answered for f in members):
                self.damped.update(f for f in members if f not in answered)

    def rates(self, finding: Finding) -> Array:
        """P(value | h) over the scored hypotheses."""
        rates = self.book.rates(finding, self.context)
        doubles = rates.pairs(self.first, self.second)
        return np.vstack([rates.unlisted(self.book.common), rates.single, doubles])

    def single(self, findings: Sequence[Finding]) -> dict[str, float]:
        """Gain of each finding asked by itself, group members damped."""
        binary = [f for f in findings if f.form == "tick"]
        result = dict(zip((f.id for f in binary), self._ticks(binary), strict=True))
        for finding in findings:
            if finding.form != "tick":
                table = answer_table(finding, self.phone, self.settings)
                result[finding.id] = information(self.weights, self.rates(finding) @ table)
        for id_ in self.damped.intersection(result):
            result[id_] *= self.settings.group_power
        return result

    def _ticks(self, findings: Sequence[Finding]) -> list[float]:
        """Gains of many tick findings in one sweep."""
        if not findings:
            return []
        present = self.ticked_rates(findings)
        both = np.stack([present, 1.0 - present])  # (2, findings, hypotheses)
        mean = both @ self.weights  # (2, findings)
        noise = -(both * np.log(both)).sum(axis=0) @ self.weights
        gains = -(mean * np.log(mean)).sum(axis=0) - noise
        return [max(0.0, float(g)) for g in gains]

    def ticked_rates(self, findings: Sequence[Finding]) -> Array:
        """P(ticked | h): shape (findings, hypotheses)."""
        rates = [self.book.rates(f, self.context) for f in findings]
        single = np.stack([r.single[:, 0] for r in rates])
        stated = np.stack([r.stated for r in rates])
        background = np.array([r.background[0] for r in rates])
        pair = [links(s, float(b), t) for s, b, t in zip(single, background, stated, strict=True)]
        link = np.stack([p[0] for p in pair])
        inhibitor = np.stack([p[1] for p in pair])
        i, j = self.first, self.second
        doubles = 1.0 - (1.0 - background[:, None] * inhibitor[:, i] * inhibitor[:, j]) * (
            1.0 - link[:, i]
        ) * (1.0 - link[:, j])
        unlisted = 0.5 * background + 0.5 * (single @ self.book.common)
        present = np.concatenate([unlisted[:, None], single, doubles], axis=1)
        hit, false = self.settings.ticked
        return present * hit + (1.0 - present) * false

    def joint(self, findings: Sequence[Finding]) -> float:
        """Exact gain of a tick list asked as a whole, over all its 2^k patterns."""
        patterns = np.ones((len(self.weights), 1))
        for row in self.ticked_rates(findings):
            both = np.stack([row, 1.0 - row], axis=1)  # (hypotheses, 2)
            patterns = (patterns[:, :, None] * both[:, None, :]).reshape(len(row), -1)
        return information(self.weights, patterns)

    def best(
        self,
        questions: Iterable[Question],
        *,
        doubts: Mapping[str, int] | None = None,
        also: Mapping[str, Collection[str]] | None = None,
    ) -> list[Gain]:
        """Rank questions by gain per effort; the first is exact, later ones may be bounds.

        Args:
            questions: those that may be asked now.
            doubts: how many don't-knows were given per need; each halves the gain.
            also: derived findings a question settles; it is scored by the best of them.
        """
        kb = self.book.kb
        pool = {q.id: [kb.findings[f] for f in q.findings] for q in questions}
        by_id = {q.id: q for q in questions}
        for id_, derived in (also or {}).items():
            if id_ in pool:
                pool[id_] = [kb.findings[f] for f in derived]
        answered = self.seen.informative()
        pool = {q: [f for f in fs if f.id not in answered] for q, fs in pool.items()}
        flat = {f.id: f for fs in pool.values() for f in fs}
        singles = self.single(list(flat.values()))
        bounds = []
        for id_, findings in pool.items():
            gains = [singles[f.id] for f in findings]
            tick = by_id[id_].form == "tick"
            bound = sum(gains) if tick else max(gains, default=0.0)
            bounds.append((bound * self._factor(by_id[id_], doubts), id_, bound))
        bounds.sort(key=lambda row: (-row[0], row[1]))
        result: list[Gain] = []
        best = 0.0
        for scaled, id_, bound in bounds:
            question, findings = by_id[id_], pool[id_]
            gain = bound
            if question.form == "tick" and len(findings) > 1 and scaled >= best and bound > 0:
                plain = sum(
                    singles[f.id] / (self.settings.group_power if f.id in self.damped else 1.0)
                    for f in findings
                )
                gain = self.joint(findings) * (bound / plain if plain else 0.0)
            per_effort = gain * self._factor(question, doubts)
            best = max(best, per_effort)
            result.append(Gain(id_, gain, per_effort))
        return sorted(result, key=lambda g: (-g.per_effort, g.id))

    def _factor(self, question: Question, doubts: Mapping[str, int] | None) -> float:
        halvings = sum((doubts or {}).get(need, 0) for need in question.needs)
        return float(0.5**halvings / question.effort)

    def tests(self, tests: Iterable[Test]) -> list[Gain]:
        """Rank tests by gain per effort; a laboratory costs as much as four efforts more."""
        cost = {"free": 0, "cheap": 1, "moderate": 2, "laboratory": 4}
        result = []
        for test in tests:
            if test.id in self.seen.reports:
                continue
            gain = information(self.weights, self.rates(self.book.kb.findings[test.id]))
            result.append(Gain(test.id, gain, gain / (test.effort + cost[test.cost])))
        return sorted(result, key=lambda g: (-g.per_effort, g.id))
