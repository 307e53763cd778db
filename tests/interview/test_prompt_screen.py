"""The lists and text lines on a terminal, driven by keys through a pipe."""

from __future__ import annotations

import datetime as dt
import io
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from gated_book import begin, gated_kb, with_a_third_onset
from prompt_toolkit.application import create_app_session
from prompt_toolkit.completion import CompleteEvent
from prompt_toolkit.data_structures import Size
from prompt_toolkit.document import Document
from prompt_toolkit.input import PipeInput, create_pipe_input
from prompt_toolkit.output import DummyOutput
from prompt_toolkit.output.vt100 import Vt100_Output

from diagnose.interview import labels
from diagnose.interview.answers import read_answer
from diagnose.interview.completion import Names
from diagnose.interview.flows import NAME_HINT, named
from diagnose.interview.journal import NoJournal
from diagnose.interview.keys import FOOTER, KEYS
from diagnose.interview.prompts import PromptScreen
from diagnose.interview.run import Given, Move, Moved, run
from diagnose.interview.status import Status
from diagnose.interview.step import Step
from diagnose.kb.load import load
from diagnose.kb.match import Sign
from diagnose.kb.model import Question

UP, DOWN, ENTER, SPACE, TAB = "\x1b[A", "\x1b[B", "\r", " ", "\t"
DONT_KNOW, NOT_ASKED, WHY, HOW = "\x0b", "\x0f", "\x19", "\x07"
BACK, ENOUGH, LEAVE, CTRL_C, CTRL_D = "\x02", "\x05", "\x18", "\x03", "\x04"
TODAY = dt.date(2026, 5, 20)
QUIET = Status(0, ())


class Keyboard:
    """A prompt screen fed with keys; `out` holds what was written above the prompts."""

    def __init__(self, pipe: PipeInput) -> None:
        self.pipe = pipe
        self.kb = gated_kb()
        self.out: list[str] = []
        self.screen = PromptScreen(self.kb, self.out.append, TODAY)

    def press(self, question: str | Question, keys: str, **told: str) -> Any:
        self.pipe.send_text(keys)
        asked = self.kb.questions[question] if isinstance(question, str) else question
        reply = self.screen.ask(Step(asked, "Title", 1, 3, told=told), QUIET)
        return reply.raw if isinstance(reply, Given) else reply


@pytest.fixture
def keyboard() -> Iterator[Keyboard]:
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        yield Keyboard(pipe)


class TestSelect:
    def test_enter_takes_the_choice_pointed_at(self, keyboard: Keyboard) -> None:
        assert keyboard.press("onset", ENTER) == "overnight"
        assert keyboard.press("onset", DOWN + ENTER) == "gradual"

    def test_starts_at_what_was_said_in_own_words(self, keyboard: Keyboard) -> None:
        assert keyboard.press("onset", ENTER, onset="gradual") == "gradual"

    def test_leaves_the_question_and_its_answer_standing(self, keyboard: Keyboard) -> None:
        keyboard.press("onset", DOWN + ENTER)
        assert keyboard.out == ["", "[1 of 3] Title", "onset?", "> gradual"]

    def test_enter_keeps_an_answer_that_may_be_either(self, keyboard: Keyboard) -> None:
        kb = keyboard.screen.kb = with_a_third_onset(keyboard.kb)
        before = read_answer(kb, "onset", ["overnight", "days"])
        for keys, raw in ((ENTER, ["overnight", "days"]), (DOWN + ENTER, "overnight")):
            keyboard.pipe.send_text(keys)
            step = Step(kb.questions["onset"], "Title", 1, 3, before=before)
            reply = keyboard.screen.ask(step, QUIET)
            assert isinstance(reply, Given)
            assert reply.raw == raw

    def test_a_value_called_none_is_a_value(self, keyboard: Keyboard) -> None:
        finding = keyboard.kb.findings["onset"]
        values = (finding.values[0], replace(finding.values[1], id="none"))
        findings = {**keyboard.kb.findings, "onset": replace(finding, values=values)}
        keyboard.screen.kb = replace(keyboard.kb, findings=findings)
        assert keyboard.press("onset", DOWN + ENTER) == "none"


