"""The offer: what could be asked, laid out to pick from."""

from __future__ import annotations

from dataclasses import replace

from gated_book import begin, tell
from scripted import Scripted
from test_session_stop import long_kb

from diagnose.interview.answers import DONT_KNOW
from diagnose.interview.offer import Offer
from diagnose.interview.session import Session
from diagnose.interview.step import Done, Step
from diagnose.kb.model import Knowledge, OpeningStep, Question
from diagnose.reasoning import demo
from diagnose.reasoning.settings import DEFAULT


def offered(session: Session) -> Offer:
    step = session.next_step()
    assert isinstance(step, Offer)
    return step


def picked(session: Session, *ids: str) -> Session:
    offer = offered(session)
    session.pick(offer.id, offer.taking(ids))
    return session


class TestSession:
    def test_lays_out_what_is_worth_most(self) -> None:
        session = begin(long_kb())
        gains = session.gains(session.ranking())[: DEFAULT.offered]
        assert {q.id for q in offered(session).questions} == {g.id for g in gains}

    def test_only_what_was_picked_is_asked(self) -> None:
        session = begin(long_kb())
        two = [q.id for q in offered(session).questions[3:5]]
        picked(session, *two)
        asked = []
        while isinstance(step := session.next_step(), Step):
            asked.append(step.id)
            tell(session, **{step.id: "yes" if step.id == two[0] else "no"})
        assert sorted(asked) == sorted(two)

    def test_the_rest_is_laid_out_when_the_picks_are_used_up(self) -> None:
        session = begin(long_kb())
        first = {q.id for q in offered(session).questions}
        one = sorted(first)[0]
        tell(picked(session, one), **{one: "yes"})
        assert not first & {q.id for q in offered(session).questions}

    def test_picking_nothing_ends_the_asking(self) -> None:
        step = picked(begin(long_kb())).next_step()
        assert isinstance(step, Done)
        assert step.stop.reason == "many_unknown"

    def test_picking_all_asks_as_if_nothing_had_been_laid_out(self) -> None:
        kb = long_kb(DEFAULT.offered)
        endless = replace(DEFAULT, cap=99)
        plain = begin(kb, settings=replace(endless, offered_least=99))
        session = begin(kb, settings=endless)
        picked(session, *(q.id for q in offered(session).questions))
        for _ in range(DEFAULT.offered):
            step, other = session.next_step(), plain.next_step()
            assert isinstance(step, Step)
            assert isinstance(other, Step)
            assert step.id == other.id
            for each in (session, plain):
                tell(each, **{step.id: "yes"})

    def test_few_subjects_are_asked_one_by_one(self) -> None:
        assert isinstance(begin(long_kb(DEFAULT.offered_least - 1)).next_step(), Step)
        assert isinstance(begin(long_kb(DEFAULT.offered_least)).next_step(), Offer)

    def test_nothing_is_laid_out_by_phone(self) -> None:
        assert isinstance(begin(long_kb(), phone=True).next_step(), Step)

    def test_it_counts_as_a_step_and_weighs_nothing(self) -> None:
        session = begin(long_kb())
        before = session.ranking().posterior.copy()
        picked(session, "q1")
        assert session.chosen_count() == 1
        assert (session.ranking().posterior == before).all()

    def test_going_back_lays_it_out_again(self) -> None:
        session = begin(long_kb())
        first = offered(session)
        picked(session, "q1")
        assert session.back() == first.id
        assert offered(session) == first

    def test_a_pick_not_known_after_all_goes_on_to_the_next(self) -> None:
        session = picked(begin(long_kb()), "q1", "q2")
        for _ in range(2):
            step = session.next_step()
            assert isinstance(step, Step)
            tell(session, **{step.id: DONT_KNOW})
        assert {q.id for q in offered(session).questions}.isdisjoint({"q1", "q2"})

    def test_taking_a_case_up_again_lays_it_out_anew(self) -> None:
        session = picked(begin(long_kb()))
        session.reopen()
        assert len(offered(session).questions) == DEFAULT.offered
        assert offered(session).id == "can_tell_2"  # the first one keeps its place in the journal

    def test_what_was_passed_over_stays_so_when_a_case_is_only_shown_again(self) -> None:
        session = picked(begin(long_kb()))
        session.reopen()
        session.restore()
        assert isinstance(session.next_step(), Done)


