"""The same answers give the same ranking by every route, to the last bit."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest

from diagnose.kb.condition import condition_from
from diagnose.kb.model import Background, Crop, Evidence, Hosts, Knowledge, Rule
from diagnose.reasoning import demo
from diagnose.reasoning.book import Book
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.question import Scorer
from diagnose.reasoning.rank import Ranker
from diagnose.reasoning.report import Report, dont_know, not_ticked, said, ticked

VARYING = Background((0.3, 0.7), "when", {"sudden": (0.05, 0.95), "slow": (0.6, 0.4)})
CROPS = {"tomato": "hurt", "bean": "fine_beside", "maize": "fine_beside", "kale": "hurt"}


def book() -> Knowledge:
    findings = [demo.yes_no(f"x{i}", 0.05 + 0.07 * i) for i in range(6)]
    findings.append(demo.choice("where", {"none": 0.5, "old": 0.3, "new": 0.2}, "none"))
    findings.append(demo.choice("when", {"sudden": 0.4, "slow": 0.6}))
    rule = Rule("r", condition_from({"finding": "x1", "is": "present"}), "for", "")
    hosts = Hosts(("nightshade",), "sweeping")
    causes = [
        demo.cause("a", {("x0", "present"): "usually", ("x1", "present"): "often"}),
        demo.cause("b", {("x1", "present"): "usually", ("where", "old"): "often"}),
        demo.cause("c", {("x2", "present"): "sometimes", ("when", "sudden"): "usually"}),
        demo.cause("d", {("x3", "present"): "always", ("x0", "present"): "rarely"}),
    ]
    causes[0] = replace(causes[0], rules=(rule,))
    causes[1] = replace(causes[1], hosts=hosts)
    # Rates that depend on the case: on the crops hurt, and on another finding.
    for_kale = Evidence("x2", "present", "always", ("kale",))
    causes[2] = replace(causes[2], evidence=(*causes[2].evidence, for_kale))
    findings[3] = replace(findings[3], background=VARYING)
    kb = demo.book(findings, causes, {"g": ("x2", "x0", "x1"), "h": ("where", "when")})
    families = ("nightshade", "legume", "grass", "brassica")
    named = zip(CROPS, families, strict=True)
    return replace(kb, crops={c: Crop(c, c, family) for c, family in named})


def reports(kb: Knowledge) -> list[Report]:
    f = kb.findings
    return [
        ticked(f["x0"]),
        said(f["x1"], "present"),
        not_ticked(f["x2"], looked=False),
        not_ticked(f["x3"], looked=True),
        dont_know(f["x4"]),
        said(f["where"], "old"),
        said(f["when"], "sudden", phone=True),
    ]


def posterior(kb: Knowledge, told: list[Report], crops: dict[str, str]) -> np.ndarray:
    return Ranker(Book(kb)).rank(Observations({r.finding: r for r in told}, crops)).posterior


@pytest.mark.parametrize("seed", range(20))
def test_any_order_of_answers_and_crops_gives_the_same_posterior(seed: int) -> None:
    kb, shuffle = book(), random.Random(seed).shuffle
    told, crops = reports(kb), list(CROPS.items())
    plain = posterior(kb, told, dict(crops))
    shuffle(told)
    shuffle(crops)
    assert np.array_equal(posterior(kb, told, dict(crops)), plain)


@pytest.mark.parametrize("seed", range(5))
def test_any_order_of_answers_gives_the_same_next_question(seed: int) -> None:
    kb = book()
    told = reports(kb)[:4]
    left = [kb.findings[f] for f in ("x5", "where", "when")]

    def gains() -> dict[str, float]:
        seen = Observations({r.finding: r for r in told})
        return Scorer(Ranker(Book(kb)).rank(seen), seen).single(left)

    plain = gains()
    random.Random(seed).shuffle(told)
    assert gains() == plain


def test_a_ranker_that_met_other_answers_ranks_as_a_fresh_one() -> None:
    kb = book()
    used = Ranker(Book(kb))
    seen = Observations()
    for report in reports(kb):
        seen = seen.with_report(report)
        used.rank(seen)
        used.rank(Observations(seen.reports, CROPS))
    fresh = posterior(kb, reports(kb), CROPS)
    assert np.array_equal(used.rank(Observations(seen.reports, CROPS)).posterior, fresh)


def test_rates_follow_the_case_in_a_ranker_that_met_another() -> None:
    kb = book()
    told = {r.finding: r for r in reports(kb)}
    cases = [
        Observations(told, CROPS),
        Observations(told, {"tomato": "hurt"}),
        Observations({**told, "when": said(kb.findings["when"], "slow")}, CROPS),
        Observations({f: r for f, r in told.items() if f != "when"}),
    ]
    used = Ranker(Book(kb))
    ranked = [used.rank(seen).posterior for seen in cases]
    for seen, posterior_ in zip(cases, ranked, strict=True):
        assert np.array_equal(Ranker(Book(kb)).rank(seen).posterior, posterior_)
    x2, x3 = kb.findings["x2"], kb.findings["x3"]
    contexts = [used.rank(seen).context for seen in cases]
    assert len({used.book.rates(x2, c).single[2, 0] for c in contexts}) == 2
    assert [used.book.rates(x3, c).background[0] for c in contexts] == [0.05, 0.05, 0.6, 0.3]


def test_taking_an_answer_back_leaves_no_trace() -> None:
    kb = book()
    first = reports(kb)[:3]
    ranker = Ranker(Book(kb))
    seen = Observations({r.finding: r for r in first})
    before = ranker.rank(seen).posterior
    more = seen.with_report(said(kb.findings["where"], "new"))
    assert not np.array_equal(ranker.rank(more).posterior, before)
    assert np.array_equal(ranker.rank(more.without("where")).posterior, before)


def test_changing_an_answer_is_as_if_it_had_been_given_so_at_first() -> None:
    kb = book()
    changed = said(kb.findings["x1"], "absent")
    told = [changed if r.finding == "x1" else r for r in reports(kb)]
    seen = Observations({r.finding: r for r in reports(kb)}, CROPS).with_report(changed)
    ranked = Ranker(Book(kb)).rank(seen).posterior
    assert np.array_equal(ranked, posterior(kb, told, CROPS))


def test_dont_know_is_as_if_never_asked() -> None:
    kb = book()
    told = reports(kb)
    silent = [r for r in told if r.finding != "x4"]
    assert np.array_equal(posterior(kb, told, CROPS), posterior(kb, silent, CROPS))


def test_causes_in_another_order_have_the_same_probabilities() -> None:
    kb = book()
    turned = replace(kb, causes=dict(reversed(kb.causes.items())))
    seen = Observations({r.finding: r for r in reports(kb)}, CROPS)
    ours, other = (Ranker(Book(k)).rank(seen) for k in (kb, turned))
    for cause in kb.causes:
        assert other.probability(cause) == pytest.approx(ours.probability(cause), abs=1e-12)
    assert [c for c, _ in other.leaders()] == [c for c, _ in ours.leaders()]
