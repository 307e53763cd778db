"""Old answers under a book its keepers have changed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from small_book import finding, question

from diagnose.casebook.store import Casebook
from diagnose.interview.answers import Answer, read_answer
from diagnose.interview.session import Session
from diagnose.kb.model import Knowledge, Question
from diagnose.reasoning.report import Report

Carry = Callable[..., "tuple[Session, list[str]]"]


@pytest.fixture
def carry(casebook: Casebook, kb: Knowledge) -> Carry:
    """Answers given under the small book, the case then opened under another."""

    def carried(newer: Knowledge, **answers: Any) -> tuple[Session, list[str]]:
        case = casebook.new_case(kb)
        with case.writing() as open_:
            for id_, raw in answers.items():
                open_.journal.answered(read_answer(kb, id_, raw))
        return case.read().to_session(newer)

    return carried


def without(kb: Knowledge, *gone: str, **new: Question) -> Knowledge:
    kept = {q: v for q, v in kb.questions.items() if q not in gone}
    return replace(kb, questions={**kept, **new})


def with_findings(kb: Knowledge, *gone: str, **new: Any) -> Knowledge:
    kept = {f: v for f, v in kb.findings.items() if f not in gone}
    return replace(kb, findings={**kept, **new})


def test_a_raw_answer_is_read_anew_under_a_finding_with_other_values(
    kb: Knowledge, carry: Carry
) -> None:
    newer = with_findings(kb, speed=finding("speed", "speed", "days", "months", "weeks", "hours"))
    session, lost = carry(newer, speed="weeks")
    report = session.answers["speed"].reports[0]
    assert report.likelihood[2] == max(report.likelihood)
    assert len(report.likelihood) == 4
    assert lost == []


def test_a_measured_number_falls_in_the_bands_of_today(kb: Knowledge, carry: Carry) -> None:
    salt = kb.findings["salt"]
    edges = [replace(v, below=b) for v, b in zip(salt.values, (2.0, 3.0, None), strict=True)]
    newer = with_findings(kb, salt=replace(salt, values=tuple(edges)))
    assert carry(kb, salt="1.5 mS/cm")[0].observations().known("salt") == ("band1", 1.5)
    assert carry(newer, salt="1.5 mS/cm")[0].observations().known("salt") == ("band0", 1.5)


def test_a_renamed_question_takes_its_answer_along_and_is_not_asked_again(
    kb: Knowledge, carry: Carry
) -> None:
    renamed = without(kb, "speed", how_fast=question("how_fast", "choice", "speed"))
    newer = with_findings(renamed, speed=replace(kb.findings["speed"], home="how_fast"))
    session, lost = carry(newer, speed="weeks", light="dim")
    assert session.shown == ["how_fast", "light"]
    assert session.answers["how_fast"].raw == "weeks"
    assert lost == []


def test_a_renamed_answer_taken_back_after_resuming_stays_taken_back(
    kb: Knowledge, casebook: Casebook
) -> None:
    case = casebook.new_case(kb)
    with case.writing() as open_:
        open_.journal.answered(read_answer(kb, "speed", "weeks", phone=False))
    renamed = without(kb, "speed", how_fast=question("how_fast", "choice", "speed"))
    newer = with_findings(renamed, speed=replace(kb.findings["speed"], home="how_fast"))
    with case.writing() as open_:
        session, _ = open_.resume(newer)
    assert list(case.read().answers) == ["how_fast"]
    with case.writing() as open_:
        session, _ = open_.resume(newer)
        last = session.back()
        assert last == "how_fast"
        open_.journal.withdrawn(last)
    assert case.read().answers == {}
    assert case.read().to_session(newer)[0].answers == {}


@pytest.mark.parametrize("form", ["plants", "added", "when", "story"])
def test_a_renamed_list_of_crops_inputs_dates_or_words_keeps_its_answer(
    kb: Knowledge, carry: Carry, form: str
) -> None:
    raws: dict[str, Any] = {
        "plants": {"tomato": "hurt"},
        "added": {"mix": ["manure"]},
        "when": {"last_right": "2026-04-01"},
        "story": {"text": "curled", "confirmed": ["cupped=present"]},
    }
    new = replace(kb.questions[form], id="renamed")
    session, lost = carry(without(kb, form, renamed=new), **{form: raws[form]})
    assert session.answers["renamed"].raw == raws[form]
    assert lost == []


@pytest.fixture
def split(kb: Knowledge) -> Knowledge:
    """The list of leaf signs split in two, whose names sort before and after the old one's."""
    lists = {"a_shape": ("cupped",), "z_colour": ("spotted", "yellow")}
    newer = without(kb, "leaves", **{q: question(q, "tick", *f) for q, f in lists.items()})
    for home, ids in lists.items():
        newer = with_findings(newer, **{f: replace(kb.findings[f], home=home) for f in ids})
    return newer


