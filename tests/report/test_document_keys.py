"""The result document: its keys are the documented ones (design, section 8), no more and no fewer.

`ADDED` lists what the document holds beyond them; a key that is in neither list fails.
"""

from __future__ import annotations

import json
from typing import Any

from report_cases import Made

from diagnose.kb.model import Knowledge
from diagnose.report.document import EXPLAINED

TOP = {
    "format",
    "verdict",
    "causes",
    "kinds",
    "unlisted",
    "questions_asked",
    "tests",
    "actions",
    "cautions",
    "knowledge",
}
ADDED = {"case", "alias", "stopped", "set_aside", "sources", "looks"}
VERDICT = {"state", "kind", "text"}
VERDICT_ADDED = {"causes", "probability", "word"}
CAUSE = {"id", "name", "kind", "probability", "for", "against", "unexplained", "rules"}
CAUSE_ADDED = {"standard_term", "word", "lookalikes", "prospects", "confirm"}
BARE_CAUSE = {"id", "name", "kind", "probability", "standard_term", "word"}
REASON = {"finding", "answer", "weight", "sources"}
REASON_ADDED = {"name", "standard_term", "stated", "note", "from_memory"}
TEST = {"id", "days", "cost", "outcomes"}
TEST_ADDED = {"name", "why", "how", "limits", "gain", "cautions", "sources", "from_memory"}
STATES = {"settled", "likely", "kind_only", "two_fit", "official_check", "nothing_fits", "open"}


def rows(made: list[Made], key: str) -> list[dict[str, Any]]:
    found = [row for m in made for row in m.document[key]]
    assert found, f"no case has any {key}"
    return found


def test_top_level(made: list[Made]) -> None:
    for m in made:
        assert m.document.keys() == TOP | ADDED, m.name
        assert m.document["format"] == 1


def test_verdict(made: list[Made]) -> None:
    for m in made:
        said = m.document["verdict"]
        assert said.keys() - {"clinic_sample"} == VERDICT | VERDICT_ADDED, m.name
        assert said["state"] in STATES
        sample = said["state"] in ("open", "nothing_fits", "official_check")
        assert ("clinic_sample" in said) == sample, m.name


def test_leading_causes_have_their_reasons(made: list[Made]) -> None:
    for m in made:
        causes = m.document["causes"]
        assert len(causes) >= EXPLAINED
        assert all(c.keys() == CAUSE | CAUSE_ADDED for c in causes[:EXPLAINED]), m.name
        assert all(c.keys() == BARE_CAUSE for c in causes[EXPLAINED:]), m.name


def test_reasons(made: list[Made]) -> None:
    reasons = [
        r for c in rows(made, "causes") for side in ("for", "against") for r in c.get(side, ())
    ]
    assert {r["finding"] for r in reasons} > {"crops", "onset"}
    for reason in reasons:
        assert reason.keys() == REASON | REASON_ADDED, reason["finding"]


def test_reasons_stand_on_their_side_strongest_first(made: list[Made]) -> None:
    for cause in rows(made, "causes"):
        for side, sign in (("for", 1), ("against", -1)):
            sizes = [sign * r["weight"] for r in cause.get(side, ())]
            assert all(size > 0 for size in sizes)
            assert sizes == sorted(sizes, reverse=True)


def test_tests(made: list[Made]) -> None:
    for test in rows(made, "tests"):
        assert test.keys() == TEST | TEST_ADDED
        for outcome in test["outcomes"]:
            assert outcome.keys() == {"result", "label", "chance", "leaders", "kind"}


def test_smaller_rows(made: list[Made]) -> None:
    for kind in rows(made, "kinds"):
        assert kind.keys() == {"id", "name", "probability"}
    for asked in rows(made, "questions_asked"):
        assert asked.keys() == {"id", "text", "answer", "state"}
    for caution in rows(made, "cautions"):
        assert caution.keys() == {"id", "text", "show", "sources", "from_memory"}
    for m in made:
        assert m.document["actions"].keys() == {
            "today",
            "plants",
            "material",
            "prevent",
            "withheld",
        }
        assert m.document["knowledge"].keys() == {"version", "digest"}


def test_every_step_shown_is_among_the_questions_asked(made: list[Made]) -> None:
    for m in made:
        listed = [row["id"] for row in m.document["questions_asked"]]
        assert sorted(listed) == sorted(m.session.answers)
        asked = [id_ for id_ in m.session.answers if id_ not in m.session.kb.tests]
        assert [id_ for id_ in listed if id_ in asked] == asked


def test_probabilities_are_those_of_the_ranking(made: list[Made], kb: Knowledge) -> None:
    for m in made:
        ranking = m.session.ranking()
        causes = m.document["causes"]
        assert [c["id"] for c in causes] == [c for c, _ in ranking.leaders(len(causes))]
        for cause in causes:
            assert abs(cause["probability"] - ranking.probability(cause["id"])) < 1e-6
        assert abs(m.document["unlisted"] - ranking.unlisted) < 1e-6


def test_every_source_cited_is_listed(made: list[Made], kb: Knowledge) -> None:
    unsourced = {"memory", "common_practice"}
    for m in made:
        for cause in m.document["causes"][:EXPLAINED]:
            for reason in (*cause["for"], *cause["against"]):
                assert set(reason["sources"]) - unsourced <= m.document["sources"].keys()
        assert not unsourced & m.document["sources"].keys()


def test_document_is_plain_json(made: list[Made]) -> None:
    for m in made:
        assert json.loads(json.dumps(m.document)) == m.document, m.name
