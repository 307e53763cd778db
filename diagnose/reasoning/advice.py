"""What to do: the test that separates the leaders, what each result would change, safe actions."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.kb.model import Action, Caution, Knowledge
from diagnose.reasoning.likelihood import FindingRates
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.question import Gain, Scorer
from diagnose.reasoning.rank import Ranker, Ranking
from diagnose.reasoning.report import said
from diagnose.reasoning.verdict import Verdict

STAGES = ("now", "plants", "material", "prevent")
SHARED_LEADER = 0.15
NOT_YET = "It cannot be undone: only once a test settles it."
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
    those that prove it, as its own file names them: separating is done, proof is wanted. None when
    it is settled.
    """
    if verdict.state == "settled":
        return []
    kb = ranker.book.kb
    fitting = [
        t
        for t in kb.tests.values()
        if t.applies_when is None or t.applies_when.holds(seen.known) is not False
    ]
    gains = {g.id: g for g in scorer.tests(fitting)}
    named = verdict.causes[:1] if verdict.state in ("likely", "official_check") else ()
    proof = [gains[t] for c in named for t in kb.causes[c].confirm if t in gains]
    others = [g for g in gains.values() if g.gain >= WORTH_TESTING and g not in proof]
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


@dataclass(frozen=True, slots=True)
class Advice:
    """Actions by stage: `today` is safe whatever it is; the rest belongs to the verdict."""

    today: tuple[Action, ...]
    later: tuple[tuple[str, tuple[Action, ...]], ...]
    withheld: tuple[tuple[Action, str], ...]
    cautions: tuple[Caution, ...]


def advise(kb: Knowledge, seen: Observations, ranking: Ranking, verdict: Verdict) -> Advice:
    """What to do now and later.

    Safe today: reversible actions that harm under no cause with a probability of .05 or more.
    Irreversible ones (discard, plough in, spread) come only when settled.
    """
    live = [c for c, p in ranking.leaders() if p >= ranking.book.settings.harm_floor]
    settled = verdict.state == "settled"
    always = [a for a in kb.actions.values() if a.always and (a.reversible or settled)]
    today = [a for a in always if _safe(a, live)]
    withheld: dict[str, tuple[Action, str]] = {}
    later: dict[str, list[Action]] = {stage: [] for stage in STAGES[1:]}
    leaders = [c for c, p in ranking.leaders(4) if p >= SHARED_LEADER] or live[:1]
    for cause in leaders:
        for id_ in kb.causes[cause].actions.get("now", ()):
            action = kb.actions[id_]
            if action in today:
                continue
            if _safe(action, live) and (action.reversible or settled):
                today.append(action)
            else:
                withheld.setdefault(id_, (action, _why_not(kb, action, live)))
    for cause in leaders if verdict.state != "settled" else list(verdict.causes):
        for stage in STAGES[1:]:
            for id_ in kb.causes[cause].actions.get(stage, ()):
                action = kb.actions[id_]
                if action in later[stage] or action in today:
                    continue
                if stage != "prevent" and not action.reversible and not settled:
                    withheld.setdefault(id_, (action, NOT_YET))
                elif _safe(action, live) or stage == "prevent":
                    later[stage].append(action)
                else:
                    withheld.setdefault(id_, (action, _why_not(kb, action, live)))
    chosen = [*today, *(a for rows in later.values() for a in rows)]
    shown = _cautions(kb, seen, chosen, leaders)
    return Advice(
        tuple(today),
        tuple((s, tuple(rows)) for s, rows in later.items()),
        tuple(withheld.values()),
        shown,
    )


def _safe(action: Action, live: list[str]) -> bool:
    return not any(harm.cause in live for harm in action.harms)


def _why_not(kb: Knowledge, action: Action, live: list[str]) -> str:
    for harm in action.harms:
        if harm.cause in live:
            return f"{harm.because} ({kb.causes[harm.cause].name} is still possible.)"
    return NOT_YET


def _cautions(
    kb: Knowledge, seen: Observations, actions: list[Action], leaders: list[str]
) -> tuple[Caution, ...]:
    wanted = dict.fromkeys(c.id for c in at_once(kb, seen))
    for action in actions:
        wanted.update(dict.fromkeys(action.cautions))
    for cause in leaders:
        wanted.update(dict.fromkeys(kb.causes[cause].cautions))
    return tuple(kb.cautions[id_] for id_ in wanted if id_ in kb.cautions)


def at_once(kb: Knowledge, seen: Observations) -> list[Caution]:
    """Cautions whose condition holds now: shown before anything else."""
    return [
        c
        for c in kb.cautions.values()
        if c.show == "at_once" and c.when is not None and c.when.holds(seen.known) is True
    ]
