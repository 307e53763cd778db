"""Questions answered by typing several names or dates: the same steps on every screen."""

from __future__ import annotations

import datetime as dt
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from diagnose.errors import UsageError
from diagnose.interview.answers import DONT_KNOW
from diagnose.interview.before import crop_lines, input_line, input_words, timeline_lines
from diagnose.interview.dates import SHAPES, split_date
from diagnose.interview.run import Given, Move, Moved
from diagnose.interview.step import Step
from diagnose.interview.typed import (
    LAST_RIGHT,
    is_nothing,
    is_unknown,
    read_crops,
    read_inputs,
    read_timeline,
)
from diagnose.interview.values import twice
from diagnose.kb import match
from diagnose.kb.model import Finding, Knowledge, Question

NAME_HINT = "Type a name, the word nothing, or don't know."
DAY_HINT = "Type a date, or don't know."
EVENT_HINT = "Type an event with its date, or the word done."
LOOK_HELP = "Look in daylight, at three hurt plants and a sound one."
WORDS_HINT = "Type a few words, or don't know."
NUMBER_HINT = "Type a number with its unit, or don't know."
MEMORY_HELP = "Nothing to look at here: what you remember is enough."


@dataclass(frozen=True, slots=True)
class Line:
    """How a typed line is asked: names to complete, what Enter keeps, what an empty Enter hears."""

    names: Sequence[str] = ()
    kept: str = ""
    hint: str = NAME_HINT


LINE = Line()


