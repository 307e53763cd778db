"""The interview without a screen: what is asked, in which order, and how one moves about in it."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from gated_book import begin, gated_kb, tell

from diagnose.interview.answers import DONT_KNOW
from diagnose.interview.session import SOFT_GATE, Session, new_session
from diagnose.interview.step import Done, Step
from diagnose.kb.load import load
from diagnose.reasoning.report import said
from diagnose.reasoning.settings import DEFAULT

# Asks everything that may be asked, one by one, however little it tells or is known.
ASKS_ALL = replace(DEFAULT, patience=99, worth_asking=0.0, keep_asking=0.0, offered_least=99)


def asked(**answers: object) -> list[str]:
    """Every question that is still asked after these answers."""
    session = tell(begin(settings=ASKS_ALL), **answers)
    ids = []
    while isinstance(step := session.next_step(), Step):
        ids.append(step.question.id)
        session.skip(step.question.id)
    return ids


def gain(session: Session, id_: str) -> float:
    return next(g.per_effort for g in session.gains(session.ranking()) if g.id == id_)


def step_of(session: Session) -> Step:
    step = session.next_step()
    assert isinstance(step, Step)
    return step


class TestOpening:
    def test_asks_danger_first_then_the_eight_steps_in_order(self) -> None:
        session = new_session(load())
        steps = []
        for _ in session.opening_ids():
            step = step_of(session)
            steps.append((step.question.id, step.number, step.total))
            session.skip(step.question.id)
        assert [id_ for id_, _, _ in steps] == session.opening_ids()
        assert steps[0][0] == "danger_now"
        assert [number for _, number, _ in steps] == sorted(number for _, number, _ in steps)
        assert {total for _, _, total in steps} == {8}

    def test_leaves_out_what_was_given_beforehand(self) -> None:
        session = tell(begin(), trouble={"ticked": ["odd_shape"]})
        assert step_of(session).question.id == "story"
        session.skip("story")
        assert step_of(session).question.id == "at_hand"

    def test_chosen_questions_are_counted_apart(self) -> None:
        session = tell(begin(), story="x", trouble="none", at_hand="dont_know")
        step = step_of(session)
        assert (step.number, step.total) == (1, 0)
        assert step.gain is not None


class TestGates:
    def test_a_list_ruled_out_by_a_spoken_absence_is_never_asked(self) -> None:
        assert "shape" not in asked(trouble="none")

    def test_a_list_is_asked_when_its_gate_is_open_or_unknown(self) -> None:
        assert "shape" in asked(trouble={"ticked": ["odd_shape"]})
        assert "shape" in asked(trouble=DONT_KNOW)

    def test_a_box_left_empty_puts_its_list_late_not_out(self) -> None:
        kb = gated_kb()
        # One box only: then its gain is exact and no bound.
        short = replace(kb.questions["shape"], findings=("cupped",))
        gated = replace(kb, questions={**kb.questions, "shape": short})
        free = replace(short, applies_when=None)
        ungated = replace(kb, questions={**kb.questions, "shape": free})
        answers = {"trouble": {"ticked": ["wrong_colour"]}}
        full = gain(tell(begin(ungated), **answers), "shape")
        assert full > 0
        assert gain(tell(begin(gated), **answers), "shape") == pytest.approx(SOFT_GATE * full)

    def test_words_crops_and_inputs_are_never_chosen(self) -> None:
        left = asked(story="x", trouble=DONT_KNOW, at_hand=DONT_KNOW)
        assert {"shape", "onset", "salt", "when"} <= set(left)
        assert not {"plants", "added"} & set(left)


class TestAtHand:
    def test_a_box_left_empty_hides_what_needs_it(self) -> None:
        left = asked(at_hand={"ticked": ["can_dig"]})
        assert "roots" in left
        assert not {"lens", "eggs"} & set(left)

    def test_not_knowing_hides_nothing(self) -> None:
        assert {"lens", "eggs", "roots"} <= set(asked(at_hand=DONT_KNOW))

    def test_nothing_at_hand_hides_all_that_needs_something(self) -> None:
        assert not {"lens", "eggs", "roots"} & set(asked(at_hand="none"))

    def test_not_knowing_halves_what_needs_the_same(self) -> None:
        session = tell(begin(), at_hand=DONT_KNOW)
        before = gain(session, "eggs"), gain(session, "onset")
        tell(session, lens=DONT_KNOW)
        assert gain(session, "eggs") == pytest.approx(before[0] / 2)
        assert gain(session, "onset") == pytest.approx(before[1])


class TestBack:
    def test_takes_the_last_answer_back_and_asks_it_again(self) -> None:
        session = tell(begin(), story="x", trouble={"ticked": ["odd_shape"]})
        before = session.ranking().posterior.copy()
        tell(session, at_hand="none", onset="overnight")
        assert session.back() == "onset"
        assert session.back() == "at_hand"
        assert step_of(session).question.id == "at_hand"
        assert np.array_equal(session.ranking().posterior, before)

    def test_takes_a_skip_back(self) -> None:
        session = begin()
        session.skip("story")
        assert session.back() == "story"
        assert session.skipped == []
        assert step_of(session).question.id == "story"

    def test_does_nothing_at_the_start(self) -> None:
        assert begin().back() is None

    def test_goes_on_after_enough(self) -> None:
        session = tell(begin(), story="x")
        session.stop()
        assert isinstance(session.next_step(), Done)
        session.back()
        assert step_of(session).question.id == "story"

    def test_never_takes_a_test_result(self) -> None:
        session = new_session(load())
        tell(session, season="spring", bean_pot_test="hormone_injury")
        assert session.back() == "season"
        assert session.back() is None
        assert "bean_pot_test" in session.answers


class TestReopen:
    def begun(self) -> Session:
        session = tell(begin(settings=ASKS_ALL), story="x", trouble=DONT_KNOW, at_hand=DONT_KNOW)
        tell(session, onset="gradual", roots=DONT_KNOW)
        session.skip("salt")
        return session

    def test_asks_chosen_questions_not_known_or_skipped_again(self) -> None:
        session = self.begun()
        session.reopen()
        assert list(session.answers) == ["story", "trouble", "at_hand", "onset"]
        assert session.skipped == []
        assert session.shown == ["story", "trouble", "at_hand", "onset"]
        asked = []
        while isinstance(step := session.next_step(), Step):
            asked.append(step.question.id)
            session.skip(step.question.id)
        assert {"roots", "salt"} <= set(asked)

    def test_changes_no_ranking(self) -> None:
        session = self.begun()
        before = session.ranking().posterior.copy()
        session.reopen()
        assert np.array_equal(session.ranking().posterior, before)

    def test_what_was_not_asked_again_is_put_back(self) -> None:
        session = self.begun()
        session.reopen()
        tell(session, salt="2 mS/cm")
        session.restore()
        assert session.answers["roots"].unknown
        assert session.answers["salt"].raw == "2 mS/cm"
        assert session.skipped == []
        assert session.shown[-2:] == ["salt", "roots"]

    def test_leaves_an_answered_case_ended(self) -> None:
        session = begin()
        for id_, question in session.kb.questions.items():
            if question.form == "tick":
                tell(session, **{id_: {"ticked": list(question.findings[:1])}})
        last_right = {"last_right": "2026-04-20"}
        tell(session, story="x", onset="gradual", roots="white", salt="2", when=last_right)
        session.reopen()
        assert isinstance(session.next_step(), Done)


def test_crops_of_the_own_words_are_handed_to_the_crops_question() -> None:
    kb = gated_kb()
    first, *_ = kb.opening
    opening = (first, replace(first, questions=("plants",)))
    session = tell(begin(replace(kb, opening=opening)), story="my tomatoes curl, oats are fine")
    assert step_of(session).named == ("tomato",)


class TestChangedAnswer:
    def test_sets_later_answers_aside_keeps_them_and_counts_them_again(self) -> None:
        odd = {"ticked": ["odd_shape"]}
        session = tell(begin(), trouble=odd, shape={"ticked": ["cupped"]})
        counted = session.ranking().posterior.copy()
        tell(session, trouble="none")
        assert session.set_aside() == ["shape"]
        assert "cupped" not in session.observations().reports
        assert session.answers["shape"].raw["ticked"] == ["cupped"]
        tell(session, trouble=odd)
        assert session.set_aside() == []
        assert np.array_equal(session.ranking().posterior, counted)

    def test_replaces_and_does_not_add(self) -> None:
        session = tell(begin(), onset="overnight", roots="white")
        once = tell(begin(), onset="gradual", roots="white").ranking().posterior
        tell(session, onset="gradual")
        assert session.shown == ["onset", "roots"]
        assert np.array_equal(session.ranking().posterior, once)

    def test_an_answer_ends_a_skip(self) -> None:
        session = begin()
        session.skip("onset")
        tell(session, onset="gradual")
        assert session.skipped == []
        assert session.shown == ["onset"]


WORDS = {"text": "cupped", "confirmed": ["cupped", "onset=overnight"]}


class TestOwnWords:
    def test_count_before_the_list_is_asked(self) -> None:
        session = tell(begin(), story=WORDS)
        assert session.observations().known("cupped") == ("present", None)

    def test_are_handed_on_to_the_questions_that_settle_them(self) -> None:
        session = tell(begin(settings=ASKS_ALL), story=WORDS, at_hand="none")
        tell(session, trouble={"ticked": ["odd_shape"]})
        told = {}
        while isinstance(step := session.next_step(), Step):
            told[step.question.id] = dict(step.told)
            session.skip(step.question.id)
        assert told["shape"] == {"cupped": "present"}
        assert told["onset"] == {"onset": "overnight"}
        assert told["salt"] == {}

    def test_outlast_a_box_left_empty(self) -> None:
        session = tell(begin(), story=WORDS, shape={"ticked": ["strap"]})
        assert session.observations().known("cupped") == ("present", None)

    def test_give_way_to_a_spoken_absence(self) -> None:
        session = tell(begin(), story=WORDS, shape={"ticked": [], "looked_for": ["cupped"]})
        assert session.observations().known("cupped") == ("absent", None)

    def test_tell_no_sign_and_lean_only_a_little_when_none_is_confirmed(self) -> None:
        session = tell(begin(), story={"text": "all cupped"})
        assert session.observations().informative() == {}
        before, after = begin().ranking().posterior, session.ranking().posterior
        assert not np.array_equal(before, after)
        assert np.abs(np.log(after / before)).max() < 0.5

    def test_what_is_suspected_weighs_nothing(self) -> None:
        plain = tell(begin(), story={"text": "all cupped"})
        blaming = tell(begin(), story={"text": "all cupped", "suspects": "the neighbour"})
        assert np.array_equal(plain.ranking().posterior, blaming.ranking().posterior)


class TestPhone:
    def test_makes_a_slip_one_step_likelier(self) -> None:
        near, far = begin(), begin(phone=True)
        assert near.read("onset", "gradual").reports[0].likelihood[1] == pytest.approx(0.95)
        assert far.read("onset", "gradual").reports[0].likelihood[1] == pytest.approx(0.88)

    def test_does_so_for_a_looked_for_absence_too(self) -> None:
        report = begin(phone=True).read("lens", "none").reports[0]
        assert report == said(gated_kb().findings["mites"], "absent", phone=True)

    def test_leaves_test_results_alone(self) -> None:
        kb = load()
        likelihoods = {
            new_session(kb, phone=phone).read("bean_pot_test", "no_injury").reports[0].likelihood
            for phone in (False, True)
        }
        assert len(likelihoods) == 1

    def test_asks_fewer_questions(self) -> None:
        assert DEFAULT.phone_cap < DEFAULT.cap


def test_every_route_to_the_same_answers_ranks_the_same() -> None:
    answers = {
        "story": {"text": "x", "confirmed": ["cupped"]},
        "trouble": {"ticked": ["odd_shape"]},
        "shape": {"ticked": ["strap"]},
        "onset": "overnight",
        "salt": "3 mS/cm",
    }
    wanted = tell(begin(), **answers).ranking().posterior
    for order in permutations(answers):
        session = tell(begin(), **{id_: answers[id_] for id_ in order})
        assert np.array_equal(session.ranking().posterior, wanted)
