"""Makes the sample sessions again: `python tests/remake_samples.py`.

Each folder of sample_sessions/ holds a story. answers.yaml is written by hand and is the only
source; transcript.txt and report.md are made from it. A simulated grower sits at the plain
interview and types what answers.yaml says, "don't know" where it is silent; test results in it are
added afterwards. Lines that were typed begin with "> ".

It stands with the tests because it needs the report, which `curate` must not import, and because it
serves nobody but us: the stories are shown to readers and compared by tests/test_samples.py.
"""

from __future__ import annotations

import datetime as dt
import textwrap
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from diagnose.interview.answers import DONT_KNOW, NONE_LOOKED
from diagnose.interview.journal import NoJournal
from diagnose.interview.offer import Offer
from diagnose.interview.plain import WIDTH, PlainScreen
from diagnose.interview.run import Given, Move, run
from diagnose.interview.session import Session, new_session
from diagnose.interview.status import Status
from diagnose.interview.step import Step
from diagnose.kb import strictyaml
from diagnose.kb.load import load
from diagnose.kb.match import Sign
from diagnose.kb.model import Knowledge, Question
from diagnose.report.document import build
from diagnose.report.markdown import render

ROOT = Path(__file__).resolve().parent.parent / "sample_sessions"
TODAY = dt.date(2026, 5, 23)  # "3 weeks ago" must mean the same day for ever
BY_PHONE = {"phone_call_many_dont_knows"}
UNKNOWN = "don't know"


@dataclass(frozen=True)
class Sample:
    """What is made of a story."""

    transcript: str
    report: str
    session: Session


class Typist(PlainScreen):
    """The plain interview with a simulated grower, everything shown and typed kept in `lines`."""

    def __init__(self, kb: Knowledge, answers: Mapping[str, Any]) -> None:
        self.answers, self.lines = answers, list[str]()
        self._due: deque[str] = deque()
        super().__init__(kb, self._type, self.lines.append, TODAY)

    def ask(self, step: Step, where: Status) -> Given | Move:
        raw = self.answers.get(step.question.id)
        self._due = deque(typed_lines(self.kb, step.question, raw))
        return super().ask(step, where)

    def offer(self, offer: Offer, where: Status) -> tuple[str, ...] | Move:
        known = [i for i, q in enumerate(offer.questions, 1) if self._knows(q.id)]
        self._due = deque([", ".join(map(str, known)) or "none"])
        return super().offer(offer, where)

    def _knows(self, id_: str) -> bool:
        return bool(self.answers.get(id_, DONT_KNOW) != DONT_KNOW)

    def confirm(self, signs: list[Sign]) -> list[Sign]:
        wanted = self.answers["own_words"].get("confirmed", ())
        right = [str(i) for i, s in enumerate(signs, 1) if f"{s.finding}={s.value}" in wanted]
        self._due.append("all" if len(right) == len(signs) else ", ".join(right) or "none")
        return super().confirm(signs)

    def _type(self) -> str:
        if not self._due:
            raise EOFError  # the answer was not understood: what was said stands in `lines`
        text = self._due.popleft()
        first, *more = textwrap.wrap(text, WIDTH - 2)
        self.lines += [f"> {first}", *(f"  {line}" for line in more)]
        return text


def typed_lines(kb: Knowledge, question: Question, raw: Any) -> list[str]:
    """The lines a grower types for a raw answer."""
    known = None if raw == DONT_KNOW else raw
    if question.form == "crops":
        return _crops(known)
    if question.form == "inputs":
        told = known or {}
        return [_names(told[s], "nothing") if s in told else UNKNOWN for s in kb.slots]
    if question.form == "timeline":
        return _timeline(known or {})
    if known is None:
        return [UNKNOWN]
    if question.form == "choice":
        return [str(kb.findings[question.findings[0]].value_ids.index(known) + 1)]
    if question.form == "tick":
        ticked = [] if known == NONE_LOOKED else known["ticked"]
        return [", ".join(str(question.findings.index(f) + 1) for f in ticked) or "none"]
    return [known["text"] if question.form == "words" else str(known)]


def _crops(told: Mapping[str, str] | None) -> list[str]:
    if told is None:
        return [UNKNOWN, UNKNOWN]
    hurt = [crop for crop, state in told.items() if state == "hurt"]
    fine = [crop for crop, state in told.items() if state == "fine_beside"]
    return [_names(hurt, "none"), _names(fine, "none")]


def _names(ids: list[str], nothing: str) -> str:
    return ", ".join(id_.replace("_", " ") for id_ in ids) or nothing


def _timeline(told: Mapping[str, Any]) -> list[str]:
    events = [
        f"{e['event'].replace('_', ' ')}{' again' if e.get('again') else ''} {e.get('when', '')}"
        for e in told.get("events", ())
    ]
    return [told.get("last_right", UNKNOWN), *(e.strip() for e in events), "done"]


def make(kb: Knowledge, story: Path) -> Sample:
    """Interview one story and add its test results.

    Raises:
        DiagnoseError: an answer does not fit, or the interview did not understand a typed line.
    """
    answers = strictyaml.read(story / "answers.yaml").value
    phone = story.name in BY_PHONE
    session, typist = new_session(kb, phone=phone), Typist(kb, answers)
    reason = run(session, typist, NoJournal()).stop.reason
    document = build(session, reason=reason)
    lines = [f"$ diagnose interview --plain{' --phone' if phone else ''}", *typist.lines, ""]
    lines += textwrap.wrap(document["stopped"]["text"], WIDTH)
    lines += textwrap.wrap(document["verdict"]["text"], WIDTH)
    for test in [id_ for id_ in answers if id_ in kb.tests]:
        session.apply(session.read(test, answers[test]))
        document = build(session)
        lines += ["", f"$ diagnose add CASE {test}={answers[test]}", ""]
        lines += textwrap.wrap(document["verdict"]["text"], WIDTH)
    lines += ["", "[The whole report: report.md]"]
    # The digest changes with every comma in the knowledge; what the samples show does not.
    document["knowledge"]["digest"] = "left out of samples"
    return Sample("\n".join(lines) + "\n", render(document), session)


def stories() -> list[Path]:
    """Folders of the stories."""
    return sorted(path.parent for path in ROOT.glob("*/answers.yaml"))


def main() -> None:
    """Write transcript and report of every story."""
    kb = load()
    for story in stories():
        sample = make(kb, story)
        (story / "transcript.txt").write_text(sample.transcript, encoding="utf-8", newline="\n")
        (story / "report.md").write_text(sample.report, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
