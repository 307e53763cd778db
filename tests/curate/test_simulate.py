"""Simulated growers, on a tiny book so that it is quick and once on the whole one."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.curate.simulate import (
    Grower,
    Plan,
    Shuffled,
    draw_case,
    draw_causes,
    draw_crops,
    simulate,
    without,
)
from diagnose.interview.answers import read_answer
from diagnose.kb.load import load
from diagnose.kb.model import Knowledge
from diagnose.reasoning.book import Book
from diagnose.reasoning.hosts import lives_on
from diagnose.reasoning.settings import DEFAULT, HOW_COMMON

PERFECT = Grower(unknown=0.0, wrong=0.0)
CLUELESS = Grower(unknown=1.0)


def assert_sane(figures: dict[str, float], kb: Knowledge) -> None:
    shares = ("top1", "top3", "kind1", "sure_right", "undetermined_right", "brier", "ece", "both")
    for name in shares:
        assert 0 <= figures[name] <= 1, name
    assert figures["top1"] <= figures["top3"]
    most = len(kb.opening) + DEFAULT.cap
    assert len(kb.opening) <= figures["questions_median"] <= figures["questions_p90"] <= most


@pytest.mark.parametrize("order", list(Shuffled))
@pytest.mark.parametrize("causes", [1, 2])
def test_figures_are_sane_whatever_the_plan(
    order: Shuffled, causes: int, tiny_book: Knowledge
) -> None:
    figures = simulate(tiny_book, Plan(cases=12, causes=causes, seed=5, order=order))
    assert_sane(figures, tiny_book)
    assert figures["cases_known"] == 12


def test_the_whole_book_can_be_simulated(whole_book: Knowledge) -> None:
    figures = simulate(whole_book, Plan(cases=4, seed=11, grower=PERFECT))
    assert_sane(figures, whole_book)
    assert figures["top3"] >= 0.5


def test_same_seed_same_figures(tiny_book: Knowledge) -> None:
    plan = Plan(cases=8, seed=21)
    assert simulate(tiny_book, plan) == simulate(tiny_book, plan)


def test_growers_who_know_everything_are_told_better_than_those_who_know_nothing(
    tiny_book: Knowledge,
) -> None:
    perfect = simulate(tiny_book, Plan(cases=40, seed=2, grower=PERFECT))
    clueless = simulate(tiny_book, Plan(cases=40, seed=2, grower=CLUELESS))
    assert perfect["top1"] >= 0.85
    assert perfect["brier"] < clueless["brier"]
    assert clueless["sure_count"] == 0


def test_cause_taken_out_of_the_book_leaves_nothing_known(tiny_book: Knowledge) -> None:
    figures = simulate(tiny_book, Plan(cases=10, deleted=True, seed=3))
    assert (figures["cases_known"], figures["top1"], figures["both"]) == (0, 0.0, 0.0)
    assert list(without(tiny_book, ["thirst"]).causes) == ["cold_injury", "wet_roots"]
    assert "thirst" in tiny_book.causes


def test_true_causes_are_drawn_as_often_as_the_book_says(tiny_book: Knowledge) -> None:
    book, rng, draws = Book(tiny_book), np.random.default_rng(4), 3000
    counts = np.zeros(len(book.causes))
    for _ in range(draws):
        counts[draw_causes(book, 1, rng)[0]] += 1
    weights = np.array([HOW_COMMON[tiny_book.causes[c].how_common] for c in book.causes])
    expected = draws * weights / weights.sum()
    # Four standard deviations of a binomial count.
    allowed = 4 * np.sqrt(expected * (1 - expected / draws))
    assert (abs(counts - expected) < allowed).all()


def test_two_true_causes_are_of_two_kinds(tiny_book: Knowledge) -> None:
    book, rng = Book(tiny_book), np.random.default_rng(4)
    for _ in range(50):
        first, second = draw_causes(book, 2, rng)
        kinds = [tiny_book.causes[book.causes[i]].kind for i in (first, second)]
        assert kinds[0] != kinds[1]


def test_every_answer_of_a_simulated_grower_can_be_read(whole_book: Knowledge) -> None:
    book, rng = Book(whole_book), np.random.default_rng(8)
    case = draw_case(book, draw_causes(book, 1, rng), PERFECT, rng, "x")
    asked = {q.id for q in whole_book.questions.values() if q.form != "words"}
    # Who ticks nothing in a list and did not look for every sign tells nothing by it.
    silent = asked - set(case.answers)
    assert set(case.answers) <= asked
    assert all(whole_book.questions[q].form == "tick" for q in silent)
    assert len(silent) < len(asked) / 2
    for id_, raw in case.answers.items():
        assert read_answer(whole_book, id_, raw).question == id_


def test_grower_who_knows_nothing_answers_nothing(tiny_book: Knowledge) -> None:
    book, rng = Book(tiny_book), np.random.default_rng(8)
    assert draw_case(book, (0,), CLUELESS, rng, "x").answers == {}


def test_some_crop_is_always_hurt_and_only_one_the_cause_can_live_on(
    tiny_book: Knowledge,
) -> None:
    rng = np.random.default_rng(9)
    cold = tiny_book.causes["cold_injury"]
    for _ in range(40):
        crops = draw_crops(tiny_book, [cold], rng)
        hurt = {crop for crop, state in crops.items() if state == "hurt"}
        assert hurt
        assert set(crops.values()) <= {"hurt", "fine_beside"}
        assert len({tiny_book.crops[c].family for c in crops}) == len(crops)


def test_every_cause_of_the_book_hurts_some_crop_of_its_own() -> None:
    kb = load()
    for cause in kb.causes.values():
        drawn = draw_crops(kb, [cause], np.random.default_rng(3))
        assert "hurt" in drawn.values(), cause.id
        assert any(lives_on(cause, kb.crops[c]) for c in drawn), cause.id
