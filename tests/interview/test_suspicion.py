from __future__ import annotations

import pytest

from diagnose.interview.session import new_session
from diagnose.kb.load import load
from diagnose.kb.named import suspicion


@pytest.mark.parametrize(
    ("story", "suspected"),
    [
        ("Twisted tops. I think it is a virus", "a virus"),
        (
            "I suspect the compost, since only those pots are bad",
            "the compost, since only those pots are bad",
        ),
        ("Could it be spray drift?", "spray drift"),
        ("The leaves look bad", ""),
    ],
)
def test_what_the_grower_suspects_is_heard(story: str, suspected: str) -> None:
    assert suspicion(story) == suspected


def test_a_suspicion_weighs_nothing() -> None:
    kb = load()
    told, silent = new_session(kb), new_session(kb)
    base = {"text": "leaves curl", "confirmed": ["new_leaves_cupped"]}
    silent.apply(silent.read("own_words", base))
    told.apply(told.read("own_words", {**base, "suspects": "a virus"}))
    assert told.answers["own_words"].raw["suspects"] == "a virus"
    assert told.ranking().leaders() == silent.ranking().leaders()
