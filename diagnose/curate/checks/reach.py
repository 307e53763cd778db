"""Checks on what an interview can reach: pairs it can separate, causes it can bring to the top."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from diagnose.curate.checks.base import Check
from diagnose.curate.checks.lookalikes import CLEAR, pairs
from diagnose.kb.fault import Fault
from diagnose.kb.model import Cause, Finding, Knowledge
from diagnose.kb.tree import Tree
from diagnose.reasoning.book import Book
from diagnose.reasoning.hosts import chance_hurt
from diagnose.reasoning.likelihood import Array, Context, Index
from diagnose.reasoning.observations import FINE_BESIDE, HURT, Observations
from diagnose.reasoning.question import answer_table, information
from diagnose.reasoning.rank import Ranker
from diagnose.reasoning.report import Report, said
from diagnose.reasoning.settings import DEFAULT

HOST_GAP = 0.4
# The same worth per effort below which a settled interview stops asking.
WORTH = DEFAULT.keep_asking


def asked(kb: Knowledge) -> list[Finding]:
    """The findings an interview can settle without a test."""
    return [f for f in kb.findings.values() if f.form != "test"]


def host_table(kb: Knowledge) -> Array:
    """P(hurt | cause) per cause and crop: shape (causes, crops)."""
    return np.array(
        [[chance_hurt(c, crop, DEFAULT) for crop in kb.crops.values()] for c in kb.causes.values()]
    ).reshape(len(kb.causes), len(kb.crops))


def never_apart(kb: Knowledge) -> list[tuple[str, str]]:
    """Pairs of causes that no question separates: no answer's rate differs by .25, no host by .4.

    >>> from diagnose.reasoning import demo
    >>> x = demo.yes_no("x", 0.1)
    >>> same = {("x", "present"): "often"}
    >>> never_apart(demo.book([x], [demo.cause("a", same), demo.cause("b", same)]))
    [('a', 'b')]
    """
    book = Book(kb)
    n = len(book.causes)
    apart = np.zeros((n, n), dtype=bool)
    tables = [(book.rates(f, Context()).single, CLEAR) for f in asked(kb)]
    for table, gap in [*tables, (host_table(kb), HOST_GAP)]:
        for column in table.T:
            apart |= np.abs(column[:, None] - column[None, :]) >= gap - 1e-9
    first, second = np.nonzero(np.triu(~apart, 1))
    return [(book.causes[i], book.causes[j]) for i, j in zip(first, second, strict=True)]


class PairNeverApart(Check):
    """Two causes no question separates."""

    code = "KB251"
    level = "warning"
    about = "a pair of causes that no question separates"
    remedy = "Add evidence on what differs, or merge the two."

    def run(self, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Compare every pair on every finding but tests."""
        for first, second in never_apart(kb):
            wrong = f"no question separates '{first}' from '{second}'"
            yield self.fault(wrong, tree.place(kb.causes[first].file, "evidence"))


def best_case(book: Book, cause: Cause) -> Observations:
    """The answers that speak most for a cause, on the findings it states, and its hosts.

    Of every finding the value is said whose rate under the cause is highest above the average.
    """
    kb, at = book.kb, book.position[cause.id]
    reports: dict[str, Report] = {}
    for finding in asked(kb):
        rates = book.rates(finding, Context())
        if rates.stated[at]:
            lift = np.log(rates.single[at]) - np.log(book.common @ rates.single)
            reports[finding.id] = said(finding, finding.value_ids[int(lift.argmax())])
    chances = {c.id: chance_hurt(cause, c, DEFAULT) for c in kb.crops.values()}
    worst = max(chances, key=lambda c: chances[c], default="")
    spared = {kb.crops[c].family: c for c, p in chances.items() if p <= DEFAULT.not_host}
    crops = dict.fromkeys(spared.values(), FINE_BESIDE) | ({worst: HURT} if worst else {})
    return Observations(reports, crops)


class CauseNeverFirst(Check):
    """A cause no answers can bring to the top."""

    code = "KB252"
    level = "warning"
    about = "a cause that even its best answers do not bring to the top"
    remedy = "Another cause claims all it shows: state what only this one does."

    def run(self, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Rank the best case of every cause."""
        ranker = Ranker(Book(kb))
        for cause in kb.causes.values():
            ranking = ranker.rank(best_case(ranker.book, cause))
            leader = ranking.leaders(1)[0][0]
            if leader != cause.id:
                wrong = f"the best answers for '{cause.id}' still lead to '{leader}'"
                yield self.fault(wrong, tree.place(cause.file, "evidence"))


def worth_between(book: Book, findings: list[Finding], first: Index, second: Index) -> float:
    """The most a list of findings tells between any two look-alikes at even odds, in nat.

    The sum over the list; its exact gain is never more.
    """
    even = np.array([0.5, 0.5])
    total = np.zeros(len(first))
    for finding in findings:
        rates = book.rates(finding, Context()).single
        answers = rates @ answer_table(finding, False, book.settings)
        gaps = np.abs(answers[first] - answers[second]).max(axis=1)
        for k in np.flatnonzero(gaps > 1e-9):
            total[k] += information(even, answers[[first[k], second[k]]])
    return float(total.max(initial=0.0))


class QuestionNeverWorth(Check):
    """A question that tells no pair of look-alikes apart well enough to be worth its effort."""

    code = "KB253"
    level = "warning"
    about = "a question never worth asking between any two look-alikes"
    remedy = "Give the causes it should separate rows on it, or drop it."

    def run(self, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Measure each question that settles findings of its own."""
        book = Book(kb)
        if not all(cause.lookalikes for cause in kb.causes.values()):
            return  # told as KB211; a worth measured on half the pairs would mislead
        places = [(book.position[a], book.position[b]) for a, b in pairs(kb) if b in kb.causes]
        first, second = np.array(places, dtype=np.intp).reshape(-1, 2).T
        for question in kb.questions.values():
            findings = [kb.findings[f] for f in question.findings]
            if not findings or set(question.findings) & set(kb.at_hand.values()):
                continue
            worth = worth_between(book, findings, first, second) / question.effort
            if worth < WORTH:
                wrong = f"'{question.id}' is worth at most {worth:.3f} nat per effort"
                yield self.fault(wrong, tree.place(question.file))
