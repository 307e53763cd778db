"""The reasoning's formulas, written down a second time and on purpose not taken from the program.

`make_fixtures.py` hands these numbers to a general Bayesian-network library. Source of every
figure: the reasoning section of DEVELOPERS.md (words, prior, slips, ticks, hosts, rules).
"""

from __future__ import annotations

from itertools import combinations
from typing import Any

Spec = dict[str, Any]
Rates = dict[str, float]

OFTEN = {
    "always": 0.98,
    "usually": 0.85,
    "often": 0.50,
    "sometimes": 0.35,
    "rarely": 0.10,
    "never": 0.02,
}
COMMON = {
    "very_common": 100,
    "common": 30,
    "uncommon": 10,
    "rare": 3,
    "very_rare": 1,
    "exceptional": 0.3,
}
SLIPS = ["low", "medium", "high", "worst"]
SLIP = {"low": 0.02, "medium": 0.05, "high": 0.12, "worst": 0.20}
TICKED = {"present": 0.75, "absent": 0.02}
EFFECT = {
    "rules_out": 0.001,
    "strongly_against": 0.1,
    "against": 1 / 3,
    "for": 3.0,
    "strongly_for": 10.0,
}
REACH = {"sweeping": 0.95, "patchy": 0.6, "single_plants": 0.25}
GRADE = {"high": 1.0, "moderate": 0.7, "low": 0.3, "tolerant": 0.05, "uncertain": 0.5}
COST = {"free": 0, "cheap": 1, "moderate": 2, "laboratory": 4}
GROUP_POWER = 0.3
NOT_HOST = 0.02
UNLISTED_HURT = 0.5


def common(net: Spec) -> Rates:
    """How common each cause is, summing to 1."""
    weights = {c: COMMON[row.get("how_common", "common")] for c, row in net["causes"].items()}
    total = sum(weights.values())
    return {c: w / total for c, w in weights.items()}


def hypotheses(net: Spec) -> dict[tuple[str, ...], float]:
    """Prior of (), every (cause,) and every (cause, cause) of different kinds."""
    causes, share = net["causes"], common(net)
    unlisted = net.get("unlisted", 0.12)
    all_pairs = net.get("pairs", 0.15)
    products: dict[tuple[str, ...], float] = {}
    for a, b in combinations(causes, 2):
        if causes[a].get("kind", a) != causes[b].get("kind", b) and all_pairs:
            together = b in causes[a].get("goes_with", []) or a in causes[b].get("goes_with", [])
            products[a, b] = share[a] * share[b] * (10 if together else 1)
    pairs = all_pairs if products else 0.0
    prior: dict[tuple[str, ...], float] = {(): unlisted}
    prior |= {(c,): (1 - unlisted - pairs) * s for c, s in share.items()}
    whole = sum(products.values())
    prior |= {h: pairs * p / whole for h, p in products.items()}
    return prior


def own_rates(net: Spec, cause: str, finding: str, background: Rates) -> Rates | None:
    """One cause's rates over the values of a finding; None when it says nothing about it."""
    said: Rates = {}
    hurt = {c for c, status in net.get("crops_answer", {}).items() if status == "hurt"}
    rows = [r for r in net["causes"][cause].get("evidence", []) if r[0] == finding]
    for _, value, word, *crops in rows:  # rows for all crops first, then the narrower
        if not crops:
            said[value] = OFTEN[word]
    for _, value, word, *crops in rows:
        if crops and (not hurt or hurt & set(crops[0])):
            said[value] = OFTEN[word]
    if not said:
        return None
    total = sum(said.values())
    rest = {v: b for v, b in background.items() if v not in said}
    if not rest:
        return {v: said[v] / total for v in background}
    most = 0.88 if len(background) > 2 else 0.98
    if total > most:
        said = {v: r * most / total for v, r in said.items()}
        total = most
    left = {v: (1 - total) * b / sum(rest.values()) for v, b in rest.items()}
    return {v: said[v] if v in said else left[v] for v in background}


def slip(finding: Spec, phone: bool) -> float:
    """Chance of a wrong plain answer; none for tests, one step worse by phone."""
    if finding["form"] == "test":
        return 0.0
    step = SLIPS.index(finding.get("slip", "medium")) + (1 if phone else 0)
    return SLIP[SLIPS[min(step, 3)]]


def plain_answer(finding: Spec, value: str, phone: bool) -> Rates:
    """P(this value is said | true value): 1 - slip; three quarters of the slip to its doubles."""
    wrong = slip(finding, phone)
    others = [v for v in finding["background"] if v != value]
    near = [v for v in finding.get("mistaken_for", {}).get(value, []) if v in others]
    far = [v for v in others if v not in near]
    to_near = wrong * (0.75 if far else 1.0) if near else 0.0
    said = {value: 1 - wrong}
    said |= {v: to_near / len(near) for v in near}
    said |= {v: (wrong - to_near) / len(far) for v in far}
    return {v: said[v] for v in finding["background"]}


def answer(finding: Spec, given: str, phone: bool) -> Rates:
    """Weights of an answer over true values; `ticked` and `not_ticked` belong to tick lists."""
    if given == "ticked":
        return dict(TICKED)
    if given == "not_ticked":  # and not looked for
        return {v: 1 - p for v, p in TICKED.items()}
    return plain_answer(finding, given, phone)


def asked(finding: Spec, phone: bool) -> list[list[float]]:
    """Table P(answer | true value), answers in rows, each column summing to 1."""
    values = list(finding["background"])
    if finding["form"] == "tick":
        return [[TICKED[v] for v in values], [1 - TICKED[v] for v in values]]
    rows = [plain_answer(finding, v, phone) for v in values]
    totals = {v: sum(row[v] for row in rows) for v in values}
    return [[row[v] / totals[v] for v in values] for row in rows]