class TestTickList:
    def test_space_ticks_and_enter_goes_on(self, keyboard: Keyboard) -> None:
        assert keyboard.press("shape", DOWN + SPACE + ENTER) == {"ticked": ["strap"]}
        assert keyboard.out[-1] == "> Narrow like a strap"

    def test_enter_on_none_of_these_takes_it_without_a_tick(self, keyboard: Keyboard) -> None:
        assert keyboard.press("shape", DOWN * 2 + ENTER) == "none"

    def test_enter_on_could_not_look_is_not_knowing(self, keyboard: Keyboard) -> None:
        assert keyboard.press("shape", DOWN * 3 + ENTER) == "dont_know"
        assert keyboard.press("shape", UP + SPACE + ENTER) == "dont_know"

    def test_enter_with_nothing_ticked_takes_nothing(self, keyboard: Keyboard) -> None:
        assert keyboard.press("shape", ENTER + SPACE + ENTER) == {"ticked": ["cupped"]}

    def test_none_goes_with_no_other_tick(self, keyboard: Keyboard) -> None:
        keys = SPACE + DOWN * 2 + SPACE + ENTER  # refused
        assert keyboard.press("shape", keys + SPACE + ENTER) == {"ticked": ["cupped"]}

    def test_typing_letters_ticks_nothing(self, keyboard: Keyboard) -> None:
        # Plain "a" and "i" would tick the whole list in questionary.
        assert keyboard.press("shape", "tomatia" + DOWN + SPACE + ENTER) == {"ticked": ["strap"]}

    def test_what_was_said_in_own_words_starts_ticked(self, keyboard: Keyboard) -> None:
        assert keyboard.press("shape", ENTER, cupped="present") == {"ticked": ["cupped"]}

    def test_a_tick_taken_away_is_an_absence_looked_for(self, keyboard: Keyboard) -> None:
        raw = keyboard.press("shape", SPACE + DOWN + SPACE + ENTER, cupped="present")
        assert raw == {"ticked": ["strap"], "looked_for": ["cupped"]}

    def test_an_absence_said_in_own_words_is_not_ticked(self, keyboard: Keyboard) -> None:
        raw = keyboard.press("shape", DOWN + SPACE + ENTER, cupped="absent")
        assert raw == {"ticked": ["strap"]}

    def test_by_phone_it_is_they_who_looked(self, keyboard: Keyboard) -> None:
        keyboard.pipe.send_text(DOWN * 2 + ENTER + DOWN * 3 + ENTER)
        step = Step(keyboard.kb.questions["shape"], "", 1, 3, phone=True)
        for said in ("> None of these, they looked", "> They could not look"):
            keyboard.screen.ask(step, QUIET)
            assert keyboard.out[-1] == said


