"""A plain screen fed with a script of lines."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from gated_book import begin

from diagnose.interview.answers import Answer
from diagnose.interview.offer import Picked
from diagnose.interview.plain import PlainScreen
from diagnose.interview.run import Given, run
from diagnose.interview.session import Session
from diagnose.interview.status import Status
from diagnose.interview.step import Done, Step

TODAY = dt.date(2026, 5, 20)
QUIET = Status(0, ())


@dataclass
class Notes:
    """A journal that remembers what it was told."""

    told: list[tuple[str, str]] = field(default_factory=list)

    def answered(self, answer: Answer) -> None:
        self.told.append(("answered", answer.question))

    def withdrawn(self, question: str) -> None:
        self.told.append(("withdrawn", question))

    def skipped(self, question: str) -> None:
        self.told.append(("skipped", question))

    def picked(self, offer: str, picked: Picked) -> None:
        self.told.append(("picked", offer))

    def note(self, text: str) -> None:
        self.told.append(("note", text))


class Scripted:
    """A plain screen fed with lines; what it wrote is in `out`."""

    def __init__(self, *lines: str, session: Session | None = None) -> None:
        self.left: Iterator[str] = iter(lines)
        self.out: list[str] = []
        self.session = session or begin()
        self.screen = PlainScreen(self.session.kb, self._read, self.out.append, TODAY)
        self.notes = Notes()

    def _read(self) -> str:
        try:
            return next(self.left)
        except StopIteration:
            raise EOFError from None

    @property
    def text(self) -> str:
        return "\n".join(self.out)

    def unread(self) -> list[str]:
        return list(self.left)

    def ask(self, id_: str, **told: str) -> Any:
        question = self.session.kb.questions[id_]
        reply = self.screen.ask(Step(question, "Title", 1, 3, told=told), QUIET)
        assert self.unread() == []
        return reply.raw if isinstance(reply, Given) else reply

    def run(self) -> Done:
        return run(self.session, self.screen, self.notes)
