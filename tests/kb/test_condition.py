"""The truth of conditions over findings, some of them unknown."""

from __future__ import annotations

from itertools import product

import pytest

from diagnose.kb.condition import Condition, condition_from

Truth = bool | None
T, F, U = True, False, None

# Kleene's strong tables: S. C. Kleene, Introduction to Metamathematics (1952), section 64.
ALL = {(T, T): T, (T, F): F, (T, U): U, (F, F): F, (F, U): F, (U, U): U}
ANY = {(T, T): T, (T, F): T, (T, U): T, (F, F): F, (F, U): U, (U, U): U}
NOT = {T: F, F: T, U: U}


def leaf(number: int) -> dict[str, str]:
    return {"finding": f"f{number}", "is": "present"}


def truth(condition: Condition, truths: tuple[Truth, ...]) -> Truth:
    words = {True: "present", False: "absent"}
    facts = {f"f{i}": (words[t], None) for i, t in enumerate(truths) if t is not None}
    return condition.holds(facts.get)


@pytest.mark.parametrize(("pair", "expected"), ALL.items())
def test_all_follows_kleene_in_either_order(pair: tuple[Truth, Truth], expected: Truth) -> None:
    condition = condition_from({"all": [leaf(0), leaf(1)]})
    assert truth(condition, pair) is expected
    assert truth(condition, pair[::-1]) is expected


@pytest.mark.parametrize(("pair", "expected"), ANY.items())
def test_any_follows_kleene_in_either_order(pair: tuple[Truth, Truth], expected: Truth) -> None:
    condition = condition_from({"any": [leaf(0), leaf(1)]})
    assert truth(condition, pair) is expected
    assert truth(condition, pair[::-1]) is expected


@pytest.mark.parametrize(("one", "expected"), NOT.items())
def test_not_turns_what_is_known_and_leaves_the_unknown(one: Truth, expected: Truth) -> None:
    assert truth(condition_from({"not": leaf(0)}), (one,)) is expected


@pytest.mark.parametrize("count", [1, 2, 3, 4])
@pytest.mark.parametrize("truths", list(product((T, F, U), repeat=3)))
def test_at_least_is_known_when_every_way_to_fill_the_unknown_agrees(
    count: int, truths: tuple[Truth, ...]
) -> None:
    ways = [
        sum(filled) >= count
        for filled in product((True, False), repeat=3)
        if all(known is None or known == full for known, full in zip(truths, filled, strict=True))
    ]
    expected = ways[0] if len(set(ways)) == 1 else None
    condition = condition_from({"at_least": {"count": count, "of": [leaf(i) for i in range(3)]}})
    assert truth(condition, truths) is expected


def test_at_least_one_is_any_and_at_least_every_is_all() -> None:
    parts = [leaf(0), leaf(1)]
    one = condition_from({"at_least": {"count": 1, "of": parts}})
    both = condition_from({"at_least": {"count": 2, "of": parts}})
    for truths in product((T, F, U), repeat=2):
        assert truth(one, truths) is truth(condition_from({"any": parts}), truths)
        assert truth(both, truths) is truth(condition_from({"all": parts}), truths)


def test_nested_conditions_carry_the_unknown_upwards() -> None:
    condition = condition_from({"any": [{"all": [leaf(0), {"not": leaf(1)}]}, leaf(2)]})
    assert truth(condition, (T, U, F)) is None
    assert truth(condition, (F, U, F)) is False
    assert truth(condition, (T, F, U)) is True
    assert list(condition.findings()) == ["f0", "f1", "f2"]
    assert [part.form for part in condition.leaves()] == ["is"] * 3


def test_is_holds_for_any_value_listed() -> None:
    condition = condition_from({"finding": "onset", "is": ["days", "weeks"]})
    known = [{"onset": ("days", None)}, {"onset": ("overnight", None)}, {}]
    assert [condition.holds(facts.get) for facts in known] == [True, False, None]


@pytest.mark.parametrize(
    ("number", "above", "below"), [(11.9, F, T), (12, F, F), (12.1, T, F), (None, U, U)]
)
def test_above_and_below_leave_the_limit_out_and_need_a_number(
    number: float | None, above: Truth, below: Truth
) -> None:
    facts = {"night": ("mild", number)}
    assert condition_from({"finding": "night", "above": 12}).holds(facts.get) is above
    assert condition_from({"finding": "night", "below": 12}).holds(facts.get) is below
    assert condition_from({"finding": "night", "below": 12}).holds({}.get) is None


@pytest.mark.parametrize(
    "raw",
    [
        {},
        {"finding": "x"},
        {"finding": "x", "is": "present", "above": 1},
        {"all": [], "any": []},
        {"is": "present"},
        {"sometimes": []},
        {"not": {"finding": "x"}},
        {"any": [{"finding": "x", "was": "present"}]},
    ],
)
def test_any_other_form_is_refused_wherever_it_stands(raw: dict[str, object]) -> None:
    with pytest.raises(ValueError, match="a condition is one of"):
        condition_from(raw)
