"""Raw answers: what they say, and how a bad one is refused with a way out."""

from __future__ import annotations

from typing import Any

import pytest
from gated_book import gated_kb

from diagnose.errors import UsageError
from diagnose.interview.answers import read_answer
from diagnose.interview.values import LONGEST_TEXT, clean_text, read_number
from diagnose.kb.load import load
from diagnose.reasoning.report import dont_know, not_ticked, said, ticked

KB = gated_kb()
SHIPPED = load()


def read(id_: str, raw: Any) -> Any:
    return read_answer(KB, id_, raw)


class TestGood:
    def test_a_choice_is_its_value(self) -> None:
        answer = read("onset", "gradual")
        assert (answer.raw, answer.unknown) == ("gradual", False)
        assert answer.reports == (said(KB.findings["onset"], "gradual"),)

    def test_a_choice_may_be_either_of_several(self) -> None:
        season = SHIPPED.findings["season"]
        answer = read_answer(SHIPPED, "season", ["spring", "summer"])
        (report,) = answer.reports
        by_value = dict(zip(season.value_ids, report.likelihood, strict=True))
        assert by_value["spring"] == by_value["summer"] == max(report.likelihood)
        assert by_value["winter"] < by_value["spring"] / 10
        assert report.value is None
        assert report.spoken
        assert answer.raw == ["spring", "summer"]

    def test_either_of_one_is_that_one_and_of_all_is_no_answer(self) -> None:
        assert read("onset", ["gradual"]) == read("onset", "gradual")
        assert read("onset", ["gradual", "gradual"]) == read("onset", "gradual")
        assert read("onset", list(KB.findings["onset"].value_ids)).unknown

    @pytest.mark.parametrize("raw", ["dont_know", None])
    @pytest.mark.parametrize("id_", list(KB.questions))
    def test_every_question_takes_dont_know(self, id_: str, raw: Any) -> None:
        answer = read(id_, raw)
        assert answer.unknown
        assert not any(r.informative for r in answer.reports)

    def test_a_tick_says_present_and_an_empty_box_little(self) -> None:
        cupped, strap = KB.findings["cupped"], KB.findings["strap"]
        for raw in ({"ticked": ["cupped"]}, ["cupped"]):
            assert read("shape", raw).reports == (ticked(cupped), not_ticked(strap, looked=False))

    def test_looked_for_makes_an_empty_box_an_absence(self) -> None:
        strap = KB.findings["strap"]
        absent = said(strap, "absent")
        assert read("shape", {"ticked": ["cupped"], "looked_for": "all"}).reports[1] == absent
        assert read("shape", {"looked_for": ["strap"]}).reports[1] == absent
        assert read("shape", {"looked_for": ["strap"]}).reports[0].spoken is False

    def test_none_means_looked_and_none_there(self) -> None:
        assert read("shape", "none").raw == {"ticked": [], "looked_for": "all"}

    def test_an_empty_list_is_no_answer(self) -> None:
        answer = read("shape", {"ticked": [], "looked_for": []})
        assert answer.unknown
        assert answer.reports[0] == dont_know(KB.findings["cupped"])

    @pytest.mark.parametrize(
        ("raw", "number"),
        [
            ("2.1 mS/cm", 2.1),
            ("2,1", 2.1),
            ("0,125", 0.125),
            (2.1, 2.1),
            (2, 2.0),
            ("2100 uS/cm", 2.1),
            ("2100US/CM", 2.1),
            ("1400 TDS", 2.1),
            ("  2.1   ms/cm ", 2.1),
            ("0", 0.0),
            ("20", 20.0),
        ],
    )
    def test_a_measure_is_turned_into_the_unit_of_the_finding(
        self, raw: Any, number: float
    ) -> None:
        assert read_number(KB.findings["salt"], raw) == pytest.approx(number)
        assert read("salt", raw).raw == f"{number:g} mS/cm"

    def test_a_measure_on_an_edge_belongs_to_the_upper_band(self) -> None:
        assert read("salt", "2.5").reports[0].value == "band2"

    def test_crops_are_found_by_name_or_synonym(self) -> None:
        raw = {"Tomatoes": "hurt", "Bean (French, runner)": "fine_beside", "OATS!": "not_grown"}
        assert read("plants", raw).raw == {
            "tomato": "hurt",
            "bean": "fine_beside",
            "oats": "not_grown",
        }

    def test_a_crop_spelled_nearly_right_is_taken(self) -> None:
        answer = read_answer(load(), "crops", {"tomatos": "hurt", "aubergene": "hurt"})
        assert answer.raw == {"tomato": "hurt", "eggplant": "hurt"}

    def test_inputs_keep_source_day_and_place(self) -> None:
        row = {"input": "straw", "source": "farm", "when": "2026-03", "on": "all trays"}
        answer = read("added", {"mix": ["own compost", row], "mulch": [], "none_of": ["hay"]})
        assert answer.raw == {"mix": ["own_compost", row], "mulch": [], "none_of": ["hay"]}

    def test_one_input_need_not_be_a_list(self) -> None:
        assert read("added", {"mix": "straw"}).raw == {"mix": ["straw"]}

    def test_a_slot_not_known_is_left_silent(self) -> None:
        assert read("added", {"mix": ["straw"], "mulch": "dont_know"}).raw == {"mix": ["straw"]}

    def test_a_timeline_keeps_dates_and_repeats(self) -> None:
        event = {"event": "repotted", "when": "2026-04-01", "again": True}
        answer = read("when", {"last_right": "2026-04-20", "events": [event]})
        assert answer.raw == {
            "last_right": "2026-04-20",
            "events": [{"event": "potted_on", "when": "2026-04-01", "again": True}],
        }

    def test_words_keep_text_suspicion_and_what_was_confirmed(self) -> None:
        raw = {"text": "all cupped", "confirmed": ["cupped", "onset=gradual"], "suspects": "hay"}
        answer = read("story", raw)
        assert answer.raw == {**raw, "confirmed": ["cupped=present", "onset=gradual"]}
        assert {r.finding for r in answer.reports} == {"cupped", "onset"}

    def test_a_test_result_has_no_slip(self) -> None:
        report = read_answer(load(), "bean_pot_test", "no_injury", phone=True).reports[0]
        assert sorted(report.likelihood) == [0.0, 0.0, 1.0]


