"""Soybean (Large) as folds and books: causes whose rates are measured frequencies, or six words."""

from __future__ import annotations

import csv
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from diagnose.kb.model import Cause, Evidence, Finding
from diagnose.reasoning import demo
from diagnose.reasoning.book import Book
from diagnose.reasoning.likelihood import Array, Context, FindingRates
from diagnose.reasoning.settings import HOW_COMMON, HOW_OFTEN, Settings

DATA = Path(__file__).parent.parent / "data" / "soybean" / "soybean.csv"
FOLDS = 8
LAPLACE = 1.0  # one case more of every value
SMOOTHINGS = (1.0, 0.5, 0.25, 0.1, 0.05, 0.02, 0.01)


@dataclass(frozen=True)
class Cases:
    """Rows of the data: `cells[case, finding]` is the value's code, -1 where missing."""

    classes: tuple[str, ...]
    findings: tuple[str, ...]
    values: tuple[int, ...]  # how many values each finding has
    labels: np.ndarray
    cells: np.ndarray

    def __len__(self) -> int:
        return len(self.labels)

    def part(self, rows: np.ndarray) -> Cases:
        return replace(self, labels=self.labels[rows], cells=self.cells[rows])


def read() -> Cases:
    with DATA.open(encoding="utf-8", newline="") as file:
        header, *rows = list(csv.reader(file))
    classes = tuple(sorted({row[0] for row in rows}))
    cells = np.array([[int(c) if c else -1 for c in row[1:]] for row in rows])
    labels = np.array([classes.index(row[0]) for row in rows])
    return Cases(classes, tuple(header[1:]), tuple(cells.max(axis=0) + 1), labels, cells)


def folds(cases: Cases, seed: int) -> np.ndarray:
    """The fold of every case: each class dealt out evenly, shuffled by the seed."""
    random = np.random.default_rng(seed)
    result = np.empty(len(cases), dtype=int)
    dealt = 0
    for label in range(len(cases.classes)):
        rows = random.permutation(np.flatnonzero(cases.labels == label))
        result[rows] = (dealt + np.arange(len(rows))) % FOLDS
        dealt += len(rows)
    return result


def counts(cases: Cases, finding: int) -> Array:
    """(classes, values): how often each value was met; missing cells are left out."""
    table = np.zeros((len(cases.classes), cases.values[finding]))
    known = cases.cells[:, finding] >= 0
    np.add.at(table, (cases.labels[known], cases.cells[known, finding]), 1.0)
    return table


def smoothed(table: Array, added: float) -> Array:
    rates: Array = (table + added) / (table + added).sum(axis=-1, keepdims=True)
    return rates


def chosen_smoothing(cases: Cases) -> float:
    """The smoothing that best foretells held-out cells of the training cases.

    Worked out inside the training folds alone, so that nothing is tuned on the cases tested.
    """
    fold = folds(cases, seed=0)
    worth = dict.fromkeys(SMOOTHINGS, 0.0)
    for k in range(FOLDS):
        train, held = cases.part(fold != k), cases.part(fold == k)
        for f in range(len(cases.findings)):
            table, known = counts(train, f), held.cells[:, f] >= 0
            at = held.labels[known], held.cells[known, f]
            for added in SMOOTHINGS:
                worth[added] += float(np.log(smoothed(table, added)[at]).sum())
    return max(SMOOTHINGS, key=lambda added: worth[added])


def finding_objects(cases: Cases) -> list[Finding]:
    """Choice findings without a normal value; background as often as in all cases together."""
    result = []
    for f, id_ in enumerate(cases.findings):
        rates = smoothed(counts(cases, f).sum(axis=0), LAPLACE)
        result.append(demo.choice(id_, {f"v{v}": float(p) for v, p in enumerate(rates)}))
    return result


def how_common(cases: Cases) -> Array:
    share: Array = np.bincount(cases.labels, minlength=len(cases.classes)) / len(cases)
    return share


def laplace_book(cases: Cases, settings: Settings) -> Book:
    """A book with measured rates, one case more of every value."""
    return measured_book(cases, settings, LAPLACE)


def measured_book(cases: Cases, settings: Settings, added: float | None = None) -> Book:
    """A book with measured rates: they are put where the book keeps its worked-out rates."""
    added = added or chosen_smoothing(cases)
    findings = finding_objects(cases)
    kb = demo.book(findings, [demo.cause(c, {}) for c in cases.classes])
    book = Book(kb, settings)
    book.__dict__["common"] = how_common(cases)
    for f, finding in enumerate(findings):
        table = counts(cases, f)
        stated = table.sum(axis=1) > 0
        background = np.array(finding.background.rates)
        single = np.where(stated[:, None], smoothed(table, added), background)
        book._rates[finding.id, Context()] = FindingRates(background, single, stated, None)
    return book


def worded_book(cases: Cases, settings: Settings) -> Book:
    """The same knowledge as a keeper would write it: every rate the nearest of the six words.

    How common a class is becomes one of the words too, the commonest "very common".
    """
    share = how_common(cases)
    causes = [_worded_cause(cases, c, float(share[c] / share.max())) for c in range(len(share))]
    return Book(demo.book(finding_objects(cases), causes), settings)


def _worded_cause(cases: Cases, label: int, relative: float) -> Cause:
    rows = []
    for f, id_ in enumerate(cases.findings):
        table = counts(cases, f)[label]
        if table.sum() > 0:
            words = [nearest(float(p)) for p in smoothed(table, LAPLACE)]
            rows += [Evidence(id_, f"v{v}", w) for v, w in enumerate(words)]  # type: ignore[arg-type]
    weight = relative * HOW_COMMON["very_common"]
    common = min(HOW_COMMON, key=lambda w: abs(np.log(HOW_COMMON[w] / weight)))
    plain = demo.cause(cases.classes[label], {}, how_common=common)
    return replace(plain, evidence=tuple(rows))


def nearest(rate: float) -> str:
    """The frequency word with the nearest rate."""
    return min(HOW_OFTEN, key=lambda word: abs(HOW_OFTEN[word] - rate))
