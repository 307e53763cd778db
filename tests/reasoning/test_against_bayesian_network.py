"""Posteriors and gains against a general Bayesian-network library, to 1e-9.

Expected figures: tests/data/pgmpy/expected.json, worked out by pgmpy 1.1.2 from networks of leaks,
links, gates and choosers (see make_fixtures.py there), not by this program.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from diagnose.kb.condition import condition_from
from diagnose.kb.model import (
    Background,
    Cause,
    Crop,
    Evidence,
    Finding,
    GoesWith,
    Grade,
    Hosts,
    Knowledge,
    Question,
    Rule,
    Test,
    Value,
)
from diagnose.reasoning import demo
from diagnose.reasoning.book import Book
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.question import Scorer
from diagnose.reasoning.rank import Ranker, Ranking
from diagnose.reasoning.report import Report, not_ticked, said, ticked
from diagnose.reasoning.settings import Settings

DATA = Path(__file__).parent.parent / "data" / "pgmpy"
NETWORKS = yaml.safe_load((DATA / "networks.yaml").read_text(encoding="utf-8"))
FROZEN = json.loads((DATA / "expected.json").read_text(encoding="utf-8"))
EXPECTED = {row["name"]: row for row in FROZEN["networks"]}
COST = {"free": 0, "cheap": 1, "moderate": 2, "laboratory": 4}

Spec = dict[str, Any]
every_network = pytest.mark.parametrize("net", NETWORKS, ids=lambda net: net["name"])


def finding_of(id_: str, row: Spec) -> Finding:
    doubles = row.get("mistaken_for", {})
    names = tuple(row["background"])
    if row["form"] == "tick":
        names = ("present", "absent")
    values = tuple(Value(v, v, mistaken_for=tuple(doubles.get(v, ()))) for v in names)

    def rates(background: Spec) -> tuple[float, ...]:
        return tuple(background[v] for v in names)

    by = {place: rates(b) for place, b in row.get("background_by", {}).items()}
    background = Background(rates(row["background"]), row.get("vary_by", ""), by)
    slip, normal = row.get("slip", "medium"), row.get("normal", "")
    return Finding(id_, id_, values, background, id_, row["form"], normal, slip=slip)


def cause_of(id_: str, row: Spec) -> Cause:
    plain = demo.cause(id_, {}, row.get("kind", ""), row.get("how_common", "common"))
    hosts = row.get("hosts", {"families": ["all"], "reach": "patchy"})
    return replace(
        plain,
        evidence=tuple(
            Evidence(f, v, w, *map(tuple, c)) for f, v, w, *c in row.get("evidence", [])
        ),
        hosts=Hosts(
            tuple(hosts["families"]),
            hosts["reach"],
            tuple(hosts.get("crops", ())),
            tuple(hosts.get("spared", ())),
            hosts.get("sensitivity", ""),
        ),
        goes_with=tuple(GoesWith(c, "sometimes") for c in row.get("goes_with", ())),
        rules=tuple(
            Rule(f"r{i}", condition_from(r["when"]), r["effect"], "")
            for i, r in enumerate(row.get("rules", ()))
        ),
    )


def crop_of(id_: str, row: Spec) -> Crop:
    grades = {group: Grade(grade) for group, grade in row.get("sensitivity", {}).items()}
    return Crop(id_, id_, row["family"], sensitivity=grades)


def knowledge_of(net: Spec) -> Knowledge:
    kb = demo.book(
        [finding_of(f, row) for f, row in net["findings"].items()],
        [cause_of(c, row) for c, row in net["causes"].items()],
        {g: tuple(members) for g, members in net.get("groups", {}).items()},
    )
    return replace(
        kb,
        crops={c: crop_of(c, row) for c, row in net.get("crops", {}).items()},
        tests={
            t: Test(t, t, (), row["effort"], (1, 2), row["cost"])
            for t, row in net.get("tests", {}).items()
        },
        questions={
            q: Question(q, "demo", "tick", q, "", 2, tuple(findings))
            for q, findings in net.get("lists", {}).items()
        },
    )


def report_of(kb: Knowledge, net: Spec, id_: str, given: str) -> Report:
    finding, settings = kb.findings[id_], settings_of(net)
    if given == "ticked":
        return ticked(finding, settings)
    if given == "not_ticked":
        return not_ticked(finding, looked=False, settings=settings)
    return said(finding, given, phone=net.get("phone", False), settings=settings)


def settings_of(net: Spec) -> Settings:
    """The design's figures, spelt out so that a re-measured default leaves the check alone."""
    return Settings(
        unlisted=net.get("unlisted", 0.12),
        pairs=net.get("pairs", 0.15),
        goes_with=10.0,
        slip={"none": 0.0, "low": 0.02, "medium": 0.05, "high": 0.12, "worst": 0.20},
        mistaken_share=0.75,
        ticked=(0.75, 0.02),
        group_power=0.3,
        not_host=0.02,
        unlisted_host=0.5,
    )


