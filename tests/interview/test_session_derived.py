"""What is worked out from the crops, inputs and timeline answers: yes, no, or not known.

Held against the shipped book, since its recipes and the answers must fit together.
"""

from __future__ import annotations

from typing import Any

import pytest

from diagnose.interview.session import Session, new_session
from diagnose.kb.load import load
from diagnose.kb.model import Knowledge

ALL_SLOTS = {"mix": [], "ground": [], "mulch": [], "water": [], "feed": []}
WEEK_BEFORE = {"event": "potted_on", "when": "2026-04-13"}


@pytest.fixture(scope="module")
def kb() -> Knowledge:
    return load()


def value(kb: Knowledge, finding: str, **answers: Any) -> str | None:
    session: Session = new_session(kb)
    for id_, raw in answers.items():
        session.apply(session.read(id_, raw))
    known = session.observations().known(finding)
    return known[0] if known else None


@pytest.mark.parametrize(
    ("inputs", "wanted"),
    [
        ("dont_know", None),
        ({"mix": ["own_compost"]}, "present"),
        ({"mix": ["Home compost (garden and kitchen)"]}, "present"),
        ({"mix": [{"input": "horse_manure", "source": "farm"}]}, "present"),
        ({"mix": ["bought_potting_mix"]}, None),
        ({**ALL_SLOTS, "mix": ["perlite_vermiculite"]}, "absent"),
        ({"mix": ["perlite_vermiculite"], "none_of": ["organic"]}, "absent"),
        ({"none_of": ["hay_chain"]}, None),
    ],
)
def test_organic_input_is_known_only_from_what_was_said(
    kb: Knowledge, inputs: Any, wanted: str | None
) -> None:
    assert value(kb, "organic_input_used", inputs=inputs) == wanted


def test_an_input_in_another_slot_does_not_count(kb: Knowledge) -> None:
    # Straw on top is no straw in the ground's recipe of bought mix.
    assert value(kb, "bought_mix_used", inputs={"mix": [], "ground": ["bought_potting_mix"]}) == (
        "absent"
    )


@pytest.mark.parametrize(
    ("crops", "wanted"),
    [
        ("dont_know", None),
        ({"tomato": "hurt", "bean": "hurt", "lettuce": "hurt"}, "present"),
        ({"tomato": "hurt", "pepper": "hurt", "potato": "hurt"}, None),
        ({"tomato": "hurt", "bean": "fine_beside", "lettuce": "fine_beside"}, "absent"),
        ({"tomato": "hurt", "bean": "fine_elsewhere", "lettuce": "not_grown"}, None),
        ({"tomato": "fine_beside", "bean": "fine_beside", "lettuce": "fine_beside"}, None),
        # Several kinds that are not named count as two.
        ({"several_vegetables": "hurt"}, None),
        ({"several_vegetables": "hurt", "tomato": "hurt"}, "present"),
        ({"several_vegetables": "hurt", "several_flowers": "hurt"}, "present"),
    ],
)
def test_many_families_hurt_needs_three_named(kb: Knowledge, crops: Any, wanted: str) -> None:
    assert value(kb, "unrelated_families_hurt", crops=crops) == wanted


def test_several_kinds_hurt_are_not_one_crop_alone(kb: Knowledge) -> None:
    rest = {"sweetcorn": "fine_beside"}
    assert value(kb, "only_one_crop_hurt", crops={"tomato": "hurt", **rest}) == "present"
    assert value(kb, "only_one_crop_hurt", crops={"several_vegetables": "hurt", **rest}) == "absent"


def test_several_kinds_sound_do_not_say_that_touchy_ones_were_among_them(kb: Knowledge) -> None:
    crops = {"sweetcorn": "hurt", "several_vegetables": "fine_beside"}
    assert value(kb, "sensitive_to_residue_sound", crops=crops) is None
    assert value(kb, "sensitive_to_residue_sound", crops={**crops, "bean": "fine_beside"}) == (
        "present"
    )


@pytest.mark.parametrize(
    ("state", "hurt", "sound"),
    [
        ("hurt", "present", "absent"),
        ("fine_beside", "absent", "present"),
        ("fine_elsewhere", None, None),
        ("not_grown", None, None),
    ],
)
def test_only_hurt_and_sound_beside_speak(
    kb: Knowledge, state: str, hurt: str | None, sound: str | None
) -> None:
    crops = {"sweetcorn": state}
    assert value(kb, "grasses_hurt", crops=crops) == hurt
    assert value(kb, "grasses_sound", crops=crops) == sound


@pytest.mark.parametrize(
    ("when", "wanted"),
    [
        ("dont_know", None),
        ({"last_right": "2026-04-20"}, None),
        ({"events": [WEEK_BEFORE]}, None),
        ({"last_right": "2026-04-20", "events": [{"event": "potted_on"}]}, None),
        ({"last_right": "2026-04-20", "events": [{**WEEK_BEFORE, "again": True}]}, None),
        ({"last_right": "2026-04-20", "events": [{**WEEK_BEFORE, "event": "sown"}]}, None),
        # The first sign is the day after: 21 April, eight days after the 13th.
        ({"last_right": "2026-04-20", "events": [WEEK_BEFORE]}, "d3_10"),
        ({"last_right": "2026-04-13", "events": [WEEK_BEFORE]}, "d0_2"),
        ({"last_right": "2026-04-02", "events": [WEEK_BEFORE]}, "before"),
        ({"last_right": "2026-05-30", "events": [WEEK_BEFORE]}, "d29_plus"),
        # A delay told without dates.
        ({"events": [{"event": "potted_on", "when": "8 days before"}]}, "d3_10"),
        ({"events": [{"event": "potted_on", "when": "2 weeks before it began"}]}, "d11_28"),
        (
            {
                "last_right": "2026-04-20",
                "events": [{"event": "potted_on", "when": "1 day before"}],
            },
            "d0_2",
        ),
        # Dated events say nothing beside it while the first sign has no date.
        ({"events": [WEEK_BEFORE, {"event": "sown", "when": "9 days before"}]}, None),
        # Of two the later one that came before the first sign counts.
        (
            {
                "last_right": "2026-04-20",
                "events": [WEEK_BEFORE, {"event": "potted_on", "when": "2026-04-20"}],
            },
            "d0_2",
        ),
    ],
)
def test_a_delay_needs_both_dates(kb: Knowledge, when: Any, wanted: str | None) -> None:
    assert value(kb, "days_after_potted_on", when=when) == wanted


def test_a_delay_is_soft(kb: Knowledge) -> None:
    session = new_session(kb)
    raw = {"last_right": "2026-04-20", "events": [WEEK_BEFORE]}
    session.apply(session.read("when", raw))
    report = session.observations().reports["days_after_potted_on"]
    finding = kb.findings["days_after_potted_on"]
    told = dict(zip(finding.value_ids, report.likelihood, strict=True))
    assert told["d3_10"] > told["d11_28"] > told["d29_plus"] > 0