def story_kb() -> Knowledge:
    """The long book with an own-words question first and two subjects a story can bring up.

    "q0" tells much; "idle" tells nothing at all.
    """
    kb = long_kb()
    idle = demo.choice("idle", {"yes": 0.5, "no": 0.5})
    more = {
        "story": Question("story", "demo", "words", "story", "", 1, ()),
        "q0": replace(kb.questions["q0"], brought_up_by=("spray",)),
        "idle": Question("idle", "demo", "choice", "idle", "", 1, ("idle",), "the air", ("paint",)),
    }
    return replace(
        kb,
        findings={**kb.findings, "idle": idle},
        questions={**kb.questions, **more},
        opening=(OpeningStep("Your words", ("story",)),),
    )


class TestBroughtUp:
    def begun(self, text: str) -> Session:
        return tell(begin(story_kb()), story={"text": text})

    def test_what_the_story_brings_up_comes_first_worth_much_or_not(self) -> None:
        offer = offered(self.begun("They curl since I sprayed the fence with paint."))
        assert {q.id for q in offer.questions[:2]} == offer.brought_up == {"q0", "idle"}
        assert len(offer.questions) == DEFAULT.offered

    def test_said_or_denied_but_not_in_another_word(self) -> None:
        assert offered(self.begun("Nobody sprayed here.")).brought_up == {"q0"}
        assert offered(self.begun("They curl.")).brought_up == frozenset()

    def test_it_is_heard_out_though_nothing_more_is_worth_asking(self) -> None:
        session = picked(self.begun("I painted the shed."), "idle")
        step = session.next_step()
        assert isinstance(step, Step)
        assert step.id == "idle"
        session = picked(self.begun("They curl."))
        assert isinstance(session.next_step(), Done)

    def test_the_cap_holds(self) -> None:
        kb = story_kb()
        session = tell(begin(kb, settings=replace(DEFAULT, cap=1)), story={"text": "paint"})
        assert isinstance(picked(session, "idle").next_step(), Done)

    def test_the_plain_screen_says_what_was_spoken_of(self) -> None:
        script = Scripted("none", session=self.begun("I painted the shed."))
        script.run()
        assert "1. the air (you spoke of it)" in script.out


class TestPlainScreen:
    def run(self, *lines: str) -> Scripted:
        script = Scripted(*lines, session=begin(long_kb()))
        script.run()
        return script

    def test_numbers_pick(self) -> None:
        script = self.run("2, 3", "1", "1", "none")
        told = ["picked", "answered", "answered", "picked"]
        assert [kind for kind, _ in script.notes.told] == told

    def test_none_ends_and_a_bare_enter_shows_it_again(self) -> None:
        script = self.run("", "none")
        assert script.text.count("\n1. about q") == 2
        assert script.session.offers["can_tell_1"].picked == ()

    def test_not_asked_has_all_of_it_asked(self) -> None:
        script = self.run("not asked", "enough")
        assert script.session.offers["can_tell_1"].passed == ()

    def test_back_and_enough_work_here_too(self) -> None:
        script = self.run("1", "back", "back", "2", "enough")
        assert [kind for kind, _ in script.notes.told] == ["picked", "withdrawn", "picked"]

    def test_a_slip_is_told_and_asked_again(self) -> None:
        script = self.run("seventeen", "99", "why", "how", "all", "enough")
        assert script.text.count("That does not fit") == 2
        assert "Only what you tick is asked." in script.text
