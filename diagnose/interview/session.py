"""The interview as a pure state machine: next_step, apply, back, skip, stop.

It knows nothing of screens or files. Widgets show its steps; a journal records what it is given.
The same answers, in any order and by any route, make the same ranking.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from diagnose.interview.answers import Answer, read_answer
from diagnose.interview.known import askable, doubts, named_crops, observe, story, told_of
from diagnose.interview.offer import Offer, Picked, lay_out
from diagnose.interview.step import Done, Step
from diagnose.kb.model import Knowledge, Question
from diagnose.kb.named import brought_up
from diagnose.reasoning.book import Book
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.question import Gain, Scorer
from diagnose.reasoning.rank import Ranker, Ranking
from diagnose.reasoning.verdict import Stop, stop

# Reasons to stop that leave nothing open for the ranking.
SATISFIED = ("clear", "nothing_more")
# A list whose gate leans to "no" without having been said is asked late, not never.
SOFT_GATE = 0.25


@dataclass(slots=True)
class Session:
    """One interview: its answers, what was skipped, and the order things were shown in."""

    ranker: Ranker
    phone: bool = False
    answers: dict[str, Answer] = field(default_factory=dict)
    skipped: list[str] = field(default_factory=list)
    shown: list[str] = field(default_factory=list)
    stopped: bool = False
    withdrawn: dict[str, Answer] = field(default_factory=dict)
    reopened: dict[str, Answer | None] = field(default_factory=dict)
    offers: dict[str, Picked] = field(default_factory=dict)
    renewed: set[str] = field(default_factory=set)
    _ranking: tuple[Observations, Ranking] | None = None
    _brought_up: tuple[str, frozenset[str]] = ("", frozenset())

    @property
    def kb(self) -> Knowledge:
        """The knowledge."""
        return self.ranker.book.kb

    # --- what is known -----------------------------------------------------------------------

    def observations(self) -> Observations:
        """All that is known now: words first, then the home questions, then derived findings.

        An answer whose question no longer applies is kept but set aside.
        """
        hidden = set(self.set_aside())
        return observe(self.kb, {q: a for q, a in self.answers.items() if q not in hidden})

    def set_aside(self) -> list[str]:
        """Answered questions that no longer apply, by what has been said since."""
        known = observe(self.kb, self.answers).known
        result = []
        for id_ in self.answers:
            question = self.kb.questions.get(id_)
            if question and question.applies_when and question.applies_when.holds(known) is False:
                result.append(id_)
        return result

    def ranking(self) -> Ranking:
        """The ranking under all answers so far."""
        seen = self.observations()
        if self._ranking is None or self._ranking[0] != seen:
            self._ranking = (seen, self.ranker.rank(seen))
        return self._ranking[1]

    # --- moving ------------------------------------------------------------------------------

    def read(self, id_: str, raw: Any) -> Answer:
        """Check a raw answer without taking it.

        Raises:
            UsageError: when it does not fit its question.
        """
        return read_answer(self.kb, id_, raw, phone=self.phone)

    def apply(self, answer: Answer) -> None:
        """Take an answer, replacing an earlier one to the same question.

        A test result is no question shown: going back never takes one away.
        """
        self.answers[answer.question] = answer
        self.withdrawn.pop(answer.question, None)
        if answer.question in self.skipped:
            self.skipped.remove(answer.question)
        if answer.question not in self.shown and answer.question in self.kb.questions:
            self.shown.append(answer.question)

    def skip(self, id_: str) -> None:
        """Leave a question unasked."""
        if id_ not in self.skipped:
            self.skipped.append(id_)
        if id_ not in self.shown:
            self.shown.append(id_)

    def pick(self, id_: str, picked: Picked) -> None:
        """Take what a grower made of an offer: those picked are asked, the others passed over."""
        self.offers[id_] = picked
        if id_ not in self.shown:
            self.shown.append(id_)

    def back(self) -> str | None:
        """Go back to the question or offer shown last; its answer is withdrawn. None at the start.

        The answer is handed to the question when that is asked again, to be kept or changed.
        """
        if not self.shown:
            return None
        last = self.shown.pop()
        answer = self.answers.pop(last, None)
        if answer is not None:
            self.withdrawn[last] = answer
        if last in self.skipped:
            self.skipped.remove(last)
        self.reopened.pop(last, None)
        self.offers.pop(last, None)
        self.renewed.discard(last)
        self.stopped = False
        return last

    def reopen(self) -> None:
        """Have chosen questions that were skipped, passed over or not known asked again.

        They weigh nothing, so the ranking stays as it is. `restore` puts back what was not asked.
        """
        self.renewed.update(self.offers)
        opening = set(self.opening_ids())
        for id_ in [q for q in self.shown if q in self.kb.questions and q not in opening]:
            answer = self.answers.get(id_)
            if answer is None or answer.unknown:
                self.reopened[id_] = self.answers.pop(id_, None)
                self.shown.remove(id_)
                if id_ in self.skipped:
                    self.skipped.remove(id_)

    def restore(self) -> None:
        """Put back the don't-knows and skips that were reopened and not asked again."""
        for id_, answer in self.reopened.items():
            if id_ in self.shown:
                continue
            if answer is None:
                self.skip(id_)
            else:
                self.apply(answer)
        self.reopened.clear()
        self.renewed.clear()

    def stop(self) -> None:
        """The grower says: that's enough."""
        self.stopped = True

    # --- what to ask -------------------------------------------------------------------------

    def next_step(self) -> Step | Offer | Done:
        """The next question or offer to show, or why there is none."""
        if self.stopped:
            return Done(Stop("enough"))
        opening = self._opening_step()
        if opening is not None:
            book = self.ranker.book
            book.prepare(len(self.kb.findings) // len(self.opening_ids()) + 1)
            return opening
        ranking = self.ranking()
        gains = self.gains(ranking)
        best = gains[0] if gains else None
        unknown = self.unknown_in_a_row()
        reason = stop(ranking, best, self.chosen_count(), unknown, self.phone)
        if reason is None and self.phone and unknown >= self.ranker.book.settings.phone_patience:
            reason = Stop("many_unknown")
        wanted = {q for told in self.offers.values() for q in told.picked}
        chosen = next((g for g in gains if g.id in wanted), None)
        if reason is not None and reason.reason in SATISFIED:
            chosen = self._heard_out(gains, wanted)
            reason = None if chosen else reason
        if reason is not None or best is None:
            return Done(reason or Stop("nothing_more"))
        if chosen is None and (offer := self._offer(gains)) is not None:
            return offer
        best = chosen or best
        question = self.kb.questions[best.id]
        return self._step(question, "", self.chosen_count() + 1, 0, best)

    def _heard_out(self, gains: list[Gain], wanted: set[str]) -> Gain | None:
        """The best picked question the story brings up: asked however sure the case seems by now.

        One who says "I sprayed" is asked what, though every other sign points elsewhere.
        """
        if self.chosen_count() >= self.ranker.book.settings.cap:
            return None
        told = wanted & self.brought_up()
        return next((g for g in gains if g.id in told), None)

    def brought_up(self) -> frozenset[str]:
        """Questions whose subject the grower's own words bring up."""
        text = story(self.kb, self.answers)
        if self._brought_up[0] != text:
            self._brought_up = (text, brought_up(self.kb, text))
        return self._brought_up[1]

    def _offer(self, gains: list[Gain]) -> Offer | None:
        """What could be asked, laid out to pick from; never by phone."""
        if self.phone:
            return None
        settings, number = self.ranker.book.settings, len(self.offers) + 1
        return lay_out(self.kb, gains, self.brought_up(), number, settings)

    def _opening_step(self) -> Step | None:
        known = self.observations().known
        total = len(self.kb.opening)
        for number, part in enumerate(self.kb.opening, 1):
            for id_ in part.questions:
                question = self.kb.questions[id_]
                gate = question.applies_when
                closed = gate is not None and gate.holds(known) is False
                if id_ not in self.answers and id_ not in self.skipped and not closed:
                    return self._step(question, part.title, number, total)
        return None

    def _step(
        self, question: Question, title: str, number: int, total: int, gain: Gain | None = None
    ) -> Step:
        told, before = told_of(question, self.observations()), self.withdrawn.get(question.id)
        named = named_crops(self.kb, self.answers) if question.form == "crops" else ()
        return Step(question, title, number, total, gain, told, before, named, self.phone)

    def gains(self, ranking: Ranking) -> list[Gain]:
        """Questions that may be asked now, by gain per effort."""
        seen = self.observations()
        offers = [told for id_, told in self.offers.items() if id_ not in self.renewed]
        passed = {q for told in offers for q in told.passed}
        found = askable(self.kb, seen, {*self.answers, *self.skipped, *passed})
        questions = [question for question, _ in found]
        ease = {question.id: SOFT_GATE for question, late in found if late}
        timeline = [f for f, r in self.kb.derived.items() if r.function == "days_after"]
        also = {q.id: timeline for q in questions if q.form == "timeline"}
        scorer = Scorer(ranking, seen, phone=self.phone)
        return scorer.best(questions, doubts=doubts(self.kb, self.answers), also=also, ease=ease)

    def open_questions(self) -> list[Question]:
        """Questions that could still be answered with what is at hand, and that fit the trouble."""
        found = askable(self.kb, self.observations(), {*self.answers, *self.skipped})
        return [question for question, late in found if not late]

    def opening_ids(self) -> list[str]:
        """Questions of the opening, in order."""
        return [id_ for part in self.kb.opening for id_ in part.questions]

    def chosen_count(self) -> int:
        """How many questions and offers beyond the opening were shown."""
        opening, asked = set(self.opening_ids()), {*self.kb.questions, *self.offers}
        return sum(id_ in asked and id_ not in opening for id_ in self.shown)

    def unknown_in_a_row(self) -> int:
        """Don't-knows and skips since the last real answer; the opening counts by phone only.

        Of an offer nothing was picked from, every subject counts.
        """
        opening = set() if self.phone else set(self.opening_ids())
        count = 0
        for id_ in reversed(self.shown):
            if id_ in opening:
                break
            if id_ in self.renewed:
                continue
            if id_ in self.offers:
                if self.offers[id_].picked:
                    break
                count += len(self.offers[id_].offered)
                continue
            answer = self.answers.get(id_)
            if answer is not None and not answer.unknown:
                break
            count += 1
        return count


def new_session(kb: Knowledge, *, phone: bool = False) -> Session:
    """An empty interview over a knowledge, with the shipped settings.

    >>> from diagnose.kb.load import load
    >>> step = new_session(load()).next_step()
    >>> step.question.id, step.number
    ('danger_now', 1)
    """
    return Session(Ranker(Book(kb)), phone)
