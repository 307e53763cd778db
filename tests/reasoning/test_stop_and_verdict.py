"""When asking stops and what may be said, from posteriors set by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np
import pytest

from diagnose.kb.model import Evidence, Finding, Knowledge, Test, Value
from diagnose.reasoning import demo
from diagnose.reasoning.book import Book
from diagnose.reasoning.explain import Weights
from diagnose.reasoning.likelihood import Context
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.question import Gain
from diagnose.reasoning.rank import Ranker, Ranking
from diagnose.reasoning.report import said
from diagnose.reasoning.settings import DEFAULT
from diagnose.reasoning.verdict import confident, stop, verdict

Now = Literal["alike", "apart"]
NOTHING = Observations()


def book(now: Now = "alike", regulated: bool = False) -> Knowledge:
    """Causes a1 and a2 of one kind, b and c of their own; a test of a1."""
    values = (Value("positive", "Yes"), Value("negative", "No"))
    background = demo.yes_no("x", 0.05).background
    strip = Finding("strip", "Strip", values, background, "strip", "test", normal="negative")
    causes = [demo.cause(c, {}, k) for c, k in (("a1", "a"), ("a2", "a"), ("b", ""), ("c", ""))]
    firsts = ("wait", "wait" if now == "alike" else "water", "feed", "feed")
    causes = [
        replace(c, actions={"now": (f,)}, regulated=regulated and c.id == "b")
        for c, f in zip(causes, firsts, strict=True)
    ]
    rows = (Evidence("strip", "positive", "always"), Evidence("strip", "negative", "never"))
    causes[0] = replace(causes[0], evidence=rows)
    kb = demo.book([strip], causes)
    return replace(
        kb, tests={"strip": Test("strip", "Strip", (), 1, (0, 1), "cheap", settles=True)}
    )


def ranking(kb: Knowledge, pairs: dict[str, float] | None = None, **alone: float) -> Ranking:
    """A ranking with these posteriors of single causes and pairs; the rest is unlisted."""
    book_ = Book(kb)
    posterior = np.zeros(len(book_.prior))
    for cause, p in alone.items():
        posterior[1 + book_.position[cause]] = p
    for pair, p in (pairs or {}).items():
        i, j = (book_.position[c] for c in pair.split("+"))
        (at,) = np.flatnonzero((book_.first == i) & (book_.second == j))
        posterior[1 + len(book_.causes) + at] = p
    posterior[0] = 1.0 - posterior.sum()
    return Ranker(book_).ranking(posterior, (), Context())


def state(r: Ranking, seen: Observations = NOTHING, weights: Weights | None = None) -> str:
    return verdict(r, seen, weights or Weights({})).state


def test_one_cause_at_four_fifths_is_likely() -> None:
    said_ = verdict(ranking(book(), b=0.8), NOTHING, Weights({}))
    assert (said_.state, said_.causes, said_.probability) == ("likely", ("b",), pytest.approx(0.8))


def test_a_cause_is_never_likely_below_four_fifths() -> None:
    assert state(ranking(book(), b=0.79, a1=0.1)) != "likely"


def test_single_and_paired_probability_count_together() -> None:
    assert state(ranking(book(), {"b+c": 0.3}, b=0.55)) == "likely"


def test_a_kind_may_be_sure_while_its_cause_is_open() -> None:
    said_ = verdict(ranking(book(), a1=0.45, a2=0.4), NOTHING, Weights({}))
    assert (said_.state, said_.kind) == ("kind_only", "a")
    assert said_.probability == pytest.approx(0.85)


def test_two_causes_may_fit_together() -> None:
    said_ = verdict(ranking(book(), {"b+c": 0.2}, b=0.4, c=0.3), NOTHING, Weights({}))
    assert (said_.state, set(said_.causes)) == ("two_fit", {"b", "c"})
    assert said_.probability == pytest.approx(0.9)  # .6 + .5 - .2


def test_a_second_cause_without_a_real_share_does_not_fit() -> None:
    assert state(ranking(book(), b=0.7, c=0.15)) == "open"


def test_nothing_fits_when_the_book_holds_it_no_more_likely_than_not() -> None:
    assert state(ranking(book(), b=0.5)) == "nothing_fits"
    assert state(ranking(book(), b=0.55)) == "open"


def test_there_is_never_a_forced_winner() -> None:
    assert state(ranking(book(), a1=0.3, b=0.3, c=0.25)) == "open"


def test_a_regulated_disease_is_never_likely_from_an_interview() -> None:
    assert state(ranking(book(regulated=True), b=0.95)) == "official_check"


def strip(kb: Knowledge, value: str) -> Observations:
    return Observations({"strip": said(kb.findings["strip"], value)})


def weights(a1: float) -> Weights:
    return Weights({"strip": np.array([a1, 0.0, 0.0, 0.0])})


def test_settled_needs_a_test_that_speaks_for_the_cause() -> None:
    kb = book()
    sure = ranking(kb, a1=0.95)
    assert state(sure, strip(kb, "positive"), weights(3.0)) == "settled"
    assert state(sure) == "likely"
    assert state(sure, strip(kb, "positive"), weights(0.2)) == "likely"
    assert state(ranking(kb, b=0.95), strip(kb, "positive"), weights(3.0)) == "likely"
    assert state(ranking(kb, a1=0.85), strip(kb, "positive"), weights(3.0)) == "likely"


def test_a_clean_result_settles_nothing() -> None:
    kb = book()
    assert state(ranking(kb, a1=0.95), strip(kb, "negative"), weights(3.0)) == "likely"


def test_a_test_that_cannot_settle_does_not() -> None:
    kb = book()
    kb = replace(kb, tests={"strip": replace(kb.tests["strip"], settles=False)})
    assert state(ranking(kb, a1=0.95), strip(kb, "positive"), weights(3.0)) == "likely"


def test_a_sure_kind_is_enough_only_when_its_members_act_alike_at_first() -> None:
    assert confident(ranking(book("alike"), a1=0.45, a2=0.4))
    assert not confident(ranking(book("apart"), a1=0.45, a2=0.4))
    assert confident(ranking(book("apart"), a1=0.84, a2=0.02))


WORTH = Gain("q", 0.2, 0.1)
SMALL = Gain("q", 0.02, (DEFAULT.keep_asking + DEFAULT.worth_asking) / 2)
NONE = Gain("q", 0.001, DEFAULT.worth_asking / 2)


@pytest.mark.parametrize(
    ("b", "best", "asked", "unknown", "phone", "reason"),
    [
        (0.5, WORTH, 3, 0, False, None),
        (0.5, SMALL, 3, 0, False, None),
        (0.5, NONE, 3, 0, False, "nothing_more"),
        (0.5, None, 3, 0, False, "nothing_more"),
        (0.9, WORTH, 3, 0, False, None),  # sure, but a question would still tell much
        (0.9, SMALL, 3, 0, False, "clear"),
        (0.5, WORTH, DEFAULT.cap - 1, 0, False, None),
        (0.5, WORTH, DEFAULT.cap, 0, False, "cap"),
        (0.5, WORTH, DEFAULT.phone_cap - 1, 0, True, None),
        (0.5, WORTH, DEFAULT.phone_cap, 0, True, "cap"),
        (0.5, WORTH, DEFAULT.phone_cap, 0, False, None),
        (0.5, WORTH, 8, DEFAULT.patience - 1, False, None),
        (0.5, WORTH, 8, DEFAULT.patience, False, "many_unknown"),
    ],
)
def test_asking_stops_for_a_stated_reason(
    b: float, best: Gain | None, asked: int, unknown: int, phone: bool, reason: str | None
) -> None:
    found = stop(ranking(book(), b=b, c=0.05), best, asked, unknown, phone)
    assert (found.reason if found else None) == reason
