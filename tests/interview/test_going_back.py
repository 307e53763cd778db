"""An answer that going back took away comes back with its question, on both screens."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from gated_book import begin
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import PipeInput, create_pipe_input
from prompt_toolkit.output import DummyOutput
from scripted import QUIET, TODAY, Scripted

from diagnose.interview.answers import read_answer
from diagnose.interview.prompts import PromptScreen
from diagnose.interview.run import Given
from diagnose.interview.session import Session
from diagnose.interview.step import Step

ENTER, SPACE, UP, DOWN, CLEAR = "\r", " ", "\x1b[A", "\x1b[B", "\x0b"
LONG_INPUTS = {"mix": [{"input": "straw", "source": "farm"}], "mulch": [], "none_of": ["hay"]}
TIMELINE = {
    "last_right": "2026-04-20",
    "events": [
        {"event": "potted_on", "when": "2026-04-10"},
        {"event": "sown", "when": "2026-04-08", "again": True},
    ],
}
# Each answer with how many lines or lists its question is asked in.
ANSWERS: list[tuple[str, Any, int]] = [
    ("onset", "gradual", 1),
    ("shape", {"ticked": ["strap"], "looked_for": ["cupped"]}, 1),
    ("shape", "none", 1),
    ("shape", "dont_know", 1),
    ("salt", "2.1 mS/cm", 1),
    ("salt", "dont_know", 1),
    ("story", {"text": "all twisted", "confirmed": ["cupped=present"]}, 1),
    ("plants", {"tomato": "hurt", "bean": "hurt", "oats": "fine_elsewhere"}, 2),
    ("plants", {"oats": "fine_beside"}, 2),
    ("plants", "dont_know", 2),
    ("added", LONG_INPUTS, 2),
    ("when", TIMELINE, 3),
    ("when", {"last_right": "2026-04-20"}, 2),
    ("when", "dont_know", 2),
]


def asked_again(session: Session, id_: str, raw: Any) -> Step:
    """The step of a question whose answer was taken back."""
    for other in session.opening_ids():
        if other != id_:
            session.skip(other)
    session.apply(session.read(id_, raw))
    session.back()
    before = session.withdrawn[id_]
    return Step(session.kb.questions[id_], "Title", 1, 3, before=before)


@pytest.fixture
def keyboard() -> Iterator[PipeInput]:
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        yield pipe


def press(pipe: PipeInput, step: Step, keys: str, out: list[str] | None = None) -> Any:
    pipe.send_text(keys)
    screen = PromptScreen(begin().kb, [].append if out is None else out.append, TODAY)
    reply = screen.ask(step, QUIET)
    return reply.raw if isinstance(reply, Given) else reply


def lines(step: Step, *typed: str) -> tuple[Any, list[str]]:
    script = Scripted(*typed)
    reply = script.screen.ask(step, QUIET)
    assert script.unread() == []
    return (reply.raw if isinstance(reply, Given) else reply), script.out


@pytest.mark.parametrize(("id_", "raw", "count"), ANSWERS)
def test_enter_keeps_the_whole_answer(id_: str, raw: Any, count: int, keyboard: PipeInput) -> None:
    session = begin()
    kept = read_answer(session.kb, id_, raw)
    step = asked_again(session, id_, raw)
    for given in (lines(step, *[""] * count)[0], press(keyboard, step, ENTER * count)):
        assert read_answer(session.kb, id_, given) == kept


def test_the_session_hands_the_answer_on_and_forgets_it_once_answered() -> None:
    session = begin()
    session.apply(session.read("story", "pale"))
    session.back()
    step = session.next_step()
    assert isinstance(step, Step)
    assert step.before is not None
    assert step.before.raw["text"] == "pale"
    assert "story" not in session.answers
    session.apply(session.read("story", "red"))
    assert session.withdrawn == {}


class TestPlain:
    def test_ticks_and_choices_are_marked(self) -> None:
        assert "2. [x] gradual" in lines(asked_again(begin(), "onset", "gradual"), "")[1]
        step = asked_again(begin(), "shape", {"ticked": ["strap"]})
        assert "2. [x] Narrow like a strap" in lines(step, "")[1]

    def test_numbers_replace_ticks(self) -> None:
        step = asked_again(begin(), "shape", {"ticked": ["strap"]})
        assert lines(step, "1")[0] == {"ticked": ["cupped"]}

    def test_what_no_mark_shows_is_said(self) -> None:
        step = asked_again(begin(), "shape", "none")
        assert "[x] none of these, I looked (Enter keeps it)" in lines(step, "")[1]
        step = asked_again(begin(), "salt", "2.1 mS/cm")
        assert "[x] 2.1 mS/cm (Enter keeps it)" in lines(step, "")[1]

    def test_one_line_may_be_changed_alone(self) -> None:
        step = asked_again(begin(), "plants", {"tomato": "hurt", "oats": "fine_beside"})
        raw, out = lines(step, "bean", "")
        assert raw == {"bean": "hurt", "oats": "fine_beside"}
        assert "[x] Tomato (Enter keeps it)" in out

    def test_after_a_slip_enter_keeps_nothing(self) -> None:
        step = asked_again(begin(), "plants", {"tomato": "hurt"})
        assert lines(step, "mandrake", "", "bean", "none")[0] == {"bean": "hurt"}


class TestKeys:
    def test_ticks_start_ticked_and_can_be_taken_away_without_saying_more(
        self, keyboard: PipeInput
    ) -> None:
        step = asked_again(begin(), "shape", {"ticked": ["cupped"]})
        raw = press(keyboard, step, SPACE + DOWN + SPACE + ENTER)
        assert raw == {"ticked": ["strap"]}

    def test_the_line_can_be_changed(self, keyboard: PipeInput) -> None:
        step = asked_again(begin(), "salt", "2.1 mS/cm")
        assert press(keyboard, step, CLEAR + "3\r") == "3"


class TestCropsInOwnWords:
    def named(self) -> Step:
        session = begin()
        return Step(session.kb.questions["plants"], "", 1, 3, named=("tomato", "bean"))

    def test_are_offered_as_hurt_and_enter_takes_them(self, keyboard: PipeInput) -> None:
        raw, out = lines(self.named(), "", "none")
        assert raw == {"tomato": "hurt", "bean": "hurt"}
        assert any(line.startswith("You named: Tomato, Bean") for line in out)
        assert press(keyboard, self.named(), ENTER + "none\r") == raw

    def test_can_be_put_right(self, keyboard: PipeInput) -> None:
        assert lines(self.named(), "oats", "none")[0] == {"oats": "hurt"}
        assert press(keyboard, self.named(), CLEAR + "oats\rnone\r") == {"oats": "hurt"}
