"""How well the interview finds the disease on Soybean (Large), 8-fold, beside plain classifiers.

    pip install -e . scikit-learn
    python tests/benchmarks/soybean.py

scikit-learn is used here only. Each case is interviewed: the question with the highest gain is
asked, a missing cell is answered "don't know" (and counts as asked), until one class reaches .95
or nothing is left to ask. How far measured rates are smoothed is chosen inside each training part
(`chosen_smoothing`); Laplace's one case more of every value stands beside. About a minute.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from soybean_book import (
    FOLDS,
    Cases,
    chosen_smoothing,
    folds,
    laplace_book,
    measured_book,
    read,
    worded_book,
)

from diagnose.reasoning.book import Book
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.question import Scorer
from diagnose.reasoning.rank import Ranker, Ranking
from diagnose.reasoning.report import dont_know, said
from diagnose.reasoning.settings import DEFAULT, Settings

SURE = 0.95
SEED = 1
NO_SLIP = dict.fromkeys(DEFAULT.slip, 0.0)
EXACT = Settings(unlisted=0.0, pairs=0.0, slip=NO_SLIP)
SLIPPING = Settings(unlisted=0.0, pairs=0.0)
BookMaker = Callable[[Cases, Settings], Book]


@dataclass
class Score:
    """What came of a set of interviews."""

    ranks: list[int] = field(default_factory=list)
    stated: list[float] = field(default_factory=list)
    questions: list[int] = field(default_factory=list)

    def top(self, count: int) -> float:
        """Share of cases whose true class is among the first `count`."""
        return float(np.mean([rank <= count for rank in self.ranks]))

    @property
    def ece(self) -> float:
        """Expected calibration error of the leader, 10 equal bins."""
        p, right = np.array(self.stated), np.array([rank == 1 for rank in self.ranks])
        bins = np.minimum((p * 10).astype(int), 9)
        gaps = [abs(p[bins == b].sum() - right[bins == b].sum()) for b in range(10)]
        return float(sum(gaps) / len(p))


def interview(ranker: Ranker, cells: np.ndarray) -> tuple[int, Ranking]:
    """Interview one case; how many questions were asked, and the ranking at the end."""
    kb, settings = ranker.book.kb, ranker.book.settings
    seen = Observations()
    left = dict(enumerate(kb.findings.values()))
    asked = 0
    ranking = ranker.rank(seen)
    while left and float(ranking.present.max()) < SURE:
        gains = Scorer(ranking, seen).single(list(left.values()))
        best = max(left, key=lambda f: gains[left[f].id])
        finding, value = left.pop(best), cells[best]
        asked += 1
        known = value >= 0
        report = said(finding, f"v{value}", settings=settings) if known else dont_know(finding)
        seen = seen.with_report(report)
        ranking = ranker.rank(seen)
    return asked, ranking


def score_fold(book: Book, test: Cases, score: Score) -> None:
    """Interview every case of a fold."""
    ranker = Ranker(book)
    for label, cells in zip(test.labels, test.cells, strict=True):
        asked, ranking = interview(ranker, cells)
        leaders = ranking.leaders()
        names = [name for name, _ in leaders]
        score.ranks.append(names.index(test.classes[label]) + 1)
        score.stated.append(leaders[0][1])
        score.questions.append(asked)


def cross_validated(make: BookMaker, settings: Settings, seed: int = SEED) -> Score:
    """Interviews over all folds, each with a book made from the other seven."""
    cases, score = read(), Score()
    fold = folds(cases, seed)
    for k in range(FOLDS):
        score_fold(make(cases.part(fold != k), settings), cases.part(fold == k), score)
    return score


def one_fold(make: BookMaker, settings: Settings, seed: int = SEED) -> Score:
    """The first fold alone: the small fixed form for the tests."""
    cases, score = read(), Score()
    fold = folds(cases, seed)
    score_fold(make(cases.part(fold != 0), settings), cases.part(fold == 0), score)
    return score


def classifiers(seed: int = SEED) -> dict[str, float]:
    """Share first of plain classifiers with all 35 findings, on the same folds.

    Missing cells are filled with the commonest value of the training cases, never a code of
    their own, since missing cells give the class away.
    """
    from sklearn.naive_bayes import CategoricalNB
    from sklearn.tree import DecisionTreeClassifier

    cases = read()
    fold = folds(cases, seed)
    names = ("naive Bayes, all 35", "same, our smoothing", "decision tree, all 35")
    right = dict.fromkeys(names, 0)
    for k in range(FOLDS):
        train, test = cases.part(fold != k), cases.part(fold == k)
        usual = np.array([np.bincount(c[c >= 0]).argmax() for c in train.cells.T])
        x, y = (np.where(p.cells < 0, usual, p.cells) for p in (train, test))
        models = (
            CategoricalNB(min_categories=np.array(cases.values)),
            CategoricalNB(alpha=chosen_smoothing(train), min_categories=np.array(cases.values)),
            DecisionTreeClassifier(random_state=seed),
        )
        for name, model in zip(names, models, strict=True):
            right[name] += int((model.fit(x, train.labels).predict(y) == test.labels).sum())
    return {name: n / len(cases) for name, n in right.items()}


def main() -> None:
    """Print the table."""
    rows: list[tuple[str, BookMaker, Settings]] = [
        ("measured rates, slip 0, singles", measured_book, EXACT),
        ("same, Laplace's one case more", laplace_book, EXACT),
        ("measured rates, slip .05, singles", measured_book, SLIPPING),
        ("measured rates, shipped settings", measured_book, DEFAULT),
        ("six words, slip 0, singles", worded_book, EXACT),
        ("six words, shipped settings", worded_book, DEFAULT),
    ]
    print(f"{'':36}{'first':>8}{'in three':>10}{'questions':>11}{'ECE':>8}")
    for name, make, settings in rows:
        s = cross_validated(make, settings)
        asked = float(np.mean(s.questions))
        print(f"{name:36}{s.top(1):8.3f}{s.top(3):10.3f}{asked:11.1f}{s.ece:8.3f}", flush=True)
    for name, share in classifiers().items():
        print(f"{name:36}{share:8.3f}{'':>10}{35:11}")


if __name__ == "__main__":
    main()
