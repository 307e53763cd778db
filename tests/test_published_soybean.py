"""The interview on Soybean (Large), one fixed fold of eight: outside data, not ours.

Data and source: tests/data/soybean/README.md. All folds, other settings and plain classifiers:
tests/benchmarks/soybean.py. Thresholds leave room for the 85 cases of one fold.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent / "benchmarks"))

import soybean
import soybean_book


@pytest.fixture(scope="module")
def measured() -> soybean.Score:
    return soybean.one_fold(soybean_book.measured_book, soybean.EXACT)


@pytest.fixture(scope="module")
def worded() -> soybean.Score:
    return soybean.one_fold(soybean_book.worded_book, soybean.EXACT)


def test_the_data_are_the_published_ones() -> None:
    # UCI Soybean (Large), both files joined: 683 cases, 35 findings, 19 classes, 121 incomplete
    cases = soybean_book.read()
    assert cases.cells.shape == (683, 35)
    assert len(cases.classes) == 19
    assert int((cases.cells < 0).any(axis=1).sum()) == 121
    assert int((cases.cells < 0).sum()) == 2337


def test_every_fold_has_its_share_of_every_class() -> None:
    cases = soybean_book.read()
    fold = soybean_book.folds(cases, soybean.SEED)
    for label in range(19):
        per_fold = np.bincount(fold[cases.labels == label], minlength=soybean_book.FOLDS)
        assert np.ptp(per_fold) <= 1


def test_missing_cells_enter_no_frequency() -> None:
    cases = soybean_book.read()
    hail = cases.findings.index("hail")
    known = int((cases.cells[:, hail] >= 0).sum())
    assert soybean_book.counts(cases, hail).sum() == known < 683


def test_measured_rates_find_the_disease(measured: soybean.Score) -> None:
    assert len(measured.ranks) == pytest.approx(683 / 8, abs=1)
    assert measured.top(1) >= 0.88  # all folds: .94
    assert measured.top(3) >= 0.95  # all folds: .99


def test_few_questions_are_needed(measured: soybean.Score) -> None:
    assert np.mean(measured.questions) <= 9.0  # of 35; all folds: 6.7


def test_stated_probabilities_are_near_the_share_right(measured: soybean.Score) -> None:
    assert measured.ece <= 0.10  # all folds: .027


def test_six_words_do_nearly_as_well_as_measured_rates(worded: soybean.Score) -> None:
    assert worded.top(1) >= 0.86  # all folds: .915
    assert worded.top(3) >= 0.94  # all folds: .984
