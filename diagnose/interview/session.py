"""The interview as a pure state machine: next_step, apply, back, skip, stop.

It knows nothing of screens or files. Widgets show its steps; a journal records what it is given.
The same answers, in any order and by any route, make the same ranking.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from diagnose.interview.answers import Answer, read_answer, structured
from diagnose.kb.model import Knowledge, Question
from diagnose.reasoning.book import Book
from diagnose.reasoning.derive import derive
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.question import Gain, Scorer
from diagnose.reasoning.rank import Ranker, Ranking
from diagnose.reasoning.report import Report
from diagnose.reasoning.verdict import Stop, stop

# A list whose gate leans to "no" without having been said is asked late, not never.
SOFT_GATE = 0.25


@dataclass(frozen=True, slots=True)
class Step:
    """What to ask now: one question, where it stands, and why it was chosen.

    `number` of `total` counts the opening steps; chosen questions have total 0. `told` maps its
    findings that the grower confirmed in own words to the value said.
    """

    question: Question
    title: str
    number: int
    total: int
    gain: Gain | None = None
    told: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Done:
    """Nothing more is asked."""

    stop: Stop


@dataclass(slots=True)
class Session:
    """One interview: its answers, what was skipped, and the order things were shown in."""

    ranker: Ranker
    phone: bool = False
    answers: dict[str, Answer] = field(default_factory=dict)
    skipped: list[str] = field(default_factory=list)
    shown: list[str] = field(default_factory=list)
    stopped: bool = False
    _ranking: tuple[Observations, Ranking] | None = None

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
        return self._observe({q: a for q, a in self.answers.items() if q not in hidden})

    def _observe(self, answers: Mapping[str, Answer]) -> Observations:
        words: dict[str, Report] = {}
        reports: dict[str, Report] = {}
        for id_ in sorted(answers):
            form = self.kb.questions[id_].form if id_ in self.kb.questions else "test"
            into = words if form == "words" else reports
            into.update({r.finding: r for r in answers[id_].reports if r.informative})
        given = structured(answers, self.kb)
        derived = {r.finding: r for r in derive(self.kb, given)}
        # A silent box in a list does not overrule what was said in the grower's own words.
        spoken = {f: r for f, r in reports.items() if r.spoken or f not in words}
        return Observations({**words, **spoken, **derived}, given.crops)

    def set_aside(self) -> list[str]:
        """Answered questions that no longer apply, by what has been said since."""
        known = self._observe(self.answers).known
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

    def back(self) -> str | None:
        """Go back to the question shown last; its answer is withdrawn. None at the start."""
        if not self.shown:
            return None
        last = self.shown.pop()
        self.answers.pop(last, None)
        if last in self.skipped:
            self.skipped.remove(last)
        self.stopped = False
        return last

    def stop(self) -> None:
        """The grower says: that's enough."""
        self.stopped = True

    # --- what to ask -------------------------------------------------------------------------

    def next_step(self) -> Step | Done:
        """The next question to show, or why there is none."""
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
        reason = stop(ranking, best, self.chosen_count(), self.unknown_in_a_row(), self.phone)
        if reason is not None or best is None:
            return Done(reason or Stop("nothing_more"))
        question = self.kb.questions[best.id]
        return Step(question, "", self.chosen_count() + 1, 0, best, self._told(question))

    def _opening_step(self) -> Step | None:
        known = self.observations().known
        total = len(self.kb.opening)
        for number, part in enumerate(self.kb.opening, 1):
            for id_ in part.questions:
                question = self.kb.questions[id_]
                gate = question.applies_when
                closed = gate is not None and gate.holds(known) is False
                if id_ not in self.answers and id_ not in self.skipped and not closed:
                    return Step(question, part.title, number, total, told=self._told(question))
        return None

    def _told(self, question: Question) -> dict[str, str]:
        reports = self.observations().reports
        found = ((f, reports[f]) for f in question.findings if f in reports)
        return {f: r.value for f, r in found if r.spoken and r.value is not None}

    def gains(self, ranking: Ranking) -> list[Gain]:
        """Questions that may be asked now, by gain per effort."""
        seen = self.observations()
        scorer = Scorer(ranking, seen, phone=self.phone)
        leaning = _Leaning(seen)
        open_, soft = [], set()
        for question in self.kb.questions.values():
            if not self._askable(question, seen, leaning):
                continue
            open_.append(question)
            gate = question.applies_when
            if gate is not None and gate.holds(leaning.known) is False:
                soft.add(question.id)
        timeline = [f for f, r in self.kb.derived.items() if r.function == "days_after"]
        also = {q.id: timeline for q in open_ if q.form == "timeline"}
        ease = dict.fromkeys(soft, SOFT_GATE)
        return scorer.best(open_, doubts=self._doubts(), also=also, ease=ease)

    def open_questions(self) -> list[Question]:
        """Questions that could still be answered with what is at hand, and that fit the trouble."""
        seen = self.observations()
        leaning = _Leaning(seen)
        found = []
        for question in self.kb.questions.values():
            gate = question.applies_when
            closed = gate is not None and gate.holds(leaning.known) is False
            if not closed and self._askable(question, seen, leaning):
                found.append(question)
        return found

    def _askable(self, question: Question, seen: Observations, leaning: _Leaning) -> bool:
        if question.id in self.answers or question.id in self.skipped:
            return False
        if question.form in ("words", "crops", "inputs"):
            return False
        gate = question.applies_when
        if gate is not None and gate.holds(seen.known) is False:
            return False
        for need in question.needs:
            # In the list of what is at hand, a box left empty means it is not there.
            fact = leaning.known(self.kb.at_hand.get(need, ""))
            if fact is not None and fact[0] == "absent":
                return False
        return True

    def _doubts(self) -> dict[str, int]:
        doubts: dict[str, int] = {}
        for id_, answer in self.answers.items():
            question = self.kb.questions.get(id_)
            if answer.unknown and question is not None:
                for need in question.needs:
                    doubts[need] = doubts.get(need, 0) + 1
        return doubts

    def opening_ids(self) -> list[str]:
        """Questions of the opening, in order."""
        return [id_ for part in self.kb.opening for id_ in part.questions]

    def chosen_count(self) -> int:
        """How many questions beyond the opening were shown."""
        opening = set(self.opening_ids())
        return sum(id_ in self.kb.questions and id_ not in opening for id_ in self.shown)

    def unknown_in_a_row(self) -> int:
        """Don't-knows and skips since the last real answer, opening left out."""
        opening = set(self.opening_ids())
        count = 0
        for id_ in reversed(self.shown):
            if id_ in opening:
                break
            answer = self.answers.get(id_)
            if answer is not None and not answer.unknown:
                break
            count += 1
        return count


@dataclass(frozen=True, slots=True)
class _Leaning:
    """Reads findings for soft gates: a box left empty in a list leans to absent."""

    seen: Observations

    def known(self, finding: str) -> tuple[str, float | None] | None:
        fact = self.seen.known(finding)
        report = self.seen.reports.get(finding)
        if fact is not None or report is None or not report.informative:
            return fact
        return ("present" if report.likelihood[0] > report.likelihood[-1] else "absent"), None


def new_session(kb: Knowledge, *, phone: bool = False) -> Session:
    """An empty interview over a knowledge, with the shipped settings.

    >>> from diagnose.kb.load import load
    >>> step = new_session(load()).next_step()
    >>> step.question.id, step.number
    ('danger_now', 1)
    """
    return Session(Ranker(Book(kb)), phone)