def test_a_retired_question_keeps_what_it_said_of_findings_the_book_still_has(
    kb: Knowledge, split: Knowledge, carry: Carry
) -> None:
    """Its boxes went to two other lists, so it cannot be read anew as a whole."""
    before = carry(kb, leaves={"ticked": ["cupped"], "looked_for": ["spotted"]})[0]
    after, lost = carry(split, leaves={"ticked": ["cupped"], "looked_for": ["spotted"]})
    assert dict(after.observations().reports) == dict(before.observations().reports)
    assert lost == []


def test_an_answer_under_the_new_question_wins_over_the_retired_one(
    kb: Knowledge, split: Knowledge, casebook: Casebook
) -> None:
    case = casebook.new_case(kb)
    old = {"ticked": ["cupped"], "looked_for": "all"}
    with case.writing() as open_:
        open_.journal.answered(read_answer(kb, "leaves", old))
        open_.journal.answered(read_answer(split, "a_shape", "none"))
    seen = case.read().to_session(split)[0].observations()
    assert seen.known("cupped") == ("absent", None)
    assert seen.known("spotted") == ("absent", None)


def test_a_retired_list_still_overrules_the_growers_own_words(
    kb: Knowledge, split: Knowledge, carry: Carry
) -> None:
    said = {"story": {"text": "curled", "confirmed": ["cupped=present"]}, "leaves": "none"}
    for newer in (kb, split):
        assert carry(newer, **said)[0].observations().known("cupped") == ("absent", None)


def test_a_box_that_was_not_on_the_list_then_is_left_unknown(kb: Knowledge, carry: Carry) -> None:
    longer = question("leaves", "tick", "cupped", "spotted", "yellow", "glassy")
    newer = with_findings(without(kb, "leaves", leaves=longer), glassy=finding("glassy", "leaves"))
    for raw in ("none", {"ticked": ["cupped"]}, {"ticked": ["cupped"], "looked_for": "all"}):
        session, lost = carry(newer, leaves=raw)
        assert "glassy" not in session.observations().reports
        assert lost == ["leaves: not on the list when it was answered, so left unknown: glassy."]
    assert session.observations().known("spotted") == ("absent", None)
    assert session.answers["leaves"].raw["looked_for"] == ["cupped", "spotted", "yellow"]


def test_a_box_gone_from_the_list_leaves_the_others_as_they_were(
    kb: Knowledge, carry: Carry
) -> None:
    shorter = question("leaves", "tick", "cupped", "spotted")
    newer = with_findings(without(kb, "leaves", leaves=shorter), "yellow")
    session, lost = carry(newer, leaves={"ticked": ["cupped", "yellow"], "looked_for": "all"})
    seen = session.observations()
    assert seen.known("cupped") == ("present", None)
    assert seen.known("spotted") == ("absent", None)
    assert "yellow" not in seen.reports
    assert lost == ["leaves: left out, as the book no longer has it: yellow = present."]


