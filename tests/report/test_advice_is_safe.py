"""What is advised: safe whatever it is, nothing that cannot be undone, every caution beside it."""

from __future__ import annotations

from typing import Any

import pytest
from report_cases import Made, told

from diagnose.kb.model import Knowledge
from diagnose.reasoning.rank import Ranker
from diagnose.report.document import build

LIVE = 0.05
STAGES = ("today", "plants", "material", "prevent")
UNSURE = {
    "trouble": {"ticked": ["trouble_small", "trouble_wrong_colour"]},
    "crops": {"tomato": "hurt"},
}


@pytest.fixture(scope="module")
def cases(made: list[Made], ranker: Ranker) -> list[Made]:
    """The examples, and one case that could be anything."""
    session = told(ranker, UNSURE)
    return [*made, Made("could be anything", session, build(session))]


def live(m: Made) -> set[str]:
    return {c for c, p in m.session.ranking().leaders() if p >= LIVE}


def shown(document: dict[str, Any]) -> list[dict[str, Any]]:
    return [row for stage in STAGES for row in document["actions"][stage]]


def test_nothing_irreversible_today_unless_settled(cases: list[Made], kb: Knowledge) -> None:
    for m in cases:
        if m.document["verdict"]["state"] != "settled":
            today = m.document["actions"]["today"]
            assert all(kb.actions[a["id"]].reversible for a in today), m.name


def test_nothing_irreversible_for_plants_or_material_unless_settled(
    cases: list[Made], kb: Knowledge
) -> None:
    for m in cases:
        if m.document["verdict"]["state"] != "settled":
            later = m.document["actions"]["plants"] + m.document["actions"]["material"]
            assert all(kb.actions[a["id"]].reversible for a in later), m.name


def test_nothing_today_harms_under_a_cause_still_possible(cases: list[Made], kb: Knowledge) -> None:
    for m in cases:
        for action in m.document["actions"]["today"]:
            harmed = {harm.cause for harm in kb.actions[action["id"]].harms}
            assert not harmed & live(m), f"{m.name}: {action['id']}"


def test_harmful_actions_are_met_and_held_back_with_a_reason(
    cases: list[Made], kb: Knowledge
) -> None:
    held = [(m, row) for m in cases for row in m.document["actions"]["withheld"]]
    assert any(harm.cause in live(m) for m, row in held for harm in kb.actions[row["id"]].harms)
    assert any(not kb.actions[row["id"]].reversible for _, row in held)
    for m, row in held:
        assert row["because"], m.name
        assert row["id"] not in {a["id"] for a in shown(m.document)}, m.name


def test_something_can_be_done_today(cases: list[Made]) -> None:
    assert all(m.document["actions"]["today"] for m in cases)


def test_cautions_of_everything_shown_are_there(cases: list[Made]) -> None:
    for m in cases:
        given = {c["id"] for c in m.document["cautions"]}
        for row in (*shown(m.document), *m.document["tests"]):
            assert set(row["cautions"]) <= given, f"{m.name}: {row['id']}"


def test_cautions_of_the_leading_cause_are_there(cases: list[Made], kb: Knowledge) -> None:
    for m in cases:
        leader = kb.causes[m.document["causes"][0]["id"]]
        assert set(leader.cautions) <= {c["id"] for c in m.document["cautions"]}, m.name


def shows(ranker: Ranker, caution: str, answers: dict[str, object]) -> str:
    document = build(told(ranker, answers))
    return next(c["show"] for c in document["cautions"] if c["id"] == caution)


def test_only_a_danger_named_heads_the_report(ranker: Ranker, kb: Knowledge) -> None:
    drift = dict(kb.causes["auxin_spray_drift"].examples[0].answers)
    spray = "spray_on_skin_or_in_air"
    assert shows(ranker, spray, drift) == "beside"
    assert shows(ranker, spray, {**drift, "danger_now": "none"}) == "beside"
    here = {"ticked": ["danger_spray_in_air"]}
    assert shows(ranker, spray, {**drift, "danger_now": here}) == "at_once"


def test_a_regulated_disease_asks_for_the_office_not_for_a_parcel(made: list[Made]) -> None:
    checks = [m for m in made if m.document["verdict"]["state"] == "official_check"]
    assert checks
    for m in checks:
        assert "send no leaves" in m.document["verdict"]["clinic_sample"]
        assert "regulated_disease" in {c["id"] for c in m.document["cautions"]}


def test_what_cannot_be_undone_is_advised_today_only_when_settled_or_in_danger(
    cases: list[Made], kb: Knowledge
) -> None:
    final = {a.id for a in kb.actions.values() if not a.reversible}
    for m in cases:
        urgent = any(c["show"] == "at_once" for c in m.document["cautions"])
        if m.document["verdict"]["state"] != "settled" and not urgent:
            assert not final & {row["id"] for row in m.document["actions"]["today"]}
