"""Typed lines, as in the interview and in --answer ID=VALUE."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from gated_book import gated_kb

from diagnose.errors import UnreadableError, UsageError
from diagnose.interview.answers import DONT_KNOW, NONE_LOOKED, read_answer
from diagnose.interview.dates import split_date
from diagnose.interview.given import read_answers_file, read_words
from diagnose.interview.typed import is_nothing, is_unknown, read_crops, read_inputs, read_typed
from diagnose.kb.load import load

KB = gated_kb()
TODAY = dt.date(2026, 5, 20)


def typed(id_: str, text: str) -> Any:
    return read_typed(KB, id_, text, TODAY)


@pytest.mark.parametrize(
    "text",
    ["don't know", "DK", "I dont know.", "no idea", "Not sure", "dunno", "n/a", "NA", "?", " ?? "],
)
def test_not_knowing_can_be_said_in_many_ways(text: str) -> None:
    assert is_unknown(text)
    assert typed("onset", text) == DONT_KNOW


def test_either_of_two_can_be_typed() -> None:
    kb = load()
    assert read_typed(kb, "season", "spring or summer", TODAY) == ["spring", "summer"]
    with pytest.raises(UsageError, match="nonsense"):
        read_typed(kb, "season", "spring or nonsense", TODAY)


@pytest.mark.parametrize("text", ["none", "Nothing", "no", "-", "none of these"])
def test_nothing_can_be_said_in_many_ways(text: str) -> None:
    assert is_nothing(text)
    assert typed("shape", text) == NONE_LOOKED


@pytest.mark.parametrize(
    ("id_", "text", "raw"),
    [
        ("onset", "gradual", "gradual"),
        ("onset", "Gradual", "gradual"),
        ("onset", "overnigt", "overnight"),
        ("shape", "cupped, narrow like a strap", {"ticked": ["cupped", "strap"]}),
        ("plants", "tomatoes hurt; oats ok", {"tomato": "hurt", "oats": "fine_beside"}),
        ("plants", "the oats is ok", {"oats": "fine_beside"}),
        ("plants", "my tomatoes are sick", {"tomato": "hurt"}),
        ("plants", "oats fine elsewhere", {"oats": "fine_elsewhere"}),
        ("plants", "bean not grown", {"bean": "not_grown"}),
        ("plants", "bean (french, runner): hurt", {"bean": "hurt"}),
        ("added", "mix: straw, own compost", {"mix": ["straw", "own_compost"]}),
        ("added", "on top: nothing; in the mix: dk", {"mulch": []}),
        ("added", "mix: straw; none of: hay", {"mix": ["straw"], "none_of": ["hay"]}),
        ("salt", "2.1 mS/cm", "2.1 mS/cm"),
        ("when", "right until 2026-04-20", {"last_right": "2026-04-20"}),
        ("when", "they looked fine until 20 April 2026", {"last_right": "2026-04-20"}),
        ("when", "sown", {"events": [{"event": "sown"}]}),
    ],
)
def test_a_typed_line_is_the_raw_answer(id_: str, text: str, raw: Any) -> None:
    found = typed(id_, text)
    assert (
        found == raw if id_ != "plants" or "not grown" not in text else raw.items() <= found.items()
    )
    assert read_answer(KB, id_, found).question == id_


@pytest.mark.parametrize(
    ("id_", "text", "message", "hint"),
    [
        ("onset", "overnite", "'overnite' is not known", "Did you mean 'overnight'?"),
        ("onset", "purple", "'purple' is not known", "Known: overnight, gradual"),
        ("shape", "cupped, furry", "'furry' is not known", "Known: cupped, strap"),
        ("plants", "tomato", "is 'tomato' hurt or sound?", "tomato hurt"),
        ("plants", "mandrake hurt", "'mandrake' is not in the book", ""),
        ("plants", "tomato hurt, tomatoes fine", "Tomato is named twice", "any hurt plant"),
        ("added", "straw", "where did 'straw' go?", "Places: mix, mulch"),
        ("added", "roof: straw", "'roof' is not known", "mulch"),
        ("added", "mix: moon dust", "'moon dust' is not in the book", ""),
        ("when", "right until some day", "has no date", "2026-04-20"),
        ("when", "right until 2026-02-30", "'2026-02-30' is no date", ""),
        ("when", "sown 2026-05-21", "2026-05-21 lies in the future", "Check the year"),
        ("when", "eclipse 2026-05-01", "'eclipse' is not in the book", ""),
        ("nosuch", "x", "no question or test 'nosuch'", ""),
    ],
)
def test_a_line_that_does_not_fit_is_refused(id_: str, text: str, message: str, hint: str) -> None:
    with pytest.raises(UsageError) as caught:
        typed(id_, text)
    assert message in caught.value.message
    assert hint in caught.value.hint


def test_a_test_result_can_be_typed_by_its_label() -> None:
    kb = load()
    label = kb.findings["bean_pot_test"].label("no_injury")
    assert read_typed(kb, "bean_pot_test", label, TODAY) == "no_injury"


def test_every_name_the_screens_offer_is_understood_when_typed() -> None:
    kb = load()
    for crop in kb.crops.values():
        assert read_crops(kb, crop.name, "hurt") == {crop.id: "hurt"}
    for item in kb.inputs.values():
        assert read_inputs(kb, "mix", item.name) == [item.id]
    for event in kb.events.values():
        told = read_typed(kb, "when", f"{event.name} 2026-05-01", TODAY)
        assert told == {"events": [{"event": event.id, "when": "2026-05-01"}]}


def test_several_names_in_one_line_are_all_found() -> None:
    kb = load()
    line = "Bean (French, runner, lima), tomatoes and Courgette, zucchini or summer squash"
    assert list(read_crops(kb, line, "hurt")) == ["bean", "tomato", "courgette"]


@pytest.mark.parametrize(
    ("text", "words", "day"),
    [
        ("potted on 2026-04-20", "potted on", "2026-04-20"),
        ("potted on 2 weeks ago", "potted on", "2026-05-06"),
        ("fed a week ago.", "fed", "2026-05-13"),
        ("fed three days ago", "fed", "2026-05-17"),
        ("sown two months ago", "sown", "2026-03-21"),
        ("cold night yesterday", "cold night", "2026-05-19"),
        ("cold last night", "cold", "2026-05-19"),
        ("right until today", "right", "2026-05-20"),
        ("right until 20 April", "right", "2026-04-20"),
        ("right until the 3rd of May", "right", "2026-05-03"),
        ("sown 25 Dec", "sown", "2025-12-25"),
        ("sown 29 February", "sown", "2024-02-29"),
        ("sown: 1 Jan 2025", "sown", "2025-01-01"),
        ("20 april", "", "2026-04-20"),
    ],
)
def test_dates_are_read_as_people_type_them(text: str, words: str, day: str) -> None:
    assert split_date(text, TODAY) == (words, dt.date.fromisoformat(day))


@pytest.mark.parametrize(
    "text",
    ["soon", "20/4", "bench20 April", "x2 weeks ago", "in May", "99 years ago", "45 fortnights"],
)
def test_what_is_no_date_is_left_as_words(text: str) -> None:
    assert split_date(text, TODAY) == (text, None)


@pytest.mark.parametrize("text", ["2026-02-30", "30 Feb", "0 May", "31 April 2026"])
def test_a_day_that_never_was_is_refused(text: str) -> None:
    with pytest.raises(UsageError, match="is no date"):
        split_date(text, TODAY)


@pytest.mark.parametrize("text", ["2026-05-21", "21 May 2026", "2027-01-01"])
def test_a_day_to_come_is_refused(text: str) -> None:
    with pytest.raises(UsageError, match="lies in the future"):
        split_date(text, TODAY)


class TestGivenBeforehand:
    def test_words_need_an_equals_sign(self) -> None:
        with pytest.raises(UsageError, match="'spring' is no answer") as caught:
            read_words(KB, ["spring"], TODAY)
        assert "ID=VALUE" in caught.value.hint

    def test_words_are_read_like_typed_lines(self) -> None:
        answers = read_words(KB, ["onset = gradual", "shape=none"], TODAY, phone=True)
        assert [a.question for a in answers] == ["onset", "shape"]
        assert answers[0].reports[0].likelihood[1] == pytest.approx(0.88)

    def test_a_file_answers_in_its_own_order(self, tmp_path: Path) -> None:
        path = tmp_path / "tray.yaml"
        path.write_text("salt: 2.1 mS/cm\nonset: gradual\n", encoding="utf-8")
        assert [a.question for a in read_answers_file(KB, path)] == ["salt", "onset"]

    def test_a_json_file_does_too(self, tmp_path: Path) -> None:
        path = tmp_path / "tray.json"
        path.write_text('{"onset": "gradual", "salt": 2.1}', encoding="utf-8")
        assert [a.raw for a in read_answers_file(KB, path)] == ["gradual", "2.1 mS/cm"]

    def test_a_bad_answer_is_named_with_its_line(self, tmp_path: Path) -> None:
        path = tmp_path / "tray.yaml"
        path.write_text("salt: 2.1 mS/cm\nonset: purple\n", encoding="utf-8")
        with pytest.raises(UsageError) as caught:
            read_answers_file(KB, path)
        assert caught.value.location is not None
        assert caught.value.location.line == 2

    @pytest.mark.parametrize(
        "text",
        ["- onset", "onset", "onset: gradual\nonset: overnight", "onset: [", "a: &x 1\nb: *x", ""],
    )
    def test_a_file_that_is_no_strict_mapping_is_not_readable(
        self, tmp_path: Path, text: str
    ) -> None:
        path = tmp_path / "tray.yaml"
        path.write_text(text, encoding="utf-8")
        with pytest.raises(UnreadableError):
            read_answers_file(KB, path)

    def test_a_missing_file_is_not_readable(self, tmp_path: Path) -> None:
        with pytest.raises(UnreadableError):
            read_answers_file(KB, tmp_path / "none.yaml")

    def test_a_date_to_come_in_a_file_is_refused(self, tmp_path: Path) -> None:
        path = tmp_path / "tray.yaml"
        path.write_text(
            'onset: gradual\nwhen: {events: [{event: sown, when: "2026-05-21"}]}\n',
            encoding="utf-8",
        )
        assert len(read_answers_file(KB, path)) == 2
        with pytest.raises(UsageError, match="lies in the future"):
            read_answers_file(KB, path, today=TODAY)


def test_where_an_input_came_from_and_when_can_be_typed() -> None:
    kb = load()
    told = read_typed(
        kb, "inputs", "mix: horse manure from my friend, peat from shop in April", TODAY
    )
    assert told == {
        "mix": [
            {"input": "horse_manure", "source": "gift"},
            {"input": "peat", "source": "bought", "when": "in April"},
        ]
    }
