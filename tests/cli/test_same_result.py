"""The same answers give the same result, however and in whatever order they are given."""

from __future__ import annotations

import json
import random
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from answers_given import ANSWERS, lines_for, whole_interview, write_file

Cli = Callable[..., Any]
RANKED = ("causes", "kinds", "unlisted", "verdict", "tests", "actions", "cautions")


def ranked(text: str) -> dict[str, Any]:
    document = json.loads(text)
    return {key: document[key] for key in RANKED}


@pytest.fixture
def told(cli: Cli, tmp_path: Path) -> Callable[..., dict[str, Any]]:
    """The ranking of answers given in a file."""

    def by_file(answers: dict[str, Any], *more: str) -> dict[str, Any]:
        path = write_file(tmp_path / "tray.json", answers)
        ran = cli("interview", "--answers", path, "--no-input", "--format", "json", *more)
        assert ran.code == 0, ran.err
        return ranked(ran.out)

    return by_file


def test_a_file_and_the_typed_interview_rank_alike(
    told: Callable[..., Any], start: Callable[..., subprocess.Popen[str]]
) -> None:
    lines, asked = whole_interview(ANSWERS)
    assert len(asked) > 16
    interview = start("interview", "--plain", "--format", "json")
    out, err = interview.communicate("\n".join(lines) + "\n", timeout=120)
    assert interview.returncode == 0, err
    assert ranked(out) == told(asked)


def test_the_order_of_a_file_never_matters(told: Callable[..., Any]) -> None:
    wanted = told(ANSWERS)
    chance = random.Random(7)
    for _ in range(5):
        ids = chance.sample(list(ANSWERS), len(ANSWERS))
        assert told({id_: ANSWERS[id_] for id_ in ids}) == wanted


def test_nor_does_answering_in_two_sittings(cli: Cli, tmp_path: Path, told: Any) -> None:
    path = write_file(tmp_path / "first.json", dict(list(ANSWERS.items())[8:]))
    ran = cli("interview", "--answers", path, "--no-input", "--format", "json")
    case = json.loads(ran.out)["case"]
    # The opening that was left is asked next.
    left = [line for id_ in list(ANSWERS)[:8] for line in lines_for(id_, ANSWERS[id_])]
    stdin = "\n".join([*left, "enough"]) + "\n"
    resumed = cli("resume", case, "--plain", "--format", "json", stdin=stdin)
    assert resumed.code == 0, resumed.err
    assert ranked(resumed.out) == told(ANSWERS)


def test_words_on_the_command_line_rank_like_a_file(cli: Cli, told: Any) -> None:
    some = {"season": "spring", "onset": "gradual", "crops": {"tomato": "hurt"}}
    words = ["season=spring", "onset=Slowly, over weeks, leaf by leaf", "crops=tomatoes hurt"]
    argv = [part for word in words for part in ("--answer", word)]
    ran = cli("interview", "--no-input", "--format", "json", *argv)
    assert ranked(ran.out) == told(some)


def test_dont_know_is_the_same_as_silence(told: Any) -> None:
    silent = {k: v for k, v in ANSWERS.items() if k not in ("onset", "contrast", "when")}
    spoken = {**ANSWERS, "onset": "dont_know", "contrast": "dont_know", "when": "dont_know"}
    assert told(silent) == told(spoken)


def test_a_saved_case_shows_what_was_printed(cli: Cli, tmp_path: Path) -> None:
    path = write_file(tmp_path / "tray.json", ANSWERS)
    for format_ in ("json", "markdown", "text"):
        made = cli("interview", "--answers", path, "--no-input", "--format", format_)
        case = made.err.split("Saved as case ")[1].split(".")[0]
        assert cli("show", case, "--format", format_).out == made.out


def test_a_case_ranked_anew_under_the_same_book_has_not_moved(cli: Cli, tmp_path: Path) -> None:
    path = write_file(tmp_path / "tray.json", ANSWERS)
    cli("interview", "--answers", path, "--no-input")
    assert "Nothing moved" in cli("recheck", "1").out


def test_json_on_a_pipe_is_json_alone(cli: Cli) -> None:
    ran = cli("interview", "--plain", "--format", "json", stdin="none\nenough\n")
    assert json.loads(ran.out)["format"] == 1
    assert "Danger first" in ran.err


def test_every_step_shown_is_in_the_result(cli: Cli) -> None:
    lines = ["none", "pale", "none", "not asked", "enough"]
    ran = cli("interview", "--plain", "--format", "json", stdin="\n".join(lines) + "\n")
    asked = {q["id"]: q["state"] for q in json.loads(ran.out)["questions_asked"]}
    assert list(asked)[:2] == ["danger_now", "own_words"]
    assert "skipped" in asked.values()
