"""Files of cases, and cases run through the interview."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from diagnose.curate.cases import Case, read_cases
from diagnose.curate.trial import Trial, interview_case, run_trial
from diagnose.errors import UnreadableError, UsageError
from diagnose.interview.answers import DONT_KNOW
from diagnose.kb.load import load
from diagnose.kb.model import Knowledge
from diagnose.reasoning.book import Book
from diagnose.reasoning.rank import Ranker

DRY = {"trouble": {"ticked": ["wilting"], "looked_for": "all"}, "moisture": "dry", "onset": "days"}
FROST = {"onset": "overnight", "night_low": "1 °C"}


def write(folder: Path, text: str) -> Path:
    file = folder / "cases.yaml"
    file.write_text(text, "utf-8")
    return file


def test_cases_stand_in_a_list_or_under_a_key(tmp_path: Path, tiny_book: Knowledge) -> None:
    row = "{id: one, answers: {onset: days}, expect: [thirst]}"
    bare = read_cases(write(tmp_path, f"- {row}\n"), tiny_book)
    keyed = read_cases(write(tmp_path, f"cases:\n  - {row}\n"), tiny_book)
    assert bare == keyed == [Case("one", {"onset": "days"}, ("thirst",), ("dry",))]


def test_case_without_id_is_numbered_and_one_cause_needs_no_list(
    tmp_path: Path, tiny_book: Knowledge
) -> None:
    text = "- {answers: {onset: days}, expect: thirst}\n- {answers: {onset: days}}\n"
    first, second = read_cases(write(tmp_path, text), tiny_book)
    assert (first.id, first.expect) == ("1", ("thirst",))
    assert (second.id, second.expect, second.expect_kind) == ("2", (), ())


def test_kind_expected_may_be_wider_than_the_cause(tmp_path: Path, tiny_book: Knowledge) -> None:
    text = "- {answers: {onset: days}, expect_kind: [dry, wet]}\n"
    assert read_cases(write(tmp_path, text), tiny_book)[0].expect_kind == ("dry", "wet")


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("case: 1\n", 1, "no list of cases"),
        ("", 1, "no list of cases"),
        ("- {id: a, answers: {onset: days}}\n- {id: b}\n", 2, "needs an id and answers"),
        ("- {id: a, answers: [onset]}\n", 1, "needs an id and answers"),
        ("- onset\n", 1, "needs an id and answers"),
        ("- {id: a, id: b}\n", 1, "twice"),
    ],
)
def test_faulty_file_of_cases_is_refused_with_its_line(
    text: str, line: int, said: str, tmp_path: Path, tiny_book: Knowledge
) -> None:
    with pytest.raises(UnreadableError, match=said) as caught:
        read_cases(write(tmp_path, text), tiny_book)
    assert caught.value.location is not None
    assert caught.value.location.path.endswith("cases.yaml")
    assert caught.value.location.line == line
    assert caught.value.hint


def test_what_does_not_fit_is_left_out_and_told_with_place_and_remedy(
    tmp_path: Path, tiny_book: Knowledge
) -> None:
    text = "cases:\n  - id: a\n    answers: {onset: dais, onsett: days}\n    expect: [thurst]\n"
    (case,) = read_cases(write(tmp_path, text), tiny_book)
    assert not case.answers
    wrong_value, wrong_id, wrong_cause = case.faults
    assert "cases.yaml:3:" in wrong_value
    assert "'dais' is not known" in wrong_value
    assert "no question or test 'onsett'" in wrong_id
    assert "cases.yaml:4:" in wrong_cause
    assert "Did you mean thirst?" in wrong_cause


def test_the_rest_of_a_list_is_kept(tmp_path: Path) -> None:
    text = (
        "- id: a\n  answers:\n    crops: {tomato: hurt, martian: hurt}\n"
        "    trouble: {ticked: [trouble_small, trouble_huge]}\n"
        "    inputs: {mix: [hay, moon_dust], water: []}\n"
    )
    (case,) = read_cases(write(tmp_path, text), load())
    assert case.answers == {
        "crops": {"tomato": "hurt"},
        "trouble": {"ticked": ["trouble_small"]},
        "inputs": {"mix": ["hay"], "water": []},
    }
    assert len(case.faults) == 3


def test_a_cause_the_book_does_not_hold_counts_as_missed(tiny_book: Knowledge) -> None:
    trial = run_trial(tiny_book, [Case("dry", DRY, ("another_planet",))])
    (tried,) = trial.cases
    assert tried.rank == len(tiny_book.causes) + 1
    assert tried.probability == 0
    assert not tried.right


def test_missing_file_of_cases_is_refused(tmp_path: Path, tiny_book: Knowledge) -> None:
    with pytest.raises(UnreadableError, match="cannot read it"):
        read_cases(tmp_path / "none.yaml", tiny_book)


def test_trial_ranks_the_cause_expected(tiny_book: Knowledge) -> None:
    cases = [Case("dry", DRY, ("thirst",), ("dry",)), Case("frost", FROST, ("cold_injury",))]
    dry, frost = run_trial(tiny_book, cases).cases
    assert (dry.rank, dry.right, dry.kind, dry.kind_right) == (1, True, "dry", True)
    assert (frost.rank, frost.right, frost.kind_right) == (1, True, None)
    assert dry.top[0] == ("thirst", dry.probability)
    assert dry.stated == dry.probability
    assert [p for _, p in dry.top] == sorted((p for _, p in dry.top), reverse=True)


def test_rank_is_that_of_the_best_of_several_expected(tiny_book: Knowledge) -> None:
    wrong, either = run_trial(
        tiny_book, [Case("a", DRY, ("wet_roots",)), Case("b", DRY, ("wet_roots", "thirst"))]
    ).cases
    assert wrong.rank > 1
    assert not wrong.right
    assert wrong.probability < wrong.stated
    assert (either.rank, either.right) == (1, True)


def test_case_nobody_could_tell_is_right_only_when_nothing_is_called_likely(
    tiny_book: Knowledge,
) -> None:
    silent, loud = run_trial(tiny_book, [Case("silent", {}), Case("loud", DRY)]).cases
    assert (silent.rank, silent.verdict in ("likely", "settled"), silent.right) == (0, False, True)
    assert (loud.rank, loud.verdict, loud.right) == (0, "likely", False)


def test_interview_asks_its_own_questions_and_hears_dont_know_where_the_case_is_silent(
    tiny_book: Knowledge,
) -> None:
    session = interview_case(Ranker(Book(tiny_book)), Case("frost", FROST))
    opening = [q for step in tiny_book.opening for q in step.questions]
    assert session.shown[: len(opening)] == opening
    assert all(session.answers[q].raw == DONT_KNOW for q in opening)
    assert session.answers["night_low"].raw != DONT_KNOW


def test_signs_of_a_story_are_confirmed_by_what_the_case_answers_of_them(
    tiny_book: Knowledge,
) -> None:
    wilts = {"trouble": {"ticked": ["wilting"]}}
    told = "They are wilting and small plants"
    session = interview_case(Ranker(Book(tiny_book)), Case("a", {"story": told, **wilts}))
    # Small plants are named in the story too, but the case does not say so where it is asked.
    assert session.answers["story"].raw["confirmed"] == ["wilting=present"]
    silent = interview_case(Ranker(Book(tiny_book)), Case("b", {"story": told}))
    assert silent.answers["story"].raw["confirmed"] == []


def test_result_of_a_test_is_known_from_the_start(tiny_book: Knowledge) -> None:
    session = interview_case(Ranker(Book(tiny_book)), Case("a", {"water_half": "perks_up"}))
    assert session.answers["water_half"].raw == "perks_up"
    assert session.ranking().leaders(1)[0][0] == "thirst"


@pytest.mark.parametrize(
    "answers", [{"onset": "dais"}, {"onsett": "days"}, {"night_low": "cold"}, {"water_half": "x"}]
)
def test_answer_that_does_not_fit_is_refused_naming_the_case(
    answers: dict[str, str], tiny_book: Knowledge
) -> None:
    with pytest.raises(UsageError, match="case tray 7"):
        run_trial(tiny_book, [Case("tray 7", answers, ("thirst",))])


def test_trial_is_the_same_every_time(tiny_book: Knowledge) -> None:
    cases = [Case("dry", DRY, ("thirst",)), Case("frost", FROST, ("cold_injury",))]
    assert run_trial(tiny_book, cases) == run_trial(tiny_book, cases)


def test_plain_form_is_the_documented_json(tiny_book: Knowledge) -> None:
    trial: Trial = run_trial(tiny_book, [Case("dry", DRY, ("thirst",))])
    plain = json.loads(json.dumps(trial.plain()))
    assert plain["format"] == 1
    wanted = {"top1", "top3", "kind1", "questions_median", "questions_p90", "brier", "ece", "cases"}
    assert wanted <= set(plain)
    (case,) = plain["cases"]
    assert {"id", "rank", "probability", "questions", "verdict", "top"} <= set(case)
    assert case["top"][0]["id"] == "thirst"
