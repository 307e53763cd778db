"""Why an interview ends."""

from __future__ import annotations

from dataclasses import replace

import pytest
from gated_book import begin, gated_kb, tell

from diagnose.interview.answers import DONT_KNOW
from diagnose.interview.session import Session
from diagnose.interview.step import Done, Step
from diagnose.kb.model import Knowledge, Question
from diagnose.reasoning import demo
from diagnose.reasoning.settings import DEFAULT

ONE_BY_ONE = replace(DEFAULT, offered_least=99)


def long_kb(count: int = 40) -> Knowledge:
    """Many questions that each tell something and together settle nothing."""
    findings = [demo.choice(f"q{i}", {"yes": 0.5, "no": 0.5}) for i in range(count)]
    words = ("often", "sometimes")
    causes = [
        demo.cause(id_, {(f.id, "yes"): words[(i + n) % 2] for i, f in enumerate(findings)})
        for n, id_ in enumerate(("one", "two"))
    ]
    questions = {
        f.id: Question(f.id, "demo", "choice", f.id, "", 1, (f.id,), f"about {f.id}")
        for f in findings
    }
    return replace(demo.book(findings, causes), questions=questions)


def ended(session: Session, *answers: str) -> tuple[str, int]:
    """Answers every question with these in turn; the reason of the end, and how many were asked."""
    for count in range(100):
        step = session.next_step()
        if isinstance(step, Done):
            return step.stop.reason, count
        assert isinstance(step, Step)
        tell(session, **{step.question.id: answers[count % len(answers)]})
    raise AssertionError("it never ended")


def test_enough_ends_at_once() -> None:
    session = begin()
    session.stop()
    step = session.next_step()
    assert isinstance(step, Done)
    assert step.stop.reason == "enough"


@pytest.mark.parametrize(("phone", "cap"), [(False, DEFAULT.cap), (True, DEFAULT.phone_cap)])
def test_the_cap_ends_a_case_that_stays_open(phone: bool, cap: int) -> None:
    # yes, yes, no, no: every pair of answers speaks once for either cause.
    assert ended(begin(long_kb(), phone=phone, settings=ONE_BY_ONE), "yes", "yes", "no", "no") == (
        "cap",
        cap,
    )


def test_six_unknown_in_a_row_end_it() -> None:
    assert ended(begin(long_kb(), settings=ONE_BY_ONE), DONT_KNOW) == ("many_unknown", 6)


def test_skips_count_as_unknown() -> None:
    session = begin(long_kb(), settings=ONE_BY_ONE)
    for _ in range(6):
        step = session.next_step()
        assert isinstance(step, Step)
        session.skip(step.question.id)
    step = session.next_step()
    assert isinstance(step, Done)
    assert step.stop.reason == "many_unknown"


def test_one_real_answer_starts_the_count_again() -> None:
    session = begin(long_kb(), settings=ONE_BY_ONE)
    for raw in (*[DONT_KNOW] * 5, "yes", *[DONT_KNOW] * 5):
        step = session.next_step()
        assert isinstance(step, Step)
        tell(session, **{step.question.id: raw})
    assert session.unknown_in_a_row() == 5
    assert isinstance(session.next_step(), Step)


def test_unknowns_in_the_opening_do_not_count() -> None:
    session = tell(begin(), story=DONT_KNOW, trouble=DONT_KNOW, at_hand=DONT_KNOW)
    assert session.unknown_in_a_row() == 0


def test_by_phone_three_unknown_in_a_row_end_it_and_the_opening_counts() -> None:
    assert ended(begin(long_kb(), phone=True), DONT_KNOW) == ("many_unknown", 3)
    session = begin(phone=True)
    tell(session, story=DONT_KNOW, trouble=DONT_KNOW)
    assert isinstance(session.next_step(), Step)  # the opening is asked to its end
    tell(session, at_hand=DONT_KNOW)
    step = session.next_step()
    assert isinstance(step, Done)
    assert step.stop.reason == "many_unknown"


def test_a_settled_picture_ends_it() -> None:
    findings = [demo.yes_no(f"s{i}", 0.05) for i in range(12)]
    causes = [
        demo.cause("a", {(f.id, "present"): "always" for f in findings[:6]}),
        demo.cause("b", {(f.id, "present"): "always" for f in findings[6:]}),
    ]
    questions = {f.id: Question(f.id, "demo", "tick", f.id, "", 1, (f.id,)) for f in findings}
    session = begin(replace(demo.book(findings, causes), questions=questions), settings=ONE_BY_ONE)
    for _ in range(12):
        step = session.next_step()
        if isinstance(step, Done):
            break
        id_ = step.question.id
        tell(session, **{id_: {"ticked": [id_] if int(id_[1:]) < 6 else [], "looked_for": "all"}})
    assert isinstance(step, Done)
    assert step.stop.reason == "clear"
    assert session.ranking().leaders(1)[0][0] == "a"
    assert len(session.shown) < 12


def test_no_question_left_ends_it() -> None:
    kb = gated_kb()
    session = tell(begin(replace(kb, questions={"onset": kb.questions["onset"]}, opening=())))
    tell(session, onset="overnight")
    step = session.next_step()
    assert isinstance(step, Done)
    assert step.stop.reason == "nothing_more"