class TestTextLines:
    def test_words(self, keyboard: Keyboard) -> None:
        assert keyboard.press("story", "all [red] twisted\r") == {"text": "all [red] twisted"}

    def test_a_bare_enter_asks_again(self, keyboard: Keyboard) -> None:
        assert keyboard.press("story", ENTER + "  " + ENTER + "pale\r") == {"text": "pale"}

    def test_not_knowing_can_be_typed(self, keyboard: Keyboard) -> None:
        assert keyboard.press("salt", "don't know\r") == "dont_know"

    def test_words_given_before_come_back_to_be_put_right(self, keyboard: Keyboard) -> None:
        keyboard.press("story", "twistd\r")
        assert keyboard.press("story", "\x7fed\r") == {"text": "twisted"}

    def test_crops(self, keyboard: Keyboard) -> None:
        assert keyboard.press("plants", "tomatoes\rnone\r") == {"tomato": "hurt"}
        assert "Noted: Tomato." in keyboard.out

    def test_a_slip_comes_back_to_be_put_right(self, keyboard: Keyboard) -> None:
        back = "\x7f"
        keys = "bean, oatcake\r" + back * 4 + "s\rnone\r"
        assert keyboard.press("plants", keys) == {"bean": "hurt", "oats": "hurt"}
        assert "That does not fit: crops: 'oatcake' is not in the book." in keyboard.out

    def test_a_bare_enter_hears_what_may_be_typed(self, keyboard: Keyboard) -> None:
        keyboard.press("plants", ENTER + "tomato\rnone\r")
        assert NAME_HINT in keyboard.out

    def test_a_slip_emptied_does_not_come_back(self, keyboard: Keyboard) -> None:
        keys = "mandrake\r" + DONT_KNOW + ENTER + "bean\rnone\r"
        assert keyboard.press("plants", keys) == {"bean": "hurt"}
        assert NAME_HINT in keyboard.out

    def test_the_key_for_not_knowing_empties_a_filled_box_first(self, keyboard: Keyboard) -> None:
        assert keyboard.press("story", "pale" + DONT_KNOW + "red\r") == {"text": "red"}
        assert keyboard.press("salt", "2" + DONT_KNOW * 2) == "dont_know"

    def test_what_it_emptied_can_be_brought_back(self, keyboard: Keyboard) -> None:
        undo = "\x1f"
        assert keyboard.press("salt", "2.5" + DONT_KNOW + undo + ENTER) == "2.5"

    def test_inputs(self, keyboard: Keyboard) -> None:
        raw = keyboard.press("added", "straw, own compost\r" + DONT_KNOW)
        assert raw == {"mix": ["straw", "own_compost"]}

    def test_timeline(self, keyboard: Keyboard) -> None:
        raw = keyboard.press("when", "20 April\rrepotted 2026-04-10\rdone\r")
        assert raw["events"] == [{"event": "potted_on", "when": "2026-04-10"}]

    def test_completion_offers_names_that_begin_so_first(self) -> None:
        names = Names(["Sweetcorn or maize", "Corn salad", "Oats"])
        found = names.get_completions(Document("oats, corn"), CompleteEvent())
        assert [c.text for c in found] == ["Corn salad", "Sweetcorn or maize"]


EVERY_FORM = ["onset", "shape", "story", "salt", "plants", "added", "when"]


@pytest.mark.parametrize("id_", EVERY_FORM)
class TestControlKeys:
    @pytest.mark.parametrize(
        ("key", "move"),
        [
            (NOT_ASKED, Move.NOT_ASKED),
            (BACK, Move.BACK),
            (ENOUGH, Move.ENOUGH),
            (LEAVE, Move.LEAVE),
        ],
    )
    def test_moves(self, keyboard: Keyboard, id_: str, key: str, move: Move) -> None:
        assert keyboard.press(id_, key) is move
        assert keyboard.out[-1] == f"> {move.value}"

    def test_why_and_how_explain_and_keep_the_prompt(self, keyboard: Keyboard, id_: str) -> None:
        assert keyboard.press(id_, WHY + HOW + LEAVE) is Move.LEAVE
        assert keyboard.out[-3:] == [f"why {id_}", f"how {id_}", "> leave"]

    def test_dont_know(self, keyboard: Keyboard, id_: str) -> None:
        assert keyboard.press(id_, DONT_KNOW * 3) == "dont_know"

    def test_ctrl_c_reaches_us(self, keyboard: Keyboard, id_: str) -> None:
        with pytest.raises(KeyboardInterrupt):
            keyboard.press(id_, CTRL_C)


def test_help_keeps_ticks_and_typed_text(keyboard: Keyboard) -> None:
    assert keyboard.press("shape", SPACE + WHY + ENTER) == {"ticked": ["cupped"]}
    assert keyboard.press("story", "pa" + HOW + "le\r") == {"text": "pale"}


