"""What the answers given so far say, and what they lean to."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from diagnose.interview.answers import Answer
from diagnose.interview.structured import structured
from diagnose.kb.model import Knowledge, Question
from diagnose.kb.named import crops_named
from diagnose.reasoning.derive import derive
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.report import Report


def observe(kb: Knowledge, answers: Mapping[str, Answer]) -> Observations:
    """Words first, then the home questions, then derived findings, of these answers."""
    words: dict[str, Report] = {}
    reports: dict[str, Report] = {}
    for id_ in sorted(answers):
        form = kb.questions[id_].form if id_ in kb.questions else "test"
        into = words if form == "words" else reports
        into.update({r.finding: r for r in answers[id_].reports if r.informative})
    given = structured(answers, kb)
    derived = {r.finding: r for r in derive(kb, given)}
    # A silent box in a list does not overrule what was said in the grower's own words.
    spoken = {f: r for f, r in reports.items() if r.spoken or f not in words}
    return Observations({**words, **spoken, **derived}, given.crops, story(kb, answers))


def told_of(question: Question, seen: Observations) -> dict[str, str]:
    """Findings of a question that were said outright, with their value."""
    found = ((f, seen.reports[f]) for f in question.findings if f in seen.reports)
    return {f: r.value for f, r in found if r.spoken and r.value is not None}


def story(kb: Knowledge, answers: Mapping[str, Answer]) -> str:
    """What was told in the grower's own words."""
    raws = (a.raw for id_, a in sorted(answers.items()) if id_ in kb.questions)
    texts = (raw["text"] for raw in raws if isinstance(raw, Mapping) and "text" in raw)
    return ". ".join(texts)


def named_crops(kb: Knowledge, answers: Mapping[str, Answer]) -> tuple[str, ...]:
    """Crops named in the grower's own words, which may be the hurt ones."""
    return tuple(crops_named(kb, story(kb, answers)))


def doubts(kb: Knowledge, answers: Mapping[str, Answer]) -> dict[str, int]:
    """How many questions that need a thing were answered "don't know"."""
    found: dict[str, int] = {}
    for id_, answer in answers.items():
        question = kb.questions.get(id_)
        if answer.unknown and question is not None:
            for need in question.needs:
                found[need] = found.get(need, 0) + 1
    return found


@dataclass(frozen=True, slots=True)
class Leaning:
    """Reads findings for soft gates: a box left empty in a list leans to absent."""

    seen: Observations

    def known(self, finding: str) -> tuple[str, float | None] | None:
        """The value said of a finding, or leaned to; None when nothing tells."""
        fact = self.seen.known(finding)
        report = self.seen.reports.get(finding)
        if fact is not None or report is None or not report.informative:
            return fact
        return ("present" if report.likelihood[0] > report.likelihood[-1] else "absent"), None


def askable(
    kb: Knowledge, seen: Observations, gone: Collection[str]
) -> list[tuple[Question, bool]]:
    """Questions that may be asked, and whether the gate of each leans shut: ask those late.

    Args:
        kb: the knowledge.
        seen: what is known.
        gone: ids answered, skipped or passed over.
    """
    leaning = Leaning(seen)
    found = []
    for question in kb.questions.values():
        gate = question.applies_when
        if question.id in gone or question.form in ("words", "crops", "inputs"):
            continue
        if gate is not None and gate.holds(seen.known) is False:
            continue
        # In the list of what is at hand, a box left empty means it is not there.
        facts = (leaning.known(kb.at_hand.get(need, "")) for need in question.needs)
        if any(fact is not None and fact[0] == "absent" for fact in facts):
            continue
        found.append((question, gate is not None and gate.holds(leaning.known) is False))
    return found
