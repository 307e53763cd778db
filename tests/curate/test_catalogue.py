from __future__ import annotations

import json
from dataclasses import dataclass

import pytest

from diagnose.cli.kb import LISTS as NAMED_BY_THE_COMMAND
from diagnose.curate.catalogue import (
    LISTS,
    cause_lines,
    cite,
    counts,
    find_entry,
    finding_lines,
    question_rows,
)
from diagnose.curate.plainly import plain_lines
from diagnose.errors import UsageError
from diagnose.kb.model import Cited, Knowledge


def test_command_names_every_list_there_is() -> None:
    assert list(NAMED_BY_THE_COMMAND) == list(LISTS)


@pytest.mark.parametrize("what", LISTS)
def test_list_has_a_row_for_everything_of_its_kind(what: str, whole_book: Knowledge) -> None:
    rows = LISTS[what](whole_book)
    assert [row[0] for row in rows] == list(getattr(whole_book, what))
    assert all(len(row) == 3 and row[1] for row in rows)


def test_counts_are_those_of_the_book(tiny_book: Knowledge) -> None:
    assert dict(counts(tiny_book)) == {
        "causes": 3,
        "findings": 12,
        "crops": 3,
        "inputs": 2,
        "tests": 1,
        "actions": 4,
        "cautions": 2,
        "substances": 1,
        "questions": 10,
        "sources": 3,
    }


@pytest.mark.parametrize(
    ("id_", "kind"),
    [
        ("thirst", "cause"),
        ("moisture", "question"),
        ("water_half", "test"),
        ("mix_moisture", "finding"),
        ("tomato", "crop"),
        ("barrel_water", "input"),
        ("clopyralid", "substance"),
        ("water_once", "action"),
        ("no_open_flame", "caution"),
        ("north_college", "source"),
    ],
)
def test_entry_of_any_kind_is_found_by_its_id_and_shown(
    id_: str, kind: str, tiny_book: Knowledge
) -> None:
    found, item = find_entry(tiny_book, id_)
    assert (found, item.id) == (kind, id_)
    assert f"  id: {id_}" in plain_lines(item)


def test_unknown_id_has_its_neighbours_named(tiny_book: Knowledge) -> None:
    with pytest.raises(UsageError, match="'thurst'") as caught:
        find_entry(tiny_book, "thurst")
    assert "thirst" in caught.value.hint
    with pytest.raises(UsageError) as caught:
        find_entry(tiny_book, "qqqqqq")
    assert "kb list" in caught.value.hint


@pytest.mark.parametrize(
    ("name", "id_"),
    [
        ("horse manure", "horse_manure"),
        ("Tomatoes", "tomato"),
        ("eggplants", "eggplant"),
        ("Bean pot test", "bean_pot_test"),
    ],
)
def test_entry_is_found_by_a_name(name: str, id_: str, whole_book: Knowledge) -> None:
    assert find_entry(whole_book, name)[1].id == id_


def test_word_of_several_names_offers_them_first(whole_book: Knowledge) -> None:
    with pytest.raises(UsageError) as caught:
        find_entry(whole_book, "iron")
    assert caught.value.hint.startswith("Did you mean iron_deficiency, iron_leaf_dab")


def test_sentences_are_shown_one_a_line() -> None:
    @dataclass
    class Steps:
        how: tuple[str, ...]
        ids: tuple[str, ...]

    lines = plain_lines(Steps(("Fill two pots.", "Sow beans."), ("a", "b")))
    assert lines == ["  how:", "    Fill two pots.", "    Sow beans.", "  ids: a, b"]


def test_statement_shows_its_sources_or_that_it_has_none() -> None:
    assert cite(Cited(("wsu", "ncsu"))) == "[wsu, ncsu]"
    for unsourced in (Cited(("memory",)), Cited(("wsu",), "memory"), Cited(("common_practice",))):
        assert cite(unsourced) == "[from memory, unsourced]"


def test_cause_is_shown_with_evidence_look_alikes_tests_and_actions(tiny_book: Knowledge) -> None:
    lines = cause_lines(tiny_book, tiny_book.causes["thirst"])
    assert lines[0] == "Too little water"
    assert "  usually: Wetness of the mix = Dry [north_college]" in lines
    assert "  rarely: Pale leaves [from memory, unsourced]" in lines
    assert "  wet_roots: A dry mix is light in the hand. [north_college]" in lines
    assert "  cold_injury: Cold shows the next morning. [south_institute]" in lines
    assert "Tests: water_half" in lines
    assert "  now: Water well once." in lines
    assert "What to expect: Plants stand up within hours." in lines
    assert lines[-1].startswith("As growers tell it: ")


def test_rule_of_a_cause_is_shown_with_its_effect(tiny_book: Knowledge) -> None:
    lines = cause_lines(tiny_book, tiny_book.causes["cold_injury"])
    assert "  rule rules_out: No cold at 12 °C. [north_college]" in lines


def test_finding_is_shown_with_background_and_every_cause_that_speaks_of_it(
    tiny_book: Knowledge,
) -> None:
    lines = finding_lines(tiny_book, tiny_book.findings["mix_moisture"])
    assert "  soaked (Soaked): background 0.30" in lines
    assert "  wet_roots: soaked always (0.98)" in lines
    assert "  thirst: soaked never (0.02)" in lines
    assert not [line for line in lines if "days" in line]


def test_every_question_and_test_is_described_for_programs(whole_book: Knowledge) -> None:
    rows = json.loads(json.dumps(question_rows(whole_book)))
    assert [row["id"] for row in rows] == [*whole_book.questions, *whole_book.tests]
    assert all(row["text"] and row["form"] for row in rows)


def test_description_of_a_question_holds_what_an_answer_may_be(tiny_book: Knowledge) -> None:
    rows = {row["id"]: row for row in question_rows(tiny_book)}
    ids = [value["id"] for value in rows["moisture"]["finding"]["values"]]
    assert ids == ["dry", "moist", "soaked"]
    assert [f["id"] for f in rows["trouble"]["findings"]] == ["wilting", "pale_leaves", "stunted"]
    assert (rows["night_low"]["unit"], rows["night_low"]["other_units"]) == ("°C", ["°F"])
    assert rows["night_low"]["plausible"] == [-30, 40]
    assert rows["crops"]["crops"] == ["kale", "tomato", "eggplant"]
    assert rows["inputs"]["slots"] == ["mix", "water"]
    assert rows["inputs"]["none_of"] == ["open_water", "barrel_water", "mains_water"]
    assert rows["when"]["events"] == ["cold_night"]
    assert [value["id"] for value in rows["water_half"]["values"]] == ["perks_up", "no_change"]
