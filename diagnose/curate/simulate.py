"""Simulated growers: cases drawn from the book itself, answered with doubt and mistakes.

A truth (one cause, two, or one taken out of the book) is drawn by prior; its findings are drawn
from the book's own rates; a simulated grower answers the interview, not knowing some things and
getting some wrong. It shows what the questions and settings can do if the book is right; it can
never show that the book is right: published cases do that.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import Enum
from typing import Any

import numpy as np

from diagnose.curate.cases import Case
from diagnose.curate.trial import Tried, figures, interview_case, judge
from diagnose.interview.answers import DONT_KNOW, read_answer
from diagnose.interview.session import Session
from diagnose.interview.structured import structured
from diagnose.kb.model import PRESENT, Cause, Crop, Finding, Knowledge, Question
from diagnose.reasoning.book import Book
from diagnose.reasoning.derive import derive
from diagnose.reasoning.hosts import chance_hurt, lives_on
from diagnose.reasoning.likelihood import Context
from diagnose.reasoning.question import Gain
from diagnose.reasoning.rank import Ranker, Ranking
from diagnose.reasoning.settings import DEFAULT

Rng = np.random.Generator
CANDIDATES = 40
TODAY = "2026-05-20"


@dataclass(frozen=True, slots=True)
class Grower:
    """How a simulated grower answers: shares of questions unknown and answered wrongly."""

    unknown: float = 0.15
    wrong: float = 0.05


class Shuffled(Enum):
    """The order chosen questions are asked in: by their worth, or one of two baselines."""

    BY_WORTH = "by worth"
    FILE = "file order"
    RANDOM = "random order"


@dataclass(frozen=True, slots=True)
class Plan:
    """What is simulated. `deleted` takes the true cause out of the ranking book."""

    cases: int = 200
    causes: int = 1
    deleted: bool = False
    grower: Grower = Grower()
    seed: int = 1
    order: Shuffled = Shuffled.BY_WORTH


def simulate(kb: Knowledge, plan: Plan, ranker: Ranker | None = None) -> dict[str, float]:
    """Run a plan and return the figures of a trial over it.

    With `deleted`, every case counts as undetermined: right when nothing is called likely. With
    two causes, `both` is the share of cases where both are among the first three.
    """
    book = Book(kb)
    ranker = ranker or Ranker(book)
    rng = np.random.default_rng(plan.seed)
    tried: list[Tried] = []
    both = 0
    for number in range(plan.cases):
        true = draw_causes(book, plan.causes, rng)
        case = draw_case(book, true, plan.grower, rng, f"s{number}")
        using = ranker
        if plan.deleted:
            using = Ranker(Book(without(kb, [book.causes[i] for i in true])))
            case = Case(case.id, case.answers)
        session = Session(using)
        if plan.order is not Shuffled.BY_WORTH:
            session = _Ordered(using, order=_order(kb, plan.order, rng))
        tried.append(judge(using, case, interview_case(using, case, session=session)))
        both += bool(case.expect) and set(case.expect) <= {c for c, _ in tried[-1].top}
    return {**figures(tried), "both": round(both / plan.cases, 4)}


def _order(kb: Knowledge, order: Shuffled, rng: Rng) -> list[str]:
    ids = list(kb.questions)
    return ids if order is Shuffled.FILE else [ids[int(k)] for k in rng.permutation(len(ids))]


@dataclass(slots=True)
class _Ordered(Session):
    """An interview that asks in a fixed order, with the same stop as the real one."""

    order: list[str] = field(default_factory=list)

    def gains(self, ranking: Ranking) -> list[Gain]:
        known = Session.gains(self, ranking)
        askable = {g.id for g in known}
        # What is left to gain decides whether to stop, as in the real one; the order only picks.
        left = known[0].per_effort if known else 0.0
        return [Gain(q, 0.0, left) for q in self.order if q in askable]


def without(kb: Knowledge, causes: Sequence[str]) -> Knowledge:
    """The same book with some causes taken out."""
    from dataclasses import replace

    return replace(kb, causes={i: c for i, c in kb.causes.items() if i not in causes})


def draw_causes(book: Book, count: int, rng: Rng) -> tuple[int, ...]:
    """Positions of the true causes, by prior."""
    if count == 1:
        return (int(rng.choice(len(book.causes), p=book.common)),)
    weights = book.prior[len(book.causes) + 1 :]
    k = int(rng.choice(len(weights), p=weights / weights.sum()))
    return int(book.first[k]), int(book.second[k])


def draw_case(book: Book, true: tuple[int, ...], grower: Grower, rng: Rng, id_: str) -> Case:
    """A case file as a simulated grower would fill it in if asked everything."""
    kb = book.kb
    crops = draw_crops(kb, [kb.causes[book.causes[i]] for i in true], rng)
    hurt = frozenset(c for c, s in crops.items() if s == "hurt")
    varying = {f.background.vary_by for f in kb.findings.values()} - {""}
    truth: dict[str, str] = {}
    for id2 in sorted(varying):
        truth[id2] = _draw(book, kb.findings[id2], true, Context(hurt), rng)
    context = Context(hurt, tuple(sorted(truth.items())))
    for finding in kb.findings.values():
        if finding.form != "derived" and finding.id not in truth:
            truth[finding.id] = _draw(book, finding, true, context, rng)
    answers: dict[str, Any] = {}
    for question in kb.questions.values():
        if rng.random() < grower.unknown:
            continue
        wrong = rng.random() < grower.wrong
        if question.form == "crops":
            answers[question.id] = crops
        elif question.form in ("inputs", "timeline"):
            answers[question.id] = _structured(book, question, true, context, rng)
        elif question.form != "words":
            answers[question.id] = _answer(kb, question, truth, wrong, rng)
    names = tuple(book.causes[i] for i in true)
    kinds = tuple(dict.fromkeys(kb.causes[n].kind for n in names))
    return Case(id_, {q: a for q, a in answers.items() if a != DONT_KNOW}, names, kinds)


def _distribution(
    book: Book, finding: Finding, true: tuple[int, ...], context: Context
) -> np.ndarray[Any, np.dtype[np.float64]]:
    rates = book.rates(finding, context)
    if len(true) == 1:
        alone: np.ndarray[Any, np.dtype[np.float64]] = rates.single[true[0]]
        return alone
    pair = rates.pairs(np.array([true[0]]), np.array([true[1]]))
    row: np.ndarray[Any, np.dtype[np.float64]] = pair[0]
    return row


def _draw(book: Book, finding: Finding, true: tuple[int, ...], context: Context, rng: Rng) -> str:
    p = _distribution(book, finding, true, context)
    return finding.value_ids[int(rng.choice(len(p), p=p / p.sum()))]


def draw_crops(kb: Knowledge, causes: Sequence[Cause], rng: Rng) -> dict[str, str]:
    """Two to five crops of different families, at least one of them hurt."""
    by_family: dict[str, list[Crop]] = {}
    for crop in kb.crops.values():
        if crop.grows_as in ("vegetable", "herb", "grass"):
            by_family.setdefault(crop.family, []).append(crop)
    everywhere = [c for c in kb.crops.values() if any(lives_on(x, c) for x in causes)]
    # What lives on flowers alone is met among flowers.
    hosts = [c for c in everywhere if c in by_family.get(c.family, ())] or everywhere
    favourites = [c for c in hosts if c.family in ("solanaceae", "cucurbitaceae", "fabaceae")]
    for _ in range(200):
        pool = favourites if favourites and rng.random() < 0.7 else hosts
        first = pool[int(rng.integers(len(pool)))]
        families = [f for f in by_family if f != first.family]
        count = min(int(rng.integers(1, 5)), len(families))
        others = rng.choice(len(families), size=count, replace=False)
        chosen = [first]
        for j in others:
            row = by_family[families[int(j)]]
            chosen.append(row[int(rng.integers(len(row)))])
        result = {}
        for crop in chosen:
            chances = [chance_hurt(x, crop, DEFAULT) for x in causes]
            p = 1.0 - float(np.prod([1.0 - c for c in chances]))
            result[crop.id] = "hurt" if rng.random() < p else "fine_beside"
        if "hurt" in result.values():
            return result
    return {hosts[0].id: "hurt"}


def _answer(kb: Knowledge, question: Question, truth: dict[str, str], wrong: bool, rng: Rng) -> Any:
    findings = [kb.findings[f] for f in question.findings]
    if question.form == "tick":
        # Who looks for every sign misses few; who only ticks what strikes them leaves much untold.
        looked = rng.random() < 0.5
        hit, false = DEFAULT.ticked
        if looked:
            hit = 1.0 - DEFAULT.slip_of("medium")
        ticks = [
            f.id for f in findings if rng.random() < (hit if truth[f.id] == PRESENT else false)
        ]
        if wrong:
            odd = findings[int(rng.integers(len(findings)))].id
            ticks = [t for t in ticks if t != odd] if odd in ticks else [*ticks, odd]
        if looked:
            return {"ticked": ticks, "looked_for": "all"}
        return {"ticked": ticks} if ticks else DONT_KNOW
    finding = findings[0]
    value = truth[finding.id]
    if wrong:
        others = [v for v in finding.value_ids if v != value]
        value = others[int(rng.integers(len(others)))]
    if question.form == "choice":
        return value
    return _number(finding, value)


def _number(finding: Finding, value: str) -> str:
    """A number inside a band."""
    i = finding.index(value)
    low = finding.plausible[0] if i == 0 else float(finding.values[i - 1].below or 0)
    top = finding.values[i].below
    high = finding.plausible[1] if top is None else top
    inner = low + 0.3 * (high - low) if top is not None else low + 0.1 * (high - low)
    return f"{inner:.3f}"


def _structured(
    book: Book, question: Question, true: tuple[int, ...], context: Context, rng: Rng
) -> Any:
    """An inputs or timeline answer, drawn so that its derived findings fit the truth.

    Many are drawn at random and one is kept by how likely its derived findings are.
    """
    make: Callable[[Knowledge, Rng], Any] = _inputs if question.form == "inputs" else _timeline
    candidates, weights = [], []
    for _ in range(CANDIDATES):
        raw = make(book.kb, rng)
        answer = read_answer(book.kb, question.id, raw)
        log = 0.0
        for report in derive(book.kb, structured({question.id: answer}, book.kb)):
            finding = book.kb.findings[report.finding]
            p = _distribution(book, finding, true, context)
            base = np.asarray(finding.background.rates)
            like = np.asarray(report.likelihood)
            log += float(np.log((p @ like) / (base @ like)))
        candidates.append(raw)
        weights.append(log)
    w = np.exp(np.array(weights) - max(weights))
    return candidates[int(rng.choice(CANDIDATES, p=w / w.sum()))]


def _inputs(kb: Knowledge, rng: Rng) -> dict[str, list[str]]:
    waters = [i.id for i in kb.inputs.values() if i.id.endswith("_water")]
    rest = [i.id for i in kb.inputs.values() if i.id not in waters]
    raw: dict[str, list[str]] = {"water": [waters[int(rng.integers(len(waters)))]]}
    for slot, most in (("mix", 3), ("ground", 2), ("mulch", 2), ("feed", 2)):
        if slot not in kb.slots:
            continue
        count = min(int(rng.integers(0, most)), len(rest))
        picks = rng.choice(len(rest), size=count, replace=False)
        raw[slot] = [rest[int(k)] for k in picks]
    # Most growers use a bought mix, whatever else goes in.
    usual = "bought_potting_mix"
    if rng.random() < 0.6 and usual in kb.inputs and usual not in raw["mix"]:
        raw["mix"].append(usual)
    return raw


def _timeline(kb: Knowledge, rng: Rng) -> dict[str, Any]:
    import datetime as dt

    today = dt.date.fromisoformat(TODAY)
    right = today - dt.timedelta(days=int(rng.integers(1, 30)))
    names = list(kb.events)
    events = []
    count = min(int(rng.integers(1, 4)), len(names))
    for k in rng.choice(len(names), size=count, replace=False):
        when = today - dt.timedelta(days=int(rng.integers(0, 70)))
        events.append({"event": names[int(k)], "when": when.isoformat()})
    return {"last_right": right.isoformat(), "events": events}
