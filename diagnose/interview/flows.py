"""Questions answered by typing several names or dates: the same steps on every screen."""

from __future__ import annotations

import datetime as dt
from abc import ABC, abstractmethod
from collections.abc import Sequence

from diagnose.errors import UsageError
from diagnose.interview.answers import DONT_KNOW
from diagnose.interview.run import Given, Move
from diagnose.interview.typed import (
    NOTHING_WORDS,
    is_unknown,
    read_crops,
    read_names,
    read_timeline,
    split_date,
)
from diagnose.kb import match
from diagnose.kb.model import Finding, Knowledge, Question


class Moved(Exception):
    """The grower chose to move instead of answering."""

    def __init__(self, move: Move) -> None:
        super().__init__(move.value)
        self.move = move


class TypedFlows(ABC):
    """Crops, inputs and timeline, asked line by line.

    Each line is checked at once, so that a slip costs one line and nothing typed is lost.
    """

    kb: Knowledge
    today: dt.date

    @abstractmethod
    def prompt(self, label: str, names: Sequence[str] = ()) -> str:
        """Ask for one line, offering names to complete; raises Moved for a move."""

    @abstractmethod
    def say(self, text: str) -> None:
        """Say a line."""

    def complain(self, error: UsageError) -> None:
        """Say what is wrong and how to put it right."""
        self.say(f"That does not fit: {error.message}.")
        if error.hint:
            self.say(error.hint)

    def flow(self, question: Question) -> Given | None:
        """Ask a question of the form crops, inputs or timeline; None for other forms."""
        forms = {"crops": self._crops, "inputs": self._inputs, "timeline": self._timeline}
        ask = forms.get(question.form)
        return ask() if ask else None

    def _crops(self) -> Given:
        names = [c.name for c in self.kb.crops.values()]
        result: dict[str, str] = {}
        hurt = "Hurt (names with commas):"
        fine = "Sound beside them, same mix and place (names, none):"
        for label, state in ((hurt, "hurt"), (fine, "fine_beside")):
            while True:
                text = self.prompt(label, names)
                if is_unknown(text) or match.plain(text) in NOTHING_WORDS:
                    break
                try:
                    result |= read_crops(self.kb, text, state)
                    break
                except UsageError as error:
                    self.complain(error)
        return Given(result or DONT_KNOW)

    def _inputs(self) -> Given:
        names = [i.name for i in self.kb.inputs.values()]
        result: dict[str, list[str]] = {}
        self.say("Names with commas; nothing; or don't know.")
        for slot in self.kb.slots.values():
            while True:
                text = self.prompt(f"{slot.name[0].upper()}{slot.name[1:]}:", names)
                if is_unknown(text):
                    break
                if match.plain(text) in NOTHING_WORDS:
                    result[slot.id] = []
                    break
                try:
                    result[slot.id] = read_names(self.kb, slot.name, text, "inputs")
                    break
                except UsageError as error:
                    self.complain(error)
        return Given(result or DONT_KNOW)

    def _timeline(self) -> Given:
        parts: list[str] = []
        while True:
            text = self.prompt("Last day they looked right (2026-04-20, 3 weeks ago, don't know):")
            if is_unknown(text):
                break
            try:
                if split_date(text, self.today)[1] is None:
                    raise UsageError(f"'{text}' is no date", "Like 2026-04-20, or 3 weeks ago.")
                parts.append(f"right until {text}")
                break
            except UsageError as error:
                self.complain(error)
        names = [e.name for e in self.kb.events.values()]
        self.say(f"What happened around then? Known: {', '.join(names)}.")
        self.say("One a line, the date at its end; add 'again' for what goes on. Then: done.")
        while True:
            text = self.prompt("Event:", names)
            if match.plain(text) in {*NOTHING_WORDS, "done"} or is_unknown(text):
                break
            try:
                read_timeline(self.kb, text, self.today)
                parts.append(text)
            except UsageError as error:
                self.complain(error)
        if not parts:
            return Given(DONT_KNOW)
        return Given(read_timeline(self.kb, "; ".join(parts), self.today))


def named(finding: Finding) -> str:
    """A finding with its standard term in brackets."""
    term = finding.standard_term
    return f"{finding.name} ({term})" if term else finding.name


def how_lines(kb: Knowledge, question: Question) -> list[str]:
    """How to look, for a question and each of its findings."""
    lines = [question.help or "Look in daylight, at three hurt plants and a sound one."]
    for id_ in question.findings:
        finding = kb.findings[id_]
        if finding.how_to_look:
            lines.append(f"{finding.name}: {finding.how_to_look}.")
        if finding.mistaken_for:
            others = [kb.findings[m].name for m in finding.mistaken_for if m in kb.findings]
            lines.append(f"{finding.name} is easily taken for: {'; '.join(others)}.")
    return lines