def ranked(net: Spec) -> tuple[Ranking, Observations, Scorer]:
    kb = knowledge_of(net)
    reports = {f: report_of(kb, net, f, given) for f, given in net["answers"].items()}
    seen = Observations(reports, net.get("crops_answer", {}))
    ranking = Ranker(Book(kb, settings_of(net))).rank(seen)
    return ranking, seen, Scorer(ranking, seen, phone=net.get("phone", False))


def factor(net: Spec, finding: str) -> float:
    """Members of a group that has an answer are damped by the design's .3."""
    for members in net.get("groups", {}).values():
        if finding in members and any(f in net["answers"] for f in members):
            return 0.3
    return 1.0


def test_the_frozen_figures_belong_to_the_networks_as_they_stand() -> None:
    digest = hashlib.sha256((DATA / "networks.yaml").read_bytes()).hexdigest()
    assert digest == FROZEN["networks_sha256"], "run tests/data/pgmpy/make_fixtures.py again"
    assert [net["name"] for net in NETWORKS] == list(EXPECTED)


@every_network
def test_every_hypothesis_has_the_outside_posterior(net: Spec) -> None:
    ranking, _, _ = ranked(net)
    book = ranking.book
    pairs = zip(book.first, book.second, strict=True)
    names = ["unlisted", *book.causes, *(f"{book.causes[i]}+{book.causes[j]}" for i, j in pairs)]
    ours = dict(zip(names, ranking.posterior.tolist(), strict=True))
    assert ours == pytest.approx(EXPECTED[net["name"]]["posterior"], rel=0, abs=1e-9)


@every_network
def test_a_cause_is_present_alone_or_in_any_of_its_pairs(net: Spec) -> None:
    ranking, _, _ = ranked(net)
    outside = EXPECTED[net["name"]]["posterior"]
    for cause in net["causes"]:
        total = sum(p for h, p in outside.items() if cause in h.split("+"))
        assert ranking.probability(cause) == pytest.approx(total, rel=0, abs=1e-9)


@every_network
def test_every_open_finding_has_the_outside_gain(net: Spec) -> None:
    ranking, _, scorer = ranked(net)
    gains = EXPECTED[net["name"]]["gains"]
    ours = scorer.single([ranking.book.kb.findings[f] for f in gains])
    outside = {f: gain * factor(net, f) for f, gain in gains.items()}
    assert ours == pytest.approx(outside, rel=0, abs=1e-9)


@every_network
def test_every_finding_has_the_outside_gain_before_anything_is_answered(net: Spec) -> None:
    kb = knowledge_of(net)
    ranking = Ranker(Book(kb, settings_of(net))).rank(Observations())
    scorer = Scorer(ranking, Observations(), phone=net.get("phone", False))
    ours = scorer.single(list(kb.findings.values()))
    assert ours == pytest.approx(EXPECTED[net["name"]]["first_gains"], rel=0, abs=1e-9)


with_lists = pytest.mark.parametrize(
    "net", [n for n in NETWORKS if "lists" in n], ids=lambda net: net["name"]
)


@with_lists
def test_a_tick_list_has_the_outside_gain_over_all_its_patterns(net: Spec) -> None:
    ranking, _, scorer = ranked(net)
    for list_, gain in EXPECTED[net["name"]]["lists"].items():
        findings = [ranking.book.kb.findings[f] for f in net["lists"][list_]]
        assert scorer.joint(findings) == pytest.approx(gain, rel=0, abs=1e-9)
        assert gain < sum(scorer.single(findings).values())  # the bound used for skipping lists


@with_lists
def test_the_best_list_comes_first_with_its_exact_gain(net: Spec) -> None:
    ranking, _, scorer = ranked(net)
    outside = EXPECTED[net["name"]]["lists"]
    best = scorer.best(ranking.book.kb.questions.values())[0]
    assert best.id == max(outside, key=lambda q: outside[q])
    assert best.gain == pytest.approx(outside[best.id], rel=0, abs=1e-9)
    assert best.per_effort == pytest.approx(outside[best.id] / 2, rel=0, abs=1e-9)


@pytest.mark.parametrize("net", [n for n in NETWORKS if "tests" in n], ids=lambda n: n["name"])
def test_tests_are_ranked_by_outside_gain_over_effort_and_cost(net: Spec) -> None:
    ranking, _, scorer = ranked(net)
    gains = EXPECTED[net["name"]]["gains"]
    rows = {t: row for t, row in net["tests"].items() if t in gains}
    worth = {t: gains[t] / (row["effort"] + COST[row["cost"]]) for t, row in rows.items()}
    ours = scorer.tests(ranking.book.kb.tests.values())
    assert [g.id for g in ours] == sorted(worth, key=lambda t: -worth[t])
    assert {g.id: g.per_effort for g in ours} == pytest.approx(worth, rel=0, abs=1e-9)


def test_the_networks_are_not_all_alike() -> None:
    leading = [max(p for p in row["posterior"].values()) for row in EXPECTED.values()]
    assert len(NETWORKS) >= 12
    assert len({round(p, 6) for p in leading}) == len(NETWORKS)
    assert np.ptp(leading) > 0.2