BAD: list[tuple[str, Any, str, str]] = [
    # question, raw, part of the message, part of the hint
    ("onsett", "gradual", "no question or test 'onsett'", "onset"),
    ("zzz", "x", "no question or test 'zzz'", "kb questions"),
    ("cupped", "present", "no question or test 'cupped'", "within the question 'shape'"),
    ("onset", "gradually", "'gradually'", "Did you mean 'gradual'"),
    ("onset", "purple", "'purple'", "overnight, gradual"),
    ("onset", ["gradual", "never"], "'never'", "overnight, gradual"),
    ("onset", True, "'True'", "overnight, gradual"),
    ("shape", {"ticked": ["cuped"]}, "'cuped'", "Did you mean 'cupped'"),
    ("shape", {"ticked": "cupped"}, "ticked", "list"),
    ("shape", {"ticked": 5}, "ticked", "list"),
    ("shape", {"tickled": ["cupped"]}, "'tickled'", "ticked"),
    ("shape", {"ticked": ["cupped"], "looked_for": "some"}, "'some'", "all"),
    ("shape", {"ticked": ["odd_shape"]}, "'odd_shape'", "cupped, strap"),
    ("shape", "cupped", "mapping", "ticked"),
    ("salt", "high", "'high' is not a number", "mS/cm"),
    ("salt", "", "not a number", "mS/cm"),
    ("salt", "2 furlongs", "'furlongs'", "mS/cm, uS/cm, TDS"),
    ("salt", "1e3", "'e3'", "mS/cm"),
    ("salt", "2100", "2100 mS/cm cannot be right", "0 to 20"),
    ("salt", "-1", "cannot be right", "0 to 20"),
    ("salt", True, "a number is needed", "mS/cm"),
    ("salt", float("nan"), "not a number", "mS/cm"),
    ("salt", float("inf"), "not a number", "mS/cm"),
    ("salt", "1,200 uS/cm", "1200 or 1.200", "one of these"),
    ("plants", ["tomato"], "how they are", "tomato: hurt"),
    ("plants", {"mandrake": "hurt"}, "'mandrake' is not in the book", "kb list"),
    ("plants", {"tomatillo": "hurt"}, "'tomatillo'", "Tomato"),
    ("plants", {"tomato": "hurt", "tomatoes": "fine_beside"}, "Tomato is named twice", "once"),
    ("plants", {"tomato": "dead"}, "'dead'", "hurt"),
    ("added", ["straw"], "mapping", "mix, mulch"),
    ("added", {"roof": ["straw"]}, "'roof'", "mix, mulch"),
    ("added", {"mix": ["moon dust"]}, "'moon dust'", ""),
    ("added", {"mix": [7]}, "mapping", "input"),
    ("added", {"mix": [{"source": "farm"}]}, "''", ""),
    ("added", {"mix": [{"input": "straw", "source": "shop"}]}, "'shop'", "bought"),
    ("added", {"none_of": "hay"}, "none_of", "list"),
    ("added", {"none_of": ["magic"]}, "'magic'", "hay"),
    ("when", {"last_right": "yesterday"}, "'yesterday' is no date", "2026-04-20"),
    ("when", {"last_right": "2026-02-30"}, "'2026-02-30' is no date", "year-month-day"),
    ("when", {"events": 5}, "events", "list"),
    ("when", {"events": ["sown"]}, "mapping", "event, when, again"),
    ("when", {"events": [{"event": "eclipse"}]}, "'eclipse'", ""),
    ("when", {"events": [{"event": "sown", "when": "soon"}]}, "'soon' is no date", ""),
    ("when", {"none_of": "sown"}, "none_of", "list"),
    ("story", {"text": "x", "confirmed": ["mildew"]}, "'mildew'", ""),
    ("story", {"text": "x", "confirmed": ["onset=never"]}, "'never'", "overnight, gradual"),
    ("story", {"text": "x", "confirmed": 5}, "confirmed", "list"),
    ("story", 5, "mapping", "text"),
]


