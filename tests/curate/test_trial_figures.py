"""The figures of a trial, against hand counts and published examples."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.curate.trial import Tried, calibration_error, figures


def tried(
    rank: int = 1,
    stated: float = 0.9,
    right: bool | None = None,
    kind_right: bool | None = None,
    questions: int = 10,
) -> Tried:
    return Tried(
        id="case",
        rank=rank,
        probability=0.0,
        questions=questions,
        verdict="likely",
        stated=stated,
        top=(),
        kind="",
        right=rank == 1 if right is None else right,
        kind_right=kind_right,
    )


def test_ranks_are_counted_over_the_cases_with_a_known_cause() -> None:
    got = figures([tried(1), tried(1), tried(2), tried(3), tried(4), tried(0, right=True)])
    assert got["cases_known"] == 5
    assert got["top1"] == 0.4
    assert got["top3"] == 0.8


def test_open_cases_are_right_when_nothing_was_called_likely() -> None:
    got = figures([tried(0, right=True), tried(0, right=True), tried(0, right=False), tried(1)])
    assert got["undetermined_right"] == pytest.approx(2 / 3, abs=1e-4)


def test_kinds_are_counted_over_the_cases_that_expect_one() -> None:
    kinds = [True, True, False, None, None]
    assert figures([tried(kind_right=k) for k in kinds])["kind1"] == pytest.approx(2 / 3, abs=1e-4)


def test_sure_are_the_known_cases_told_at_eight_in_ten_or_more() -> None:
    cases = [tried(1, 0.8), tried(1, 0.95), tried(2, 0.99), tried(2, 0.79), tried(0, 0.9)]
    got = figures(cases)
    assert got["sure_count"] == 3
    assert got["sure_right"] == pytest.approx(2 / 3, abs=1e-4)


def test_brier_is_that_of_a_published_example() -> None:
    # scikit-learn, documentation of brier_score_loss: these four give 0.0375. There the figure
    # stated is for the event; here it is for the cause named, right or not.
    stated, right = [0.1, 0.9, 0.8, 0.3], [False, True, True, False]
    cases = [tried(1 if r else 2, p) for p, r in zip(stated, right, strict=True)]
    assert figures(cases)["brier"] == 0.0375


def test_brier_leaves_open_cases_out() -> None:
    assert figures([tried(1, 0.5), tried(0, 0.99, right=False)])["brier"] == 0.25


def test_calibration_error_is_that_of_a_published_example() -> None:
    # torchmetrics, documentation of BinaryCalibrationError: 0.29 (two bins; with ten the gaps
    # within each half have one sign, so that the sum is the same).
    stated = [0.25, 0.25, 0.55, 0.75, 0.75]
    right = [False, False, True, True, True]
    assert calibration_error(list(zip(stated, right, strict=True))) == pytest.approx(0.29)


def test_calibration_error_by_hand_over_bins_of_a_tenth() -> None:
    # Bin .6-.7: three at .65, one right: |.65 - 1/3| x 3/4. Bin .9-1: one at 1.0, right: 0.
    told = [(0.65, True), (0.65, False), (0.65, False), (1.0, True)]
    assert calibration_error(told) == pytest.approx((0.65 - 1 / 3) * 0.75)
    assert figures([tried(1 if r else 2, p) for p, r in told])["ece"] == 0.2375


def test_gaps_of_one_bin_make_up_for_each_other_and_those_of_two_do_not() -> None:
    assert calibration_error([(0.5, True), (0.5, False)]) == 0.0
    assert calibration_error([(0.49, True), (0.51, False)]) == pytest.approx(0.51)


def test_perfect_and_perfectly_wrong_statements_are_the_two_ends() -> None:
    assert calibration_error([(1.0, True), (0.0, False)]) == 0.0
    assert calibration_error([(1.0, False)] * 3) == 1.0
    assert calibration_error([]) == 0.0


@pytest.mark.parametrize("count", [1, 2, 5, 10, 11, 200])
def test_median_and_ninth_tenth_of_the_questions_are_those_of_numpy(count: int) -> None:
    asked = [int(n) for n in np.random.default_rng(count).integers(3, 26, count)]
    got = figures([tried(questions=n) for n in asked])
    assert got["questions_median"] == np.median(asked)
    assert got["questions_p90"] == np.quantile(asked, 0.9, method="lower")


def test_no_case_at_all_gives_noughts_not_a_crash() -> None:
    assert set(figures([]).values()) == {0}
