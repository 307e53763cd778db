"""Going on with a case asks what was not known before once more."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from answers_given import ANSWERS, write_file

from diagnose.interview.answers import read_answer
from diagnose.interview.offer import Offer
from diagnose.interview.session import new_session
from diagnose.kb.load import load

Cli = Callable[..., Any]


def first_chosen() -> str:
    """A question laid out first after the opening of the set of answers."""
    session = new_session(load())
    opening = session.opening_ids()
    for id_ in opening:
        if id_ in ANSWERS:
            session.apply(read_answer(session.kb, id_, ANSWERS[id_]))
        else:
            session.apply(read_answer(session.kb, id_, "dont_know"))
    step = session.next_step()
    assert isinstance(step, Offer)
    return step.questions[0].id


def asked_once(cli: Cli, tmp_path: Path) -> tuple[str, Any]:
    """A case whose first chosen question was not known; the question, and the result."""
    chosen = first_chosen()
    opening = new_session(load()).opening_ids()
    answers = {id_: ANSWERS.get(id_, "dont_know") for id_ in opening} | {chosen: "dont_know"}
    path = write_file(tmp_path / "tray.json", answers)
    made = cli("interview", "--answers", path, "--no-input", "--format", "json")
    assert made.code == 0, made.err
    return chosen, json.loads(made.out)


def test_a_chosen_question_not_known_is_asked_again(cli: Cli, tmp_path: Path) -> None:
    chosen, made = asked_once(cli, tmp_path)
    ran = cli("resume", "1", "--plain", "--format", "json", stdin="enough\n")
    assert ran.code == 0, ran.err
    assert load().questions[chosen].about in " ".join(ran.err.split())
    after = json.loads(ran.out)
    for key in ("causes", "questions_asked"):
        assert after[key] == made[key]


def test_nothing_is_asked_without_input(cli: Cli, tmp_path: Path) -> None:
    _, made = asked_once(cli, tmp_path)
    ran = cli("resume", "1", "--no-input", "--format", "json")
    assert json.loads(ran.out)["questions_asked"] == made["questions_asked"]
