"""The knowledge prepared for computing: priors, pairs, kinds, evidence rows by finding."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from diagnose.kb.model import Evidence, Finding, Knowledge
from diagnose.reasoning.likelihood import Array, Context, FindingRates, Index, links, rates_of
from diagnose.reasoning.settings import DEFAULT, HOW_COMMON, Settings


@dataclass(frozen=True, slots=True)
class TickRates:
    """P(present) of a tick finding under the causes that state it, and for all others.

    `causes` holds positions; `single`, `link` and `inhibitor` run beside it.
    """

    causes: Index
    single: Array
    link: Array
    inhibitor: Array
    background: float
    unlisted: float


class Book:
    """Hypotheses and rates of one knowledge under one set of settings.

    Hypotheses, in this order: not in the book (1), every single cause (n), every pair of causes
    of different kinds. `first` and `second` hold the causes of the pairs.
    """

    def __init__(self, kb: Knowledge, settings: Settings = DEFAULT) -> None:
        self.kb = kb
        self.settings = settings
        self.causes = tuple(kb.causes)
        self.position = {id_: i for i, id_ in enumerate(self.causes)}
        kinds = list(dict.fromkeys(c.kind for c in kb.causes.values()))
        self.kinds = tuple(kinds)
        kind_of = np.array([kinds.index(c.kind) for c in kb.causes.values()], dtype=np.intp)
        self.kind_of: Index = kind_of
        i, j = np.triu_indices(len(self.causes), 1)
        mixed = kind_of[i] != kind_of[j] if len(kind_of) else np.zeros(0, dtype=bool)
        paired = settings.pairs > 0
        self.first: Index = i[mixed] if paired else i[:0]
        self.second: Index = j[mixed] if paired else j[:0]
        self._unprepared = iter(tuple(kb.findings.values()))
        self._rates: dict[tuple[str, Context], FindingRates] = {}
        self.tables: dict[tuple[str, bool], Array] = {}  # P(answer | value) by finding and phone
        self._unlisted: dict[tuple[str, Context], Array] = {}
        self._ticks: dict[tuple[str, Context], TickRates] = {}
        self._by_crop = {r.finding for c in kb.causes.values() for r in c.evidence if r.crops}

    @cached_property
    def common(self) -> Array:
        """How common each cause is, summing to 1."""
        weights = np.array([HOW_COMMON[c.how_common] for c in self.kb.causes.values()])
        share: Array = weights / weights.sum()
        return share

    @cached_property
    def prior(self) -> Array:
        """Prior of every hypothesis, summing to 1.

        >>> from diagnose.reasoning import demo
        >>> kb = demo.book([], [demo.cause("a", {}), demo.cause("b", {})])
        >>> Book(kb).prior.round(3).tolist()
        [0.12, 0.365, 0.365, 0.15]
        """
        product = self.common[self.first] * self.common[self.second]
        together = {
            tuple(sorted((self.position[id_], self.position[goes.cause])))
            for id_, cause in self.kb.causes.items()
            for goes in cause.goes_with
            if goes.cause in self.position
        }
        for a, b in together:
            product[(self.first == a) & (self.second == b)] *= self.settings.goes_with
        unlisted = self.settings.unlisted
        pairs = self.settings.pairs if len(product) else 0.0
        singles = (1.0 - unlisted - pairs) * self.common
        doubles = pairs * product / product.sum() if len(product) else product
        return np.concatenate([[unlisted], singles, doubles])

    @cached_property
    def log_prior(self) -> Array:
        """Logarithm of the prior; a hypothesis left out has minus infinity."""
        with np.errstate(divide="ignore"):
            result: Array = np.log(self.prior)
        return result

    @cached_property
    def kinds_of_pairs(self) -> tuple[Index, Index]:
        """Kind of the first and of the second cause of every pair."""
        return self.kind_of[self.first], self.kind_of[self.second]

    @cached_property
    def rows(self) -> dict[str, dict[int, list[Evidence]]]:
        """Evidence rows by finding, then by position of the cause."""
        result: dict[str, dict[int, list[Evidence]]] = {}
        for i, cause in enumerate(self.kb.causes.values()):
            for row in cause.evidence:
                result.setdefault(row.finding, {}).setdefault(i, []).append(row)
        return result

    def narrowed(self, finding: Finding, context: Context) -> Context:
        """The part of a context that this finding depends on, so that the rest changes nothing."""
        hurt = context.hurt if finding.id in self._by_crop else frozenset()
        vary_by = finding.background.vary_by
        return Context(hurt, tuple(fact for fact in context.known if fact[0] == vary_by))

    def rates(self, finding: Finding, context: Context) -> FindingRates:
        """Rates of a finding in a context; kept, since few contexts occur in one interview."""
        key = (finding.id, self.narrowed(finding, context))
        if key not in self._rates:
            rows = self.rows.get(finding.id, {})
            self._rates[key] = rates_of(finding, rows, len(self.causes), key[1])
        return self._rates[key]

    def prepare(self, count: int) -> None:
        """Work out the rates of some more findings ahead of their use.

        Called while the opening is asked, so that the first chosen question need not wait for the
        whole book at once.
        """
        for _ in range(count):
            finding = next(self._unprepared, None)
            if finding is None:
                return
            self.rates(finding, Context())

    def unlisted(self, finding: Finding, context: Context) -> Array:
        """Rates of a finding under a cause not in the book."""
        key = (finding.id, self.narrowed(finding, context))
        if key not in self._unlisted:
            self._unlisted[key] = self.rates(finding, context).unlisted(self.common)
        return self._unlisted[key]

    def ticks(self, finding: Finding, context: Context) -> TickRates:
        """P(present) of a tick finding, for the causes that state it."""
        key = (finding.id, self.narrowed(finding, context))
        if key not in self._ticks:
            rates = self.rates(finding, context)
            causes = np.flatnonzero(rates.stated)
            single, background = rates.single[causes, 0], float(rates.background[0])
            link, inhibitor = links(single, background, rates.stated[causes])
            unlisted = float(self.unlisted(finding, context)[0])
            self._ticks[key] = TickRates(causes, single, link, inhibitor, background, unlisted)
        return self._ticks[key]
