"""What the words of a story weigh."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from diagnose.kb.load import load
from diagnose.kb.model import Knowledge
from diagnose.reasoning import demo
from diagnose.reasoning.book import Book
from diagnose.reasoning.explain import STORY, weights
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.rank import Ranker
from diagnose.reasoning.settings import DEFAULT
from diagnose.reasoning.words import WordModel, smoothed


def told(**complaints: tuple[str, ...]) -> Knowledge:
    """A book of causes that state nothing but how growers tell of them."""
    kb = demo.book([], [demo.cause(id_, {}) for id_ in complaints])
    causes = {id_: replace(kb.causes[id_], told_as=said) for id_, said in complaints.items()}
    return replace(kb, causes=causes)


PESTS = told(
    mites=("Fine webs between the leaves, pale specks", "webs and dusty leaves"),
    drought=("Leaves hang at noon", "limp leaves, dry pots"),
)


def ranked(kb: Knowledge, story: str) -> dict[str, float]:
    return dict(Ranker(Book(kb)).rank(Observations(story=story)).leaders())


def test_shares_of_words_equal_a_published_worked_example() -> None:
    """Manning, Raghavan and Schuetze, Introduction to Information Retrieval, table 13.1.

    Of 4 documents 3 are about China: (Chinese 5, Beijing 1, Shanghai 1, Macao 1), the other holds
    Tokyo, Japan and Chinese. With one added to the count of each of six words, that is with mu = 6
    and all words even, P(Chinese | yes) = 3/7, P(Tokyo | yes) = 1/14, P(Chinese | no) = 2/9.
    """
    words = ["Chinese", "Beijing", "Shanghai", "Macao", "Tokyo", "Japan"]
    counts = np.array([[5, 1, 1, 1, 0, 0], [1, 0, 0, 0, 1, 1]], dtype=float)
    found = smoothed(counts, np.full(6, 1 / 6), mu=6)
    wanted = {
        (0, "Chinese"): Fraction(3, 7),
        (0, "Tokyo"): Fraction(1, 14),
        (0, "Japan"): Fraction(1, 14),
        (1, "Chinese"): Fraction(2, 9),
        (1, "Tokyo"): Fraction(2, 9),
        (1, "Japan"): Fraction(2, 9),
    }
    for (row, word), share in wanted.items():
        assert found[row, words.index(word)] == pytest.approx(float(share), abs=1e-12)
    assert found.sum(axis=1) == pytest.approx([1, 1])


def test_a_story_leans_to_the_cause_it_is_told_of_like() -> None:
    assert ranked(PESTS, "There are webs on them")["mites"] > ranked(PESTS, "")["mites"]
    assert ranked(PESTS, "They hang at noon")["drought"] > ranked(PESTS, "")["drought"]


@pytest.mark.parametrize("story", ["", "Zzz qqq", "the and with", "No."])
def test_words_the_book_does_not_know_weigh_nothing(story: str) -> None:
    assert ranked(PESTS, story) == ranked(PESTS, "")


def test_what_is_denied_does_not_count_as_seen() -> None:
    assert ranked(PESTS, "I see no webs")["mites"] <= ranked(PESTS, "")["mites"]


def test_what_the_teller_suspects_weighs_nothing() -> None:
    plain = ranked(PESTS, "Leaves hang.")
    assert ranked(PESTS, "Leaves hang. I think it is webs of something") == plain


def test_order_and_repetition_of_words_change_nothing() -> None:
    once = ranked(PESTS, "webs, pale specks")
    assert ranked(PESTS, "Pale specks. Webs! Webs and webs") == once


def test_a_pair_may_owe_each_word_to_either_cause() -> None:
    model = WordModel(PESTS, DEFAULT)
    heard = model.heard("webs at noon")
    alone = model.single(heard)
    both = model.pairs(heard, np.array([0]), np.array([1]))[0]
    ratios = np.exp(model.table[:, [model.place[s] for s in heard]])
    by_hand = DEFAULT.words_power * sum(np.log(column.mean()) for column in ratios.T)
    assert both == pytest.approx(by_hand)
    assert both >= alone.mean()


def test_a_long_story_weighs_less_a_word_but_more_in_all() -> None:
    model = WordModel(load(), DEFAULT)
    short = model.heard("webbing between the leaves, dusty specks")
    enough = int(DEFAULT.words_enough)
    padding = tuple(s for s in model.place if s not in short)[: 4 * enough - len(short)]
    long = (*short, *padding)
    each = model.table[:, [model.place[s] for s in long]].sum(axis=1)
    assert model.single(short) == pytest.approx(
        DEFAULT.words_power * model.table[:, [model.place[s] for s in short]].sum(axis=1)
    )
    assert model.single(long) == pytest.approx(DEFAULT.words_power / 2 * each)


def test_weight_of_the_story_is_the_ranking_with_it_less_that_without() -> None:
    ranker = Ranker(Book(PESTS))
    seen = Observations(story="webs and pale specks")
    ranking = ranker.rank(seen)
    less = ranker.rank(Observations())
    for i, id_ in enumerate(ranker.book.causes):
        p, q = ranking.probability(id_), less.probability(id_)
        wanted = np.log(p / (1 - p)) - np.log(q / (1 - q))
        assert weights(ranker, seen, ranking).table[STORY][i] == pytest.approx(wanted)


def test_words_that_speak_for_a_cause_are_shown_as_they_were_told() -> None:
    model = WordModel(load(), DEFAULT)
    story = "Fine webbing between the leaves and they look dusty"
    place = list(load().causes).index("spider_mite")
    assert "webbing" in model.telling(story, place)
