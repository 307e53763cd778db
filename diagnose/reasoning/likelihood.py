"""How often each cause, pair of causes, and an unlisted cause show each value of a finding.

For one cause the stated values have their rate and the others share the rest by background. For
several causes together, over a finding with a normal value, the abnormal mass combines as links
and inhibitors: q = 1 - (1-p)/(1-b) where p >= b, else an inhibitor p/b;
P(abnormal) = 1 - (1 - b x inhibitors) x prod(1 - q); it is split over the abnormal values by the
causes' own shares, weighted by their abnormal mass. Without a normal value it is the mean of the
causes that state the finding. One cause alone always keeps exactly its own rates.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.kb.model import Evidence, Finding, Knowledge
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.settings import HOW_OFTEN

# Of three values or more, those a cause states take this much at most. Two "often" would fill a
# finding to the brim, and a third value would as good as rule the cause out, which nobody meant.
MOST = 0.88

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Context:
    """What evidence rows and backgrounds depend on: hurt crops, and place, season or stage."""

    hurt: frozenset[str] = frozenset()
    known: tuple[tuple[str, str], ...] = ()


def context_of(kb: Knowledge, seen: Observations) -> Context:
    """The context of a case; only findings that some background varies by are kept."""
    wanted = sorted({f.background.vary_by for f in kb.findings.values()} - {""})
    facts = ((f, seen.known(f)) for f in wanted)
    return Context(seen.hurt, tuple((f, fact[0]) for f, fact in facts if fact is not None))


def background_of(finding: Finding, context: Context) -> Array:
    """Background rates of a finding in a context, one per value."""
    rates = finding.background.rates
    if finding.background.vary_by:
        here = dict(context.known).get(finding.background.vary_by, "")
        rates = finding.background.rates_by.get(here, rates)
    return np.clip(np.asarray(rates, dtype=np.float64), 1e-6, 1.0)


def stated_rates(rows: Sequence[Evidence], context: Context) -> dict[str, float]:
    """Rates a cause states in its rows on one finding: value to probability.

    A row limited to certain crops speaks only when one of them is hurt, or no crop is named yet;
    it then wins over a row for all crops.
    """
    found: dict[str, tuple[bool, float]] = {}
    for row in rows:
        narrow = bool(row.crops)
        if narrow and context.hurt and not context.hurt.intersection(row.crops):
            continue
        if row.value in found and found[row.value][0] and not narrow:
            continue
        found[row.value] = (narrow, HOW_OFTEN[row.how_often])
    return {value: rate for value, (_, rate) in found.items()}


def distribution(stated: dict[str, float], finding: Finding, background: Array) -> Array:
    """One cause's rates over all values of a finding, summing to 1.

    >>> from diagnose.reasoning.demo import choice
    >>> f = choice("c", {"a": 0.2, "b": 0.2, "c": 0.6})
    >>> distribution({"a": 0.65}, f, np.array([0.2, 0.2, 0.6])).round(4).tolist()
    [0.65, 0.0875, 0.2625]
    """
    names = finding.value_ids
    said = [stated.get(value, 0.0) for value in names]
    total = sum(said)
    if len(stated) == len(names):
        return np.array(said) / total
    most = MOST if len(names) > 2 else HOW_OFTEN["always"]
    if total > most:
        said = [rate * (most / total) for rate in said]
        total = most
    # Plain floats: for a handful of values they are several times faster than arrays.
    share = [0.0 if v in stated else b for v, b in zip(names, background.tolist(), strict=True)]
    left, whole = 1.0 - total, sum(share)
    return np.array([rate + left * b / whole for rate, b in zip(said, share, strict=True)])


@dataclass(frozen=True, slots=True)
class FindingRates:
    """Rates of one finding: `single` is (causes, values); `stated` marks causes that state it."""

    background: Array
    single: Array
    stated: NDArray[np.bool_]
    normal: int | None

    def pairs(self, first: Index, second: Index) -> Array:
        """Rates under pairs of causes: (pairs, values).

        >>> from diagnose.reasoning.demo import yes_no
        >>> often, sometimes = (Evidence("x", "present", w) for w in ("often", "sometimes"))
        >>> rates = rates_of(yes_no("x", 0.1), {0: [often], 1: [sometimes]}, 2, Context())
        >>> both = rates.pairs(np.array([0]), np.array([1]))
        >>> round(float(both[0, 0]), 6)  # 1 - (1-.1) * (.5/.9) * (.65/.9)
        0.638889
        """
        if self.normal is None:
            return self._mean(first, second)
        n = self.normal
        b = 1.0 - self.background[n]
        abnormal = 1.0 - self.single[:, n]
        link, inhibitor = links(abnormal, b, self.stated)
        mass = 1.0 - (1.0 - b * inhibitor[first] * inhibitor[second]) * (1.0 - link[first]) * (
            1.0 - link[second]
        )
        result = np.empty((len(first), len(self.background)))
        if len(self.background) == 2:
            result[:, 1 - n] = mass
        else:
            own = np.where(self.stated[:, None], self.single, 0.0)
            own[:, n] = 0.0
            share = own[first] + own[second]
            neither = ~(self.stated[first] | self.stated[second])
            if neither.any():
                plain = self.background.copy()
                plain[n] = 0.0
                share[neither] = plain
            total = np.maximum(share.sum(axis=1, keepdims=True), 1e-12)
            result[:] = mass[:, None] * share / total
        result[:, n] = 1.0 - mass
        return result

    def _mean(self, first: Index, second: Index) -> Array:
        w1 = self.stated[first].astype(np.float64)[:, None]
        w2 = self.stated[second].astype(np.float64)[:, None]
        total = w1 + w2
        mean = (w1 * self.single[first] + w2 * self.single[second]) / np.maximum(total, 1.0)
        result: Array = np.where(total > 0, mean, self.background)
        return result

    def unlisted(self, prior: Array) -> Array:
        """Rates under a cause not in the book: half background, half the average cause."""
        average = prior @ self.single / prior.sum()
        blend: Array = 0.5 * self.background + 0.5 * average
        return blend


def links(abnormal: Array, background: float, stated: NDArray[np.bool_]) -> tuple[Array, Array]:
    """Link strengths and inhibitors of causes with the given abnormal mass."""
    above = stated & (abnormal >= background)
    below = stated & (abnormal < background)
    link = np.where(above, 1.0 - (1.0 - abnormal) / max(1.0 - background, 1e-12), 0.0)
    inhibitor = np.where(below, abnormal / max(background, 1e-12), 1.0)
    return link, inhibitor


def rates_of(
    finding: Finding, rows: Mapping[int, Sequence[Evidence]], causes: int, context: Context
) -> FindingRates:
    """Rates of one finding under every cause.

    Args:
        finding: the finding.
        rows: the evidence rows on this finding, by position of the cause.
        causes: how many causes the book has.
        context: what the rows depend on.
    """
    background = background_of(finding, context)
    single = np.tile(background, (causes, 1))
    stated = np.zeros(causes, dtype=bool)
    for i, its_rows in rows.items():
        rates = stated_rates(its_rows, context)
        if rates:
            single[i] = distribution(rates, finding, background)
            stated[i] = True
    normal = finding.index(finding.normal) if finding.normal else None
    return FindingRates(background, single, stated, normal)
