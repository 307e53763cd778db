"""What stands when a question is asked: told in own words, or answered before going back."""

from __future__ import annotations

from typing import Any

from diagnose.interview.answers import DONT_KNOW
from diagnose.interview.step import Step
from diagnose.kb.model import PRESENT


class Standing:
    """The answer that a bare Enter goes on with.

    Args:
        step: the question, with what is known of its answer.

    Fields:
        told: findings of a tick list that own words hold to be there; they stay.
        marked: findings or values to show as chosen.
        raw: the raw answer Enter gives; None when there is none.
        line: the answer in words, where no mark in a list shows it.
    """

    def __init__(self, step: Step) -> None:
        form, before = step.question.form, step.before
        self.told: tuple[str, ...] = ()
        self.marked: set[str] = set()
        self.raw: Any = before.raw if before is not None else None
        self.line = ""
        if form == "tick":
            self.told = tuple(f for f, value in step.told.items() if value == PRESENT)
            if before is not None and before.raw != DONT_KNOW:
                # What was unticked before going back stays unticked.
                self.told = tuple(f for f in self.told if f in before.raw["ticked"])
            self.marked = set(self.told)
            if self.told and self.raw in (None, DONT_KNOW):
                self.raw, before = {"ticked": list(self.told)}, None
        elif form == "choice":
            value = next(iter(step.told.values()), None)
            self.raw = self.raw if before is not None else value
            if self.raw is not None and self.raw != DONT_KNOW:
                self.marked = set(self.raw) if isinstance(self.raw, list) else {self.raw}
        if before is not None:
            self._answered(form, before.raw, step.phone)

    def _answered(self, form: str, raw: Any, phone: bool) -> None:
        if raw == DONT_KNOW:
            self.line = "don't know"
        elif form == "tick":
            self.marked |= set(raw["ticked"])
            if not raw["ticked"]:
                self.line = f"none of these, {'they' if phone else 'I'} looked"
        elif form == "words":
            self.line = raw["text"] or "nothing said"
        elif form == "measure":
            self.line = raw