@pytest.mark.parametrize(("id_", "raw", "message", "hint"), BAD)
def test_a_bad_answer_is_refused_with_a_way_out(
    id_: str, raw: Any, message: str, hint: str
) -> None:
    with pytest.raises(UsageError) as caught:
        read(id_, raw)
    assert message in caught.value.message
    assert hint in caught.value.hint
    assert caught.value.hint


def test_an_unknown_question_names_the_nearest_ids() -> None:
    with pytest.raises(UsageError, match="'sesaon'") as caught:
        read_answer(load(), "sesaon", "spring")
    assert "Did you mean season?" in caught.value.hint


class TestCleanText:
    def test_takes_out_what_a_terminal_obeys(self) -> None:
        assert clean_text("\x1b[2J\x07red\x9b31m\u202egreen") == "[2Jred31mgreen"

    def test_keeps_letters_signs_and_lines(self) -> None:
        assert clean_text(" [bold]é 漢\nnext\tline ") == "[bold]é 漢\nnext\tline"

    def test_cuts_what_is_too_long(self) -> None:
        assert len(clean_text("x" * (LONGEST_TEXT + 5))) == LONGEST_TEXT

    def test_is_used_for_words_and_inputs(self) -> None:
        assert read("story", "\x1b[31mred").raw["text"] == "[31mred"
        row = {"input": "straw", "on": "bench\x1b]0;x\x07 1"}
        assert read("added", {"mix": [row]}).raw["mix"][0]["on"] == "bench]0;x 1"