class TypedFlows(ABC):
    """Crops, inputs and timeline, asked line by line.

    Each line is checked at once, so that a slip costs one line and nothing typed is lost.
    """

    kb: Knowledge
    today: dt.date
    _changed = False

    @abstractmethod
    def prompt(self, label: str, line: Line = LINE, typed: str = "") -> str:
        """Ask for one line.

        Args:
            label: what is wanted.
            line: names to complete, what Enter keeps, and what to say to an empty Enter.
            typed: what was typed before and did not fit, to be put right where a screen can.

        Raises:
            Moved: the grower moves instead.
        """

    @abstractmethod
    def say(self, text: str) -> None:
        """Say a line."""

    def complain(self, error: UsageError) -> None:
        """Say what is wrong and how to put it right."""
        self.say(f"That does not fit: {error.message}.")
        if error.hint:
            self.say(error.hint)

    def flow(self, step: Step) -> Given | None:
        """Ask a question of the form crops, inputs or timeline; None for other forms."""
        forms = {"crops": self._crops, "inputs": self._inputs, "timeline": self._timeline}
        ask = forms.get(step.question.form)
        if ask is None:
            return None
        self._changed = False
        given = ask(step)
        # Kept as it was, it keeps what these lines do not ask for, like where a bag came from.
        return given if self._changed or step.before is None else Given(step.before.raw)

    def _reading(
        self, label: str, line: Line, read: Callable[[str], Any], *, nothing: Any = None
    ) -> Any:
        """One line, asked again until it can be read; None for "don't know".

        Args:
            label: what is wanted.
            line: how it is asked.
            read: reads the line, raising UsageError.
            nothing: what "nothing" means.
        """
        typed = ""
        while True:
            try:
                typed = self.prompt(label, line, typed)
            except Moved as moved:
                # What was typed on an earlier line stands; only this line was not asked.
                if moved.move is not Move.NOT_ASKED or not self._changed:
                    raise
                return None
            self._changed = self._changed or typed != line.kept
            if is_unknown(typed):
                return None
            if is_nothing(typed):
                return nothing
            try:
                return read(typed)
            except UsageError as error:
                self.complain(error)

    def _crops(self, step: Step) -> Given:
        names = [c.name for c in self.kb.crops.values()]
        kept, kept_fine = "", ""
        if step.before is not None:
            kept, kept_fine = crop_lines(self.kb, step.before.raw)
        elif step.named:
            kept = ", ".join(self.kb.crops[c].name for c in step.named)
            self.say(f"You named: {kept}. Hurt? Take out what is sound.")
        label = "Hurt (names with commas between, or the word nothing):"
        line = Line(names, kept)
        hurt: dict[str, str] = (
            self._reading(label, line, lambda t: self._named(t, "hurt", {})) or {}
        )
        label = "Sound beside them, same mix and place (names, or the word nothing):"
        line = Line(names, kept_fine)
        fine = self._reading(label, line, lambda t: self._named(t, "fine_beside", hurt)) or {}
        return Given(hurt | fine or DONT_KNOW)

    def _named(self, text: str, state: str, before: Mapping[str, str]) -> dict[str, str]:
        found = read_crops(self.kb, text, state)
        if again := next((c for c in found if before.get(c, found[c]) != found[c]), None):
            raise twice(self.kb, again)
        self.say(f"Noted: {', '.join(self.kb.crops[c].name for c in found)}.")
        return found

    def _inputs(self, step: Step) -> Given:
        names = [i.name for i in self.kb.inputs.values()]
        result: dict[str, list[Any]] = {}
        self.say("At each place: names with commas between, or the word nothing, or don't know.")
        self.say("Where from and when, if you know: horse manure from farm in March.")
        for slot in self.kb.slots.values():

            def read(text: str, slot: str = slot.name) -> list[Any]:
                rows = read_inputs(self.kb, slot, text)
                self.say(f"Noted: {', '.join(input_words(self.kb, row) for row in rows)}.")
                return rows

            label = f"{slot.name[0].upper()}{slot.name[1:]}:"
            kept = input_line(self.kb, step.before.raw, slot.id) if step.before else ""
            used = self._reading(label, Line(names, kept), read, nothing=[])
            if used is not None:
                result[slot.id] = used
        return Given(result or DONT_KNOW)

    def _timeline(self, step: Step) -> Given:
        def last_right(text: str) -> dt.date:
            words, day = split_date(text, self.today)
            if day is None or (words and not LAST_RIGHT.match(words)):
                raise UsageError(f"'{text}' is no date", SHAPES)
            return day

        kept, kept_events = "", ""
        if step.before is not None:
            kept, kept_events = timeline_lines(self.kb, step.before.raw)
        raw: dict[str, Any] = {}
        label = "Last day they looked right (20 April, 2026-04-20, 3 weeks ago):"
        if day := self._reading(label, Line((), kept, DAY_HINT), last_right):
            raw["last_right"] = day.isoformat()
            self.say(f"Noted: {day}.")
        names = [e.name for e in self.kb.events.values()]
        self.say(f"What happened around then? Known: {', '.join(names)}.")
        self.say("One a line, its date at the end; add 'again' for what goes on. Then: done.")
        events: list[dict[str, Any]] = []
        while True:
            line = Line([*names, "done"], kept_events, EVENT_HINT)
            found = self._reading("Event, or done:", line, self._event, nothing=[])
            if not found:
                break
            events += found
            kept_events = "done" if step.before is not None else ""
        if events:
            raw["events"] = events
        return Given(raw or DONT_KNOW)

    def _event(self, text: str) -> list[dict[str, Any]]:
        if match.plain(text) in ("done", "that s all", "no more"):
            return []
        found: list[dict[str, Any]] = read_timeline(self.kb, text, self.today).get("events", [])
        if not found:
            raise UsageError("that is no event", "Like: potted on 20 April. Or: done.")
        for event in found:
            again = ", again and again" if event.get("again") else ""
            when = event.get("when", "no date")
            self.say(f"Noted: {self.kb.events[event['event']].name}, {when}{again}.")
        return found


def named(finding: Finding) -> str:
    """A finding with its standard term in brackets."""
    term = finding.standard_term
    # Said once is enough: some names hold their term already.
    if not term or f"({term})".casefold() in finding.name.casefold():
        return finding.name
    return f"{finding.name} ({term})"


def how_lines(kb: Knowledge, question: Question) -> list[str]:
    """How to look, for a question and each of its findings."""
    memory = MEMORY_HELP if question.effort == 1 else LOOK_HELP
    lines = [question.help or memory]
    for id_ in question.findings:
        finding = kb.findings[id_]
        if finding.how_to_look:
            lines.append(f"{finding.name}: {finding.how_to_look}.")
        if finding.mistaken_for:
            others = [kb.findings[m].name for m in finding.mistaken_for if m in kb.findings]
            lines.append(f"{finding.name} is easily taken for: {'; '.join(others)}.")
    return lines
