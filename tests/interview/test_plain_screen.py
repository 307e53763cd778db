"""The numbered plain lines, answered from a script of lines."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from gated_book import gated_kb, with_a_third_onset
from scripted import QUIET, Scripted

from diagnose.interview.answers import read_answer
from diagnose.interview.flows import (
    DAY_HINT,
    EVENT_HINT,
    NAME_HINT,
    WORDS_HINT,
    how_lines,
)
from diagnose.interview.plain import WORDS, numbers_in
from diagnose.interview.run import Given, Move, Moved
from diagnose.interview.step import Step
from diagnose.kb.match import Sign


@pytest.mark.parametrize(
    ("id_", "line", "raw"),
    [
        ("shape", "1", {"ticked": ["cupped"]}),
        ("shape", "2, 1", {"ticked": ["strap", "cupped"]}),
        ("shape", "1 2", {"ticked": ["cupped", "strap"]}),
        ("shape", "narrow like a strap", {"ticked": ["strap"]}),
        ("shape", "none", "none"),
        ("shape", "don't know", "dont_know"),
        ("onset", "2", "gradual"),
        ("onset", "overnight", "overnight"),
        ("onset", "dk", "dont_know"),
        ("salt", "2.1 mS/cm", "2.1 mS/cm"),
        ("story", "1", {"text": "1"}),
        ("story", "all twisted [x]", {"text": "all twisted [x]"}),
    ],
)
def test_one_line_answers(id_: str, line: str, raw: Any) -> None:
    assert Scripted(line).ask(id_) == raw


@pytest.mark.parametrize(
    ("line", "move"),
    [
        ("back", Move.BACK),
        ("Not asked", Move.NOT_ASKED),
        ("skip", Move.NOT_ASKED),
        ("enough", Move.ENOUGH),
        ("that's enough", Move.ENOUGH),
        ("leave", Move.LEAVE),
        ("save and leave", Move.LEAVE),
    ],
)
@pytest.mark.parametrize("id_", list(gated_kb().questions))
def test_the_words_that_always_work_work_everywhere(id_: str, line: str, move: Move) -> None:
    assert Scripted(line).ask(id_) is move


@pytest.mark.parametrize("id_", [q for q in gated_kb().questions if q != "added"])
def test_why_and_how_explain_and_ask_again(id_: str) -> None:
    script = Scripted("why", "how", "leave")
    assert script.ask(id_) is Move.LEAVE
    assert f"why {id_}" in script.out
    assert f"how {id_}" in script.out


def test_the_words_are_told_once_and_again_with_help() -> None:
    script = Scripted("1", "how", "1")
    for id_ in ("shape", "onset"):
        script.screen.ask(Step(script.session.kb.questions[id_], "", 1, 3), QUIET)
    assert script.out.count(WORDS) == 2


def test_a_bare_enter_takes_nothing_and_shows_the_list_again() -> None:
    script = Scripted("", "2")
    assert script.ask("onset") == "gradual"
    assert script.out.count("1. overnight") == 2


def test_a_slip_costs_one_line_and_not_the_whole_list() -> None:
    script = Scripted("9", "1 2", "purple", "2")
    assert script.ask("onset") == "gradual"
    assert script.out.count("1. overnight") == 1
    assert "That does not fit: '9' is not in the list." in script.out
    assert "That does not fit: one answer is wanted." in script.out
    assert "Type numbers from 1 to 2." in script.out


@pytest.mark.parametrize(
    ("line", "raw"),
    [("1 or 3", ["overnight", "days"]), ("gradual or days", ["gradual", "days"]), ("3", "days")],
)
def test_a_choice_may_be_either_of_two(line: str, raw: Any) -> None:
    script = Scripted(line)
    kb = script.screen.kb = with_a_third_onset(script.screen.kb)
    assert script.ask("onset") == raw
    before = read_answer(kb, "onset", raw)
    again = Scripted("")
    again.screen.kb = kb
    step = Step(kb.questions["onset"], "", 1, 3, before=before)
    reply = again.screen.ask(step, QUIET)
    assert isinstance(reply, Given)
    assert reply.raw == raw
    assert sum(line[1:6] == ". [x]" for line in again.out) == (2 if isinstance(raw, list) else 1)


def test_a_measure_names_its_units_and_takes_a_second_try() -> None:
    lines = ["x", "none", "none", "overnight", "2 furlongs", "2100 uS/cm"]
    script = Scripted(*lines)
    script.session.skip("when")
    script.run()
    assert "A number with its unit (mS/cm, uS/cm, TDS), or don't know." in script.out
    assert "That does not fit: salt: the unit 'furlongs' is not known." in script.out
    assert script.session.answers["salt"].raw == "2.1 mS/cm"


class TestToldInOwnWords:
    def test_ticks_are_marked_and_stay(self) -> None:
        script = Scripted("2")
        assert script.ask("shape", cupped="present") == {"ticked": ["cupped", "strap"]}
        assert "1. [x] Cupped like a spoon" in script.out
        assert "2. Narrow like a strap" in script.out

    def test_none_means_none_of_the_others(self) -> None:
        raw = Scripted("none").ask("shape", cupped="present")
        assert raw == {"ticked": ["cupped"], "looked_for": "all"}

    def test_a_choice_is_marked_and_enter_goes_on_with_it(self) -> None:
        script = Scripted("why", "")
        assert script.ask("onset", onset="gradual") == "gradual"
        assert "2. [x] gradual" in script.out
        assert Scripted("1").ask("onset", onset="gradual") == "overnight"

    def test_enter_goes_on_with_ticks(self) -> None:
        assert Scripted("").ask("shape", cupped="present") == {"ticked": ["cupped"]}

    def test_an_absence_is_not_marked(self) -> None:
        script = Scripted("2")
        assert script.ask("shape", cupped="absent") == {"ticked": ["strap"]}
        assert "1. Cupped like a spoon" in script.out


class TestTypedFlows:
    def test_crops_are_asked_hurt_first_then_sound(self) -> None:
        script = Scripted("tomatoes, bean", "oats")
        raw = {"tomato": "hurt", "bean": "hurt", "oats": "fine_beside"}
        assert script.ask("plants") == raw
        assert "Noted: Tomato, Bean (French, runner)." in script.out

    def test_an_unknown_crop_costs_its_line_only(self) -> None:
        script = Scripted("tomato", "mandrake", "none")
        assert script.ask("plants") == {"tomato": "hurt"}
        assert "'mandrake' is not in the book" in script.text

    def test_a_crop_cannot_be_hurt_and_sound(self) -> None:
        script = Scripted("tomato", "tomatoes", "oats")
        assert script.ask("plants") == {"tomato": "hurt", "oats": "fine_beside"}
        assert "named twice" in script.text

    def test_crops_typed_as_hurt_are_kept_when_the_sound_ones_are_not_asked(self) -> None:
        assert Scripted("tomato", "not asked").ask("plants") == {"tomato": "hurt"}

    def test_nothing_said_of_crops_is_not_known(self) -> None:
        assert Scripted("don't know", "none").ask("plants") == "dont_know"

    def test_inputs_are_asked_place_by_place(self) -> None:
        script = Scripted("straw and own compost", "nothing")
        assert script.ask("added") == {"mix": ["straw", "own_compost"], "mulch": []}
        assert "In the mix:" in script.out
        assert "On top:" in script.out

    def test_a_place_not_known_stays_silent(self) -> None:
        assert Scripted("dk", "straw").ask("added") == {"mulch": ["straw"]}
        assert Scripted("dk", "dk").ask("added") == "dont_know"

    def test_a_timeline_takes_dates_and_events_until_done(self) -> None:
        script = Scripted("20 April", "repotted 2026-04-10", "sown 6 weeks ago again", "done")
        assert script.ask("when") == {
            "last_right": "2026-04-20",
            "events": [
                {"event": "potted_on", "when": "2026-04-10"},
                {"event": "sown", "when": "2026-04-08", "again": True},
            ],
        }
        assert "Noted: potted on, 2026-04-10." in script.out

    def test_a_bad_or_future_date_is_asked_again(self) -> None:
        script = Scripted(
            "soon", "2027-01-01", "30 Feb", "sown 20 April", "2026-04-20", "eclipse", "done"
        )
        assert script.ask("when") == {"last_right": "2026-04-20"}
        assert "'soon' is no date" in script.text
        assert "'sown 20 April' is no date" in script.text
        assert "lies in the future" in script.text
        assert "'30 Feb' is no date" in script.text
        assert "'eclipse' is not in the book" in script.text

    def test_nothing_said_of_time_is_not_known(self) -> None:
        assert Scripted("don't know", "done").ask("when") == "dont_know"

    def test_a_bare_enter_hears_what_may_be_typed(self) -> None:
        script = Scripted("", "tomato", "mandrake", "", "none")
        assert script.ask("plants") == {"tomato": "hurt"}
        assert script.out.count(NAME_HINT) == 2
        assert "Hurt (names with commas between, or the word nothing):" in script.out
        script = Scripted("", "don't know", "", "done")
        script.ask("when")
        assert DAY_HINT in script.out
        assert EVENT_HINT in script.out
        script = Scripted("", "pale")
        script.ask("story")
        assert WORDS_HINT in script.out


def test_by_phone_it_is_they_who_looked() -> None:
    script = Scripted("none")
    question = script.session.kb.questions["shape"]
    script.screen.ask(Step(question, "", 1, 3, phone=True), QUIET)
    assert "none = they looked" in script.text


def test_how_says_that_nothing_is_to_be_looked_at() -> None:
    kb = gated_kb()
    bare = replace(kb.questions["onset"], help="")
    assert how_lines(kb, bare) == ["Nothing to look at here: what you remember is enough."]
    assert how_lines(kb, replace(bare, effort=2))[0].startswith("Look in daylight")


SIGNS = [Sign("cupped", "present", "Cupped", 100.0), Sign("onset", "gradual", "Slowly", 95.0)]


class TestConfirm:
    @pytest.mark.parametrize(
        ("lines", "right"),
        [
            (["all"], 2),
            (["1"], 1),
            (["none"], 0),
            (["don't know"], 0),
            (["not asked"], 0),
            (["", "7", "maybe", "1 2"], 2),
        ],
    )
    def test_numbers_all_or_none(self, lines: list[str], right: int) -> None:
        script = Scripted(*lines)
        assert script.screen.confirm(SIGNS) == SIGNS[:right]
        assert script.unread() == []

    @pytest.mark.parametrize("word", ["back", "enough", "leave"])
    def test_one_can_move_from_there_too(self, word: str) -> None:
        with pytest.raises(Moved):
            Scripted(word).screen.confirm(SIGNS)


def test_numbers_are_taken_once_each() -> None:
    assert numbers_in("2, 2 1", 3) == [2, 1]
    assert numbers_in("0", 3) == []
    assert numbers_in("", 3) == []
