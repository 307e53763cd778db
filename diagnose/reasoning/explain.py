"""Why a ranking is what it is: weight of each answer, what a cause leaves unexplained."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log

import numpy as np

from diagnose.kb.model import PRESENT
from diagnose.reasoning.likelihood import Array
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.rank import Ranker, Ranking, normalise, powers
from diagnose.reasoning.report import Report

CROPS = "crops"
STORY = "story"
# What a cause shows in every second case it explains, however common the sign is elsewhere.
OFTEN = 0.5


def logit(p: float) -> float:
    """Log odds, kept finite.

    >>> logit(0.5)
    0.0
    """
    p = min(max(p, 1e-9), 1 - 1e-9)
    return log(p / (1 - p))


@dataclass(frozen=True, slots=True)
class Weights:
    """`table[f][i]`: logit P(cause i) with all answers minus logit without finding f.

    The crops answer stands under "crops", the words of the story under "story". Positive speaks
    for the cause. Unit: nat.
    """

    table: dict[str, Array]

    def of(self, cause: int) -> list[tuple[str, float]]:
        """Findings and their weight for one cause, the strongest first."""
        rows = [(f, float(w[cause])) for f, w in self.table.items()]
        return sorted(rows, key=lambda row: (-abs(row[1]), row[0]))


def weights(ranker: Ranker, seen: Observations, ranking: Ranking) -> Weights:
    """Weight of every answer for every cause, each by leaving that answer out.

    Forgetting place, season, stage or the crops changes what other answers say, so there the case
    is ranked anew; elsewhere the answer's own part is taken off.
    """
    full, _ = ranker.log_posterior(seen, ranking.context)
    base = _logits(ranking.present)
    shifting = {finding for finding, _ in ranking.context.known}
    table: dict[str, Array] = {}
    for finding in seen.informative():
        if finding in shifting:
            without = ranker.rank(seen.without(finding))
        else:
            less = _without(ranker, seen, ranking, full, finding)
            without = ranker.ranking(normalise(less), (), ranking.context)
        table[finding] = base - _logits(without.present)
    if seen.hurt:
        without = ranker.rank(replace(seen, crops={}))
        table[CROPS] = base - _logits(without.present)
    words = ranker.words(seen)
    if not isinstance(words, float):
        without = ranker.ranking(normalise(full - words), (), ranking.context)
        table[STORY] = base - _logits(without.present)
    return Weights(table)


def _without(
    ranker: Ranker, seen: Observations, ranking: Ranking, full: Array, finding: str
) -> Array:
    """Log posterior with one answer's part taken off, group members moving up."""
    reports = seen.informative()
    rest = {f: r for f, r in reports.items() if f != finding}
    before, after = powers(ranker.book, reports), powers(ranker.book, rest)
    changed = full - before[finding] * ranker.weight(reports[finding], ranking.context)
    for other in rest:
        if after[other] != before[other]:
            step = after[other] - before[other]
            changed = changed + step * ranker.weight(reports[other], ranking.context)
    return changed + _rules_change(ranker, seen, finding)


def _rules_change(ranker: Ranker, seen: Observations, finding: str) -> Array | float:
    """What the rules would change without a finding; 0 where no rule reads it."""
    causes = ranker.book.kb.causes.values()
    if not any(finding in rule.when.findings() for c in causes for rule in c.rules):
        return 0.0
    return ranker.rules(seen.without(finding))[0] - ranker.rules(seen)[0]


def _logits(p: Array) -> Array:
    p = np.clip(p, 1e-9, 1 - 1e-9)
    result: Array = np.log(p) - np.log1p(-p)
    return result


def is_sign(ranker: Ranker, report: Report) -> bool:
    """Whether a report names something out of the ordinary that a cause should explain."""
    finding = ranker.book.kb.findings[report.finding]
    if report.value is None or not finding.normal:
        return False
    return report.value != finding.normal and finding.form != "derived"


def unexplained(ranker: Ranker, seen: Observations, ranking: Ranking, cause: str) -> list[str]:
    """Reported signs a cause shows at most 1.5 times as often as any sick tray, and seldom."""
    i = ranker.book.position[cause]
    result = []
    for id_, report in seen.informative().items():
        if not is_sign(ranker, report):
            continue
        finding = ranker.book.kb.findings[id_]
        rates = ranker.book.rates(finding, ranking.context)
        v = finding.index(report.value or PRESENT)
        rate, settings = rates.single[i, v], ranker.book.settings
        if rate < OFTEN and rate <= settings.unexplained * rates.background[v]:
            result.append(id_)
    return result
