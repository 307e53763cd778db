from __future__ import annotations

import pytest

from diagnose.kb.load import load
from diagnose.kb.named import brought_up, crops_named


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


@pytest.mark.parametrize(
    ("story", "brought", "not_brought"),
    [
        ("I sprayed the path with weedkiller", {"sprays", "weedkiller_kind"}, {"eaten"}),
        ("No spraying was done", {"sprays"}, set()),
        ("The roots are full of lumps", {"roots", "roots_lumps"}, set()),
        ("The roots are fine. There is a lump on the stem", {"roots"}, {"roots_lumps"}),
        ("The furnace burns gas", {"air"}, {"sprays"}),
        ("They do badly", set(), {"sprays", "roots", "air"}),
    ],
)
def test_subjects_a_story_brings_up(story: str, brought: set[str], not_brought: set[str]) -> None:
    found = brought_up(load(), story)
    assert brought <= found
    assert not found & not_brought


def test_every_question_but_those_of_the_opening_can_be_brought_up() -> None:
    kb = load()
    opening = {q for part in kb.opening for q in part.questions}
    silent = {q.id for q in kb.questions.values() if not q.brought_up_by} - opening
    # Where somebody gardens is seldom told as a trouble.
    assert silent <= {"climate"}
