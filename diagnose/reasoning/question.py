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
from numpy.typing import NDArray

from diagnose.kb.model import Finding, Question, Test
from diagnose.reasoning.book import TickRates
from diagnose.reasoning.likelihood import Array, Index
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


def _entropy_two(p: Array) -> Array:
    rows: Array = -(p * np.log(p) + (1.0 - p) * np.log(1.0 - p))
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


@dataclass(frozen=True, slots=True)
class Alike:
    """Hypotheses to score, each perhaps standing for many that say the same.

    In this order: not in the book, the causes at `singles`, the pairs of `first` and `second`.
    """

    singles: Index
    first: Index
    second: Index
    weights: Array


def _gathered(speaks: NDArray[np.bool_], weights: Array) -> tuple[Index, Array]:
    """Positions that speak, and one silent position that bears the weight of all silent ones."""
    at = np.flatnonzero(speaks)
    if len(at) == len(speaks):
        return at, weights
    silent = weights.sum() - weights[at].sum()
    return np.append(at, np.argmin(speaks)), np.append(weights[at], silent)


class Scorer:
    """Scores questions and tests at one point of a case."""

    def __init__(self, ranking: Ranking, seen: Observations, *, phone: bool = False) -> None:
        book = ranking.book
        self.book, self.seen, self.phone = book, seen, phone
        self.context = ranking.context
        self.settings = book.settings
        n = len(book.causes)
        self.leading: Index = np.argsort(-ranking.present, kind="stable")[: self.settings.leaders]
        # Place of every cause among the leaders; -1 for the others.
        self.place: Index = np.full(n, -1, dtype=np.intp)
        self.place[self.leading] = np.arange(len(self.leading))
        leads = self.place >= 0
        kept = np.flatnonzero(leads[book.first] & leads[book.second])
        self.first: Index = book.first[kept]
        self.second: Index = book.second[kept]
        weights = np.concatenate([ranking.posterior[: n + 1], ranking.posterior[n + 1 :][kept]])
        self.weights: Array = weights / weights.sum()
        answered = seen.informative()
        self.damped: set[str] = set()
        for members in book.kb.groups.values():
            if any(f in answered for f in members):
                self.damped.update(f for f in members if f not in answered)

    def alike(self, findings: Sequence[Finding]) -> Alike:
        """The scored hypotheses, those that state none of the findings taken together."""
        n = len(self.book.causes)
        stated = np.zeros(n, dtype=bool)
        for finding in findings:
            stated |= self.book.rates(finding, self.context).stated
        speaks = stated[self.first] | stated[self.second]
        singles, single_weights = _gathered(stated, self.weights[1 : n + 1])
        pairs, pair_weights = _gathered(speaks, self.weights[n + 1 :])
        weights = np.concatenate([self.weights[:1], single_weights, pair_weights])
        return Alike(singles, self.first[pairs], self.second[pairs], weights)

    def information(self, finding: Finding) -> float:
        """Gain of one finding of any form, undamped."""
        alike = self.alike([finding])
        rates = self.book.rates(finding, self.context)
        doubles = rates.pairs(alike.first, alike.second)
        unlisted = self.book.unlisted(finding, self.context)
        table = self.book.tables.get((finding.id, self.phone))
        if table is None:
            table = answer_table(finding, self.phone, self.settings)
            self.book.tables[finding.id, self.phone] = table
        rows = np.vstack([unlisted, rates.single[alike.singles], doubles])
        return information(alike.weights, rows @ table)

    def single(self, findings: Sequence[Finding]) -> dict[str, float]:
        """Gain of each finding asked by itself, group members damped."""
        binary = [f for f in findings if f.form == "tick"]
        result = dict(zip((f.id for f in binary), self._ticks(binary), strict=True))
        for finding in findings:
            if finding.form != "tick":
                result[finding.id] = self.information(finding)
        for id_ in self.damped.intersection(result):
            result[id_] *= self.settings.group_power
        return result

    def _ticks(self, findings: Sequence[Finding]) -> list[float]:
        """Gains of many tick findings in one sweep.

        Only what is stated is laid out, as rows (finding, weight, P(present)); all hypotheses that
        state nothing on a finding share its background and come in one row.
        """
        if not findings:
            return []
        n, count = len(self.book.causes), len(findings)
        every = np.arange(count)
        ticks = [self.book.ticks(f, self.context) for f in findings]
        background = np.array([t.background for t in ticks])
        at = np.repeat(every, [len(t.causes) for t in ticks])
        causes = np.concatenate([t.causes for t in ticks])
        alone = self.weights[1 : n + 1][causes]
        of_pair, pair, doubles = self._tick_pairs(ticks, at, causes, background)
        paired = self.weights[n + 1 :][pair]
        silent = self.weights[1:].sum() - np.bincount(at, alone, count)
        silent -= np.bincount(of_pair, paired, count)
        row = np.concatenate([at, of_pair, every, every])
        weight = np.concatenate([alone, paired, silent, np.full(count, self.weights[0])])
        single = np.concatenate([t.single for t in ticks])
        unlisted = np.array([t.unlisted for t in ticks])
        present = self._ticked(np.concatenate([single, doubles, background, unlisted]))
        noise = np.bincount(row, weight * _entropy_two(present), count)
        mean: Array = np.bincount(row, weight * present, count).astype(np.float64)
        gains = _entropy_two(mean) - noise
        return [max(0.0, float(g)) for g in gains]

    def _tick_pairs(
        self, ticks: Sequence[TickRates], at: Index, causes: Index, background: Array
    ) -> tuple[Index, Index, Array]:
        """Finding, pair and P(present) wherever a cause of a scored pair states a finding."""
        place = self.place[causes]
        leads = place >= 0
        spot = (at[leads], place[leads])
        shape = (len(ticks), len(self.leading))
        link, inhibitor, stated = np.zeros(shape), np.ones(shape), np.zeros(shape, dtype=bool)
        link[spot] = np.concatenate([t.link for t in ticks])[leads]
        inhibitor[spot] = np.concatenate([t.inhibitor for t in ticks])[leads]
        stated[spot] = True
        i, j = self.place[self.first], self.place[self.second]
        row, pair = np.nonzero(stated[:, i] | stated[:, j])
        a, b = (row, i[pair]), (row, j[pair])
        kept = 1.0 - background[row] * inhibitor[a] * inhibitor[b]
        return row, pair, 1.0 - kept * (1.0 - link[a]) * (1.0 - link[b])

    def _ticked(self, present: Array) -> Array:
        """P(ticked), where the finding is present with the given probability."""
        hit, false = self.settings.ticked
        return present * hit + (1.0 - present) * false

    def joint(self, findings: Sequence[Finding]) -> float:
        """Exact gain of a tick list asked as a whole, over all its 2^k patterns."""
        alike = self.alike(findings)
        patterns = np.ones((len(alike.weights), 1))
        for finding in findings:
            rates = self.book.rates(finding, self.context)
            doubles = rates.pairs(alike.first, alike.second)[:, 0]
            unlisted = self.book.unlisted(finding, self.context)[:1]
            row = self._ticked(np.concatenate([unlisted, rates.single[alike.singles, 0], doubles]))
            both = np.stack([row, 1.0 - row], axis=1)  # (hypotheses, 2)
            patterns = (patterns[:, :, None] * both[:, None, :]).reshape(len(row), -1)
        return information(alike.weights, patterns)

    def best(
        self,
        questions: Sequence[Question],
        *,
        doubts: Mapping[str, int] | None = None,
        also: Mapping[str, Collection[str]] | None = None,
        ease: Mapping[str, float] | None = None,
    ) -> list[Gain]:
        """Rank questions by gain per effort; the first is exact, later ones may be bounds.

        Args:
            questions: those that may be asked now.
            doubts: how many don't-knows were given per need; each halves the gain.
            also: derived findings a question settles; it is scored by the best of them.
            ease: factor on the gain of single questions, for those asked late.
        """
        kb = self.book.kb
        worth = {q.id: self._factor(q, doubts) * (ease or {}).get(q.id, 1.0) for q in questions}
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
            bounds.append((bound * worth[id_], id_, bound))
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
            per_effort = gain * worth[id_]
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
            gain = self.information(self.book.kb.findings[test.id])
            result.append(Gain(test.id, gain, gain / (test.effort + cost[test.cost])))
        return sorted(result, key=lambda g: (-g.per_effort, g.id))