@pytest.mark.parametrize("id_", ["story", "plants", "when"])
def test_ctrl_d_on_an_empty_line_saves_and_leaves(keyboard: Keyboard, id_: str) -> None:
    assert keyboard.press(id_, CTRL_D) is Move.LEAVE


class TestConfirm:
    signs = (
        Sign("cupped", "present", "Cupped", 100.0),
        Sign("onset", "gradual", "Slowly", 95.0),
        Sign("onset", "overnight", "At once", 90.0),
    )

    def test_all_start_ticked_but_one_value_a_finding(self, keyboard: Keyboard) -> None:
        keyboard.pipe.send_text(ENTER)
        assert keyboard.screen.confirm(list(self.signs)) == list(self.signs[:2])

    def test_none_may_be_right(self, keyboard: Keyboard) -> None:
        keyboard.pipe.send_text(SPACE + DOWN + SPACE + ENTER)
        assert keyboard.screen.confirm(list(self.signs)) == []

    def test_not_knowing_confirms_none(self, keyboard: Keyboard) -> None:
        keyboard.pipe.send_text(DONT_KNOW)
        assert keyboard.screen.confirm(list(self.signs)) == []

    @pytest.mark.parametrize("key", [BACK, ENOUGH, LEAVE])
    def test_one_can_move_from_there_too(self, keyboard: Keyboard, key: str) -> None:
        keyboard.pipe.send_text(key)
        with pytest.raises(Moved):
            keyboard.screen.confirm(list(self.signs))


def _leave_once_drawn(shown: io.StringIO, pipe: PipeInput) -> None:
    deadline = time.monotonic() + 20
    while "save+leave" not in shown.getvalue() and time.monotonic() < deadline:
        time.sleep(0.02)
    pipe.send_text(LEAVE)


class TestFooter:
    def test_fits_eighty_columns(self) -> None:
        assert len(FOOTER) < 80

    def test_names_every_key(self) -> None:
        for key, (name, _) in KEYS.items():
            assert f"^{key[-1].upper()} {name}" in FOOTER

    @pytest.mark.parametrize("id_", EVERY_FORM)
    def test_is_shown_at_every_form(self, id_: str) -> None:
        shown = io.StringIO()
        output = Vt100_Output(
            shown, lambda: Size(rows=24, columns=80), term="xterm", enable_cpr=False
        )
        with create_pipe_input() as pipe, create_app_session(input=pipe, output=output):
            press = threading.Thread(target=_leave_once_drawn, args=(shown, pipe))
            press.start()
            Keyboard(pipe).press(id_, "")
            press.join()
        assert FOOTER in shown.getvalue()


def test_a_whole_interview_by_keys(keyboard: Keyboard) -> None:
    keyboard.pipe.send_text("cupped like a spoon\r" + ENTER)  # confirmed
    keyboard.pipe.send_text(SPACE + ENTER + SPACE + ENTER)  # trouble, at hand
    keyboard.pipe.send_text(BACK + DOWN + SPACE + ENTER)  # at hand again
    keyboard.pipe.send_text(ENOUGH)
    session = begin(keyboard.kb)
    assert run(session, keyboard.screen, NoJournal()).stop.reason == "enough"
    assert session.answers["story"].raw["confirmed"] == ["cupped=present"]
    assert session.answers["trouble"].raw["ticked"] == ["odd_shape"]
    assert session.answers["at_hand"].raw["ticked"] == ["have_lens", "can_dig"]


@pytest.mark.parametrize("columns", [80, 120])
def test_no_list_entry_of_the_book_is_wider_than_the_terminal(
    columns: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(labels, "width", lambda: columns)
    for finding in load().findings.values():
        label = labels.fitting(named(finding), finding.name)
        assert len(label) + len(" » ● ") < columns
        assert not label.endswith("...")
