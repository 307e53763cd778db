"""Whole interviews on plain lines: what is asked, noted down and kept."""

from __future__ import annotations

import pytest
from scripted import Scripted

from diagnose.errors import NeedsTerminalError, StoppedByUser
from diagnose.interview.session import new_session
from diagnose.kb.load import load


class TestWholeRuns:
    def test_answers_are_noted_as_they_come(self) -> None:
        script = Scripted("plants look cupped like a spoon", "all", "1", "none", "enough")
        assert script.run().stop.reason == "enough"
        assert script.notes.told == [
            ("answered", "story"),
            ("answered", "trouble"),
            ("answered", "at_hand"),
        ]
        assert script.session.answers["story"].raw["confirmed"] == ["cupped=present"]

    def test_back_withdraws_and_asks_again(self) -> None:
        script = Scripted("nothing odd", "none", "back", "1", "not asked", "enough")
        script.run()
        assert script.notes.told == [
            ("answered", "story"),
            ("answered", "trouble"),
            ("withdrawn", "trouble"),
            ("answered", "trouble"),
            ("skipped", "at_hand"),
        ]
        assert script.session.answers["trouble"].raw["ticked"] == ["odd_shape"]

    def test_back_at_the_start_asks_the_same_again(self) -> None:
        script = Scripted("back", "enough")
        script.run()
        assert script.out.count("story?") == 2
        assert script.notes.told == []

    def test_back_while_confirming_asks_for_the_words_again(self) -> None:
        script = Scripted("cupped like a spoon", "back", "all fine", "enough")
        script.run()
        assert script.session.answers["story"].raw == {"text": "all fine", "confirmed": []}

    def test_leaving_while_confirming_keeps_the_words(self) -> None:
        script = Scripted("cupped like a spoon", "leave")
        with pytest.raises(StoppedByUser):
            script.run()
        assert script.notes.told == [("answered", "story")]
        assert script.session.answers["story"].raw["text"] == "cupped like a spoon"

    def test_leaving_stops_with_what_was_answered(self) -> None:
        script = Scripted("hm", "1", "leave")
        with pytest.raises(StoppedByUser):
            script.run()
        assert [id_ for _, id_ in script.notes.told] == ["story", "trouble"]

    def test_the_end_of_the_input_is_said(self) -> None:
        with pytest.raises(NeedsTerminalError, match="the input ended"):
            Scripted("hm").run()

    def test_two_values_of_one_finding_cannot_both_be_confirmed(self) -> None:
        script = Scripted("came overnight and gradual", "all", "enough")
        script.run()
        assert len(script.session.answers["story"].raw["confirmed"]) == 1

    def test_danger_is_answered_before_anything_else_and_only_once(self) -> None:
        script = Scripted("1", "hm", "enough", session=new_session(load()))
        script.run()
        at = script.text
        assert at.index("CAUTION.") < at.index("[2 of 8]")
        assert at.count("CAUTION.") == 1
        assert "emergency" in at

    def test_no_line_is_wider_than_eighty(self) -> None:
        session = new_session(load())
        opening = [w for _ in range(14) for w in ("how", "why", "don't know")]
        chosen = [w for _ in range(17) for w in ("how", "why", "don't know")]
        script = Scripted(*opening, "how", "why", "all", *chosen, session=session)
        script.run()
        assert len(script.out) > 100
        assert max(map(len, script.out)) <= 80
