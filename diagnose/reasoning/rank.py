"""The exact posterior over "not in this book", every cause and every pair of causes.

log P(h | answers) = log prior + sum over findings of power x log(sum_v L[v] P(v | h))
                     + hosts + words of the story + rules.

Power is 1, or less for the later members of a group.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from diagnose.kb.model import Finding, Rule
from diagnose.reasoning.book import Book
from diagnose.reasoning.hosts import host_weights
from diagnose.reasoning.likelihood import Array, Context, Index, context_of
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.report import Report
from diagnose.reasoning.settings import EFFECTS
from diagnose.reasoning.words import Stems, WordModel


@dataclass(frozen=True, slots=True)
class Fired:
    """A rule whose condition is true."""

    cause: str
    rule: Rule


@dataclass(frozen=True)
class Ranking:
    """Posterior of a case.

    Fields:
        posterior: over all hypotheses, summing to 1.
        present: P(the cause is at work), alone or in a pair, per cause.
        kinds: P(some cause of the kind is at work).
        unlisted: P(the cause is not in the book).
        fired: every rule that fired.
    """

    book: Book
    posterior: Array
    present: Array
    kinds: Mapping[str, float]
    unlisted: float
    fired: tuple[Fired, ...]
    context: Context

    def leaders(self, count: int | None = None) -> list[tuple[str, float]]:
        """Causes by falling probability; ties by id, so that the order never wavers."""
        order = sorted(
            range(len(self.present)), key=lambda i: (-self.present[i], self.book.causes[i])
        )
        return [(self.book.causes[i], float(self.present[i])) for i in order[:count]]

    def probability(self, cause: str) -> float:
        """P(the cause is at work)."""
        return float(self.present[self.book.position[cause]])

    def kind_leaders(self) -> list[tuple[str, float]]:
        """Kinds by falling probability."""
        return sorted(self.kinds.items(), key=lambda item: (-item[1], item[0]))


def powers(book: Book, reports: Mapping[str, Report]) -> dict[str, float]:
    """Power of each report: one member of a group counts in full, the others less.

    In full counts the first sign reported, in the order of the group; where none is reported, the
    first that was looked for; where none was, the first left unticked. A box left empty must not
    weaken a sign that was seen.
    """
    result = dict.fromkeys(reports, 1.0)
    for members in book.kb.groups.values():
        answered = [f for f in members if f in reports]
        answered.sort(key=lambda f: _standing(book.kb.findings[f], reports[f]))
        for finding in answered[1:]:
            result[finding] = book.settings.group_power
    return result


def _standing(finding: Finding, report: Report) -> int:
    """0 for a sign reported, 1 for one said to be absent, 2 for a box left empty."""
    if not report.spoken:
        return 2
    return 1 if finding.normal and report.value == finding.normal else 0


@dataclass(frozen=True, slots=True)
class Told:
    """Log P(report | hypothesis), kept small: in most pairs neither cause states the finding.

    Fields:
        alone: not in the book, then every single cause.
        rest: any pair in which neither cause states the finding.
        pairs: positions of the pairs in which one does.
        doubles: these pairs, in that order.
    """

    alone: Array
    rest: float
    pairs: Index
    doubles: Array


class Ranker:
    """Ranks cases of one book, keeping the weight of every report it has met."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self._told: dict[tuple[str, tuple[float, ...], Context], Told] = {}
        self._hosts: dict[frozenset[tuple[str, str]], Array | float] = {}
        self._words: dict[Stems, Array] = {}

    @cached_property
    def word_model(self) -> WordModel:
        """The words of the book by cause; built when the first story is told."""
        return WordModel(self.book.kb, self.book.settings)

    def told(self, report: Report, context: Context) -> Told:
        """Log P(report | hypothesis), in its small form."""
        book = self.book
        finding: Finding = book.kb.findings[report.finding]
        key = (report.finding, report.likelihood, book.narrowed(finding, context))
        if key not in self._told:
            rates = book.rates(finding, context)
            seen = np.asarray(report.likelihood)
            alone = np.concatenate([[book.unlisted(finding, context) @ seen], rates.single @ seen])
            speaks = rates.stated[book.first] | rates.stated[book.second]
            pairs = np.flatnonzero(speaks)
            # One silent pair stands for all of them; it comes first, or is a stand-in unused.
            silent = np.argmin(speaks) if len(pairs) < len(speaks) else 0
            wanted = np.concatenate([[silent], pairs]) if len(speaks) else pairs
            doubles = rates.pairs(book.first[wanted], book.second[wanted]) @ seen
            logs = np.log(np.maximum(doubles, 1e-12))
            rest = float(logs[0]) if len(speaks) else 0.0
            floor = np.log(np.maximum(alone, 1e-12))
            self._told[key] = Told(floor, rest, pairs, logs[1:])
        return self._told[key]

    def weight(self, report: Report, context: Context) -> Array:
        """Log P(report | hypothesis), for every hypothesis."""
        told = self.told(report, context)
        doubles = np.full(len(self.book.first), told.rest)
        doubles[told.pairs] = told.doubles
        return np.concatenate([told.alone, doubles])

    def hosts(self, seen: Observations) -> Array | float:
        """Log P(crops answer | hypothesis), for every hypothesis; 0 when it says nothing."""
        key = frozenset(seen.crops.items())
        if key not in self._hosts:
            weights = host_weights(self.book.kb, seen.crops, self.book.settings)
            if weights is None:
                return 0.0
            doubles = weights.pairs(self.book.first, self.book.second)
            self._hosts[key] = np.concatenate([[weights.unlisted()], weights.single(), doubles])
        return self._hosts[key]

    def words(self, seen: Observations) -> Array | float:
        """Log P(words of the story | hypothesis), for every hypothesis; 0 when none counts."""
        if not (heard := self.word_model.heard(seen.story) if seen.story else ()):
            return 0.0
        if heard not in self._words:
            book, model = self.book, self.word_model
            single = model.single(heard)
            doubles = model.pairs(heard, book.first, book.second)
            unlisted = model.unlisted(single, book.common)
            self._words[heard] = np.concatenate([[unlisted], single, doubles])
        return self._words[heard]

    def rules(self, seen: Observations) -> tuple[Array | float, tuple[Fired, ...]]:
        """Log factor of the rules on every hypothesis, and which fired."""
        factors = np.zeros(len(self.book.causes))
        fired: list[Fired] = []
        for i, (id_, cause) in enumerate(self.book.kb.causes.items()):
            out = False
            for rule in cause.rules:
                if rule.when.holds(seen.known) is not True:
                    continue
                fired.append(Fired(id_, rule))
                if rule.effect == "rules_out":
                    if out:
                        continue
                    out = True
                factors[i] += np.log(EFFECTS[rule.effect])
        if not fired:
            return 0.0, ()
        doubles = factors[self.book.first] + factors[self.book.second]
        return np.concatenate([[0.0], factors, doubles]), tuple(fired)

    def log_posterior(
        self, seen: Observations, context: Context
    ) -> tuple[Array, tuple[Fired, ...]]:
        """Unnormalised log posterior of every hypothesis, and the rules that fired."""
        reports = seen.informative()
        total = self.book.log_prior + self.hosts(seen) + self.words(seen)
        n, rest = len(self.book.causes), 0.0
        for finding, power in powers(self.book, reports).items():
            told = self.told(reports[finding], context)
            total[: n + 1] += power * told.alone
            rest += power * told.rest
            total[n + 1 + told.pairs] += power * (told.doubles - told.rest)
        total[n + 1 :] += rest
        rules, fired = self.rules(seen)
        return total + rules, fired

    def rank(self, seen: Observations) -> Ranking:
        """Rank a case.

        >>> from diagnose.reasoning import demo
        >>> from diagnose.reasoning.report import said
        >>> x = demo.yes_no("x", 0.1)
        >>> kb = demo.book([x], [demo.cause("a", {("x", "present"): "usually"}),
        ...                      demo.cause("b", {})])
        >>> ranking = Ranker(Book(kb)).rank(Observations({"x": said(x, "present")}))
        >>> ranking.leaders(1)[0][0]
        'a'
        """
        context = context_of(self.book.kb, seen)
        log, fired = self.log_posterior(seen, context)
        return self.ranking(normalise(log), fired, context)

    def ranking(self, posterior: Array, fired: tuple[Fired, ...], context: Context) -> Ranking:
        """Sums a posterior up by cause and kind."""
        n = len(self.book.causes)
        present = posterior[1 : n + 1].copy()
        doubles = posterior[n + 1 :]
        np.add.at(present, self.book.first, doubles)
        np.add.at(present, self.book.second, doubles)
        per_kind = np.zeros(len(self.book.kinds))
        np.add.at(per_kind, self.book.kind_of, posterior[1 : n + 1])
        for kinds_of in self.book.kinds_of_pairs:
            np.add.at(per_kind, kinds_of, doubles)
        kinds = {k: float(p) for k, p in zip(self.book.kinds, per_kind, strict=True)}
        return Ranking(self.book, posterior, present, kinds, float(posterior[0]), fired, context)


def normalise(log: Array) -> Array:
    """Turn log weights into probabilities.

    >>> normalise(np.log(np.array([1.0, 3.0]))).tolist()
    [0.25, 0.75]
    """
    weights = np.exp(log - log.max())
    result: Array = weights / weights.sum()
    return result
