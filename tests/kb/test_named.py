from __future__ import annotations

import pytest

from diagnose.kb.load import load
from diagnose.kb.named import crops_named


@pytest.mark.parametrize(
    ("story", "crops"),
    [
        ("My tomatoes are twisted", ["tomato"]),
        ("tomatoes and peppers curl", ["tomato", "pepper"]),
        ("Sweet potatoes wilt", ["sweet_potato"]),
        ("tomatoes twisted, sweetcorn is fine", ["tomato"]),
        ("tomatoes twisted and sweetcorn fine", ["tomato"]),
        ("tomatoes are twisted. Peas, beans and lettuce are fine", ["tomato"]),
        ("tomatoes are not healthy", ["tomato"]),
        ("the tomatoes are not growing", ["tomato"]),
        ("they all look odd", []),
        ("tomattoes curl", []),
        ("", []),
    ],
)
def test_crops_of_a_story_but_for_sound_ones(story: str, crops: list[str]) -> None:
    assert crops_named(load(), story) == crops


def test_every_name_of_a_crop_is_known_in_a_story_unless_shared() -> None:
    kb = load()
    for crop in kb.crops.values():
        if "," not in crop.name and "(" not in crop.name:
            assert crop.id in crops_named(kb, f"my {crop.name} curl"), crop.name
