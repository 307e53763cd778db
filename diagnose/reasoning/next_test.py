"""The tests worth doing next, and what each of their results would change."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.reasoning.likelihood import FindingRates
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.question import Gain, Scorer
from diagnose.reasoning.rank import Ranker, Ranking
from diagnose.reasoning.report import said
from diagnose.reasoning.verdict import Verdict

WORTH_TESTING = 0.02  # nat


@dataclass(frozen=True, slots=True)
class Outcome:
    """One result of a test: how likely it is, and the ranking that would follow."""

    result: str
    probability: float
    leaders: tuple[tuple[str, float], ...]
    kind: tuple[str, float]


@dataclass(frozen=True, slots=True)
class NextTest:
    """A test worth doing, with what each of its results would change."""

    test: str
    gain: float
    outcomes: tuple[Outcome, ...]


def next_tests(
    ranker: Ranker,
    seen: Observations,
    ranking: Ranking,
    scorer: Scorer,
    verdict: Verdict,
    *,
    count: int = 3,
) -> list[NextTest]:
    """The tests worth doing next, best first.

    While it is open, those that best separate what still fits. Once one cause is likely, first
    those that prove it, as its own file names them, and no others but those of causes still
    possible: separating is done, proof is wanted. None when it is settled, or when a plant health
    office must look first.
    """
    if verdict.state in ("settled", "official_check"):  # the office says how to sample
        return []
    kb = ranker.book.kb
    fitting = [
        t
        for t in kb.tests.values()
        if t.applies_when is None or t.applies_when.holds(seen.known) is not False
    ]
    gains = {g.id: g for g in scorer.tests(fitting)}
    likely = verdict.state == "likely"
    named = verdict.causes[:1] if likely else ()
    proof = [gains[t] for c in named for t in kb.causes[c].confirm if t in gains]
    floor = ranker.book.settings.harm_floor
    live = {t for c, p in ranking.leaders() if p >= floor for t in kb.causes[c].confirm}
    others = [
        g
        for g in gains.values()
        if g.gain >= WORTH_TESTING and g not in proof and (g.id in live or not likely)
    ]
    return [_outcomes(ranker, seen, ranking, g) for g in [*proof, *others][:count]]


def _outcomes(ranker: Ranker, seen: Observations, ranking: Ranking, gain: Gain) -> NextTest:
    finding = ranker.book.kb.findings[gain.id]
    rates = ranker.book.rates(finding, ranking.context)
    outcomes = []
    for value in finding.value_ids:
        report = said(finding, value)
        after = ranker.rank(seen.with_report(report))
        chance = _chance(ranker, ranking, finding.index(value), rates)
        outcomes.append(Outcome(value, chance, tuple(after.leaders(3)), after.kind_leaders()[0]))
    return NextTest(gain.id, gain.gain, tuple(outcomes))


def _chance(ranker: Ranker, ranking: Ranking, v: int, rates: FindingRates) -> float:
    n = len(ranker.book.causes)
    singles = float(ranking.posterior[1 : n + 1] @ rates.single[:, v])
    pairs = rates.pairs(ranker.book.first, ranker.book.second)[:, v]
    doubles = float(ranking.posterior[n + 1 :] @ pairs)
    unlisted = float(ranking.posterior[0] * rates.unlisted(ranker.book.common)[v])
    return singles + doubles + unlisted