def test_a_value_the_book_no_longer_has_is_said_and_the_question_is_open_again(
    kb: Knowledge, carry: Carry
) -> None:
    newer = with_findings(kb, speed=finding("speed", "speed", "overnight", "slow"))
    session, lost = carry(newer, speed="weeks", light="dim")
    assert list(session.answers) == ["light"]
    assert session.shown == ["light"]
    assert lost == ["speed: left out, as the book no longer has it: speed = weeks."]


def test_weights_written_for_other_values_are_never_read_as_if_for_these(
    kb: Knowledge, carry: Carry
) -> None:
    """Same number of values, another order, and the question split so that it cannot be re-read."""
    turned = finding("light", "gone", "dim", "bright")
    newer = with_findings(without(kb, "light"), light=turned)
    session, lost = carry(newer, light="dim")
    report = session.observations().reports["light"]
    assert (report.value, report.likelihood) == ("dim", (0.95, pytest.approx(0.05)))
    assert lost == []


def test_a_crop_the_book_no_longer_has_is_dropped_alone(kb: Knowledge, carry: Carry) -> None:
    newer = replace(kb, crops={c: v for c, v in kb.crops.items() if c != "oats"})
    session, lost = carry(newer, plants={"tomato": "hurt", "oats": "fine_beside"})
    assert session.observations().crops == {"tomato": "hurt"}
    assert lost == ["plants: 'oats' is not known any more and is left out."]


def test_an_event_the_book_no_longer_has_is_dropped_alone(kb: Knowledge, carry: Carry) -> None:
    newer = replace(kb, events={e: v for e, v in kb.events.items() if e != "sown"})
    raw = {
        "last_right": "2026-04-01",
        "events": [{"event": "sown", "when": "2026-03-01"}, {"event": "potted_on"}],
    }
    session, lost = carry(newer, when=raw)
    assert session.answers["when"].raw == {
        "last_right": "2026-04-01",
        "events": [{"event": "potted_on"}],
    }
    assert lost == ["when: not known any more and left out: sown."]


def test_a_slot_with_an_unknown_input_never_comes_to_say_that_nothing_else_went_in(
    kb: Knowledge, carry: Carry
) -> None:
    newer = replace(kb, inputs={"manure": kb.inputs["manure"]})
    raw = {"mix": ["straw"], "ground": []}
    assert carry(kb, added=raw)[0].observations().known("manure_used") == ("absent", None)
    session, lost = carry(newer, added=raw)
    assert session.observations().known("manure_used") is None
    assert lost == ["added: 'mix' is left unknown, as it held what is not known any more: straw."]


def test_an_answer_to_a_list_the_book_no_longer_asks_is_said(kb: Knowledge, carry: Carry) -> None:
    session, lost = carry(without(kb, "plants"), plants={"tomato": "hurt"})
    assert session.answers == {}
    assert lost == ["plants: left out, as the book no longer asks it."]


def test_a_dont_know_to_a_retired_question_is_no_loss(kb: Knowledge, carry: Carry) -> None:
    newer = with_findings(without(kb, "water"), "water")
    session, lost = carry(newer, water="dont_know")
    assert (session.answers, lost) == ({}, [])


def test_a_pot_test_whose_results_changed_is_said_and_not_guessed(
    kb: Knowledge, casebook: Casebook
) -> None:
    case = casebook.new_case(kb)
    own = Answer("pot_test", "injury", (Report("pot_test", (0.97, 0.2), "injury", None, True),))
    with case.writing() as open_:
        open_.journal.result(own, {"power": 0.8})
    values = ("injury", "other_harm", "none_shown")
    newer = with_findings(
        kb, pot_test=replace(finding("pot_test", "pot_test", *values), form="test")
    )
    session, lost = case.read().to_session(newer)
    assert session.answers == {}
    assert lost == ["pot_test: left out, as the book no longer has it: pot_test = injury."]
