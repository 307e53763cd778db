"""Numbered plain lines: for --plain, screen readers, pipes and dumb terminals.

Everything is said in words. At every question these words work: why, how, back, don't know,
not asked, enough, leave. A bare Enter asks again.
"""

from __future__ import annotations

import datetime as dt
import textwrap
from collections.abc import Callable

from diagnose.errors import NeedsTerminalError, UsageError
from diagnose.interview.answers import DONT_KNOW, NONE_LOOKED
from diagnose.interview.run import Given, Move
from diagnose.interview.session import Step
from diagnose.interview.status import Status
from diagnose.interview.typed import (
    NOTHING_WORDS,
    is_unknown,
    read_crops,
    read_names,
    read_timeline,
    read_typed,
)
from diagnose.kb import match
from diagnose.kb.match import Sign
from diagnose.kb.model import Caution, Finding, Knowledge, Question

WIDTH = 78
MOVES = {
    "back": Move.BACK,
    "not asked": Move.NOT_ASKED,
    "skip": Move.NOT_ASKED,
    "enough": Move.ENOUGH,
    "that s enough": Move.ENOUGH,
    "leave": Move.LEAVE,
    "save and leave": Move.LEAVE,
}
WORDS = "Words that always work: why, how, don't know, not asked, back, enough, leave."


class PlainScreen:
    """Asks on plain lines.

    Args:
        kb: the knowledge.
        read: reads a line; raises EOFError at the end of the input.
        write: writes a line.
        today: for dates like "3 weeks ago".
    """

    def __init__(
        self,
        kb: Knowledge,
        read: Callable[[], str],
        write: Callable[[str], None],
        today: dt.date,
    ) -> None:
        self.kb, self.read, self.write, self.today = kb, read, write, today
        self._told = False

    # --- the Screen protocol -----------------------------------------------------------------

    def ask(self, step: Step, where: Status) -> Given | Move:
        """Show one question and wait for its answer."""
        self._head(step, where)
        question = step.question
        while True:
            reply = self._form(question)
            if reply is not None:
                return reply

    def confirm(self, signs: list[Sign]) -> list[Sign]:
        """Read back what was understood; numbers of those that are right."""
        self._say("I understood this. Which are right? Numbers, all, or none.")
        for i, sign in enumerate(signs, 1):
            self._item(i, sign.label)
        while True:
            text = match.plain(self._line())
            if text == "all":
                return signs
            if text in NOTHING_WORDS or is_unknown(text):
                return []
            numbers = _numbers(text, len(signs))
            if numbers:
                return [signs[n - 1] for n in numbers]
            self._say(f"Numbers from 1 to {len(signs)}, all, or none.")

    def complain(self, error: UsageError) -> None:
        """Say what is wrong and how to put it right."""
        self._say(f"That does not fit: {error.message}.")
        if error.hint:
            self._say(error.hint)

    def warn(self, cautions: list[Caution]) -> None:
        """Show cautions that cannot wait."""
        for caution in cautions:
            self.write("")
            self._say(f"CAUTION. {caution.text}")

    # --- forms -------------------------------------------------------------------------------

    def _form(self, question: Question) -> Given | Move | None:
        """One try at a question; None asks again."""
        try:
            if question.form == "crops":
                return self._crops()
            if question.form == "inputs":
                return self._inputs()
            if question.form == "timeline":
                return self._timeline()
            return self._one_line(question)
        except UsageError as error:
            self.complain(error)
            return None
        except _Moved as moved:
            return moved.move

    def _one_line(self, question: Question) -> Given | None:
        options = self._options(question)
        for i, (_, label) in enumerate(options, 1):
            self._item(i, label)
        if question.form == "tick":
            self._say("Numbers with commas; none = I looked, none of these; don't know.")
        elif question.form == "measure":
            finding = self.kb.findings[question.findings[0]]
            units = ", ".join([finding.unit, *finding.other_units])
            self._say(f"A number with its unit ({units}), or don't know.")
        text = self._words_line(question)
        if not text:
            return None
        if is_unknown(text):
            return Given(DONT_KNOW)
        if question.form == "words":
            return Given({"text": text})
        if options and (numbers := _numbers(text, len(options))):
            if question.form == "tick":
                return Given({"ticked": [options[n - 1][0] for n in numbers]})
            if len(numbers) == 1:
                return Given(options[numbers[0] - 1][0])
            raise UsageError("one answer is wanted", "Type one number.")
        if question.form == "tick" and match.plain(text) in NOTHING_WORDS:
            return Given(NONE_LOOKED)
        return Given(read_typed(self.kb, question.id, text, self.today))

    def _crops(self) -> Given | None:
        hurt = self._prompt("Hurt crops (names, commas):")
        if is_unknown(hurt):
            return Given(DONT_KNOW)
        result = read_crops(self.kb, hurt, "hurt")
        fine = self._prompt("Sound beside them, same mix and place (names, none, don't know):")
        if not is_unknown(fine) and match.plain(fine) not in NOTHING_WORDS:
            result |= read_crops(self.kb, fine, "fine_beside")
        return Given(result)

    def _inputs(self) -> Given | None:
        result: dict[str, list[str]] = {}
        self._say("Names with commas; nothing; or don't know.")
        for slot in self.kb.slots.values():
            while True:
                text = self._prompt(f"{slot.name[0].upper()}{slot.name[1:]}:")
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

    def _timeline(self) -> Given | None:
        right = self._prompt("Last day they looked right (2026-04-20, 3 weeks ago, don't know):")
        parts = [] if is_unknown(right) else [f"right until {right}"]
        names = ", ".join(e.name for e in self.kb.events.values())
        self._say(f"What happened, with dates, split by semicolons. Known: {names}.")
        self._say("Add 'again' for what went on and on. none if nothing.")
        text = self._prompt("Events:")
        if match.plain(text) not in NOTHING_WORDS and not is_unknown(text):
            parts.append(text)
        if not parts:
            return Given(DONT_KNOW)
        return Given(read_timeline(self.kb, "; ".join(parts), self.today))

    # --- lines -------------------------------------------------------------------------------

    def _options(self, question: Question) -> list[tuple[str, str]]:
        if question.form == "tick":
            return [(f, _named(self.kb.findings[f])) for f in question.findings]
        if question.form == "choice":
            return [(v.id, v.label) for v in self.kb.findings[question.findings[0]].values]
        return []

    def _head(self, step: Step, where: Status) -> None:
        self.write("")
        if step.total:
            self._say(f"[{step.number} of {step.total}] {step.title}")
        elif where.line:
            self._say(where.line)
        self._say(step.question.text)
        self._question = step.question
        if not self._told:
            self._say(WORDS)
            self._told = True

    def _prompt(self, label: str) -> str:
        """A labelled line; bare Enter asks again."""
        while True:
            self._say(label)
            text = self._words_line(self._question)
            if text:
                return text

    def _words_line(self, question: Question) -> str:
        """A line, after the words that always work were heard."""
        text = self._line()
        word = match.plain(text)
        if word in MOVES:
            raise _Moved(MOVES[word])
        if word == "why":
            self._say(question.why)
            return ""
        if word in ("how", "how do i look", "help"):
            self._say(question.help or "Look in daylight, at three hurt plants and a sound one.")
            for id_ in question.findings:
                finding = self.kb.findings[id_]
                if finding.how_to_look:
                    self._say(f"{finding.name}: {finding.how_to_look}.")
            self._say(WORDS)
            return ""
        return text

    def _line(self) -> str:
        self.write("> ")
        try:
            return self.read().strip()
        except EOFError:
            raise NeedsTerminalError(
                "the input ended before the interview did",
                "Give all answers with --answers FILE, or go on with `diagnose resume`.",
            ) from None

    def _item(self, number: int, label: str) -> None:
        self._say(f"{number}. {label}", indent="   ")

    def _say(self, text: str, indent: str = "") -> None:
        for line in textwrap.wrap(text, WIDTH, subsequent_indent=indent) or [""]:
            self.write(line)


class _Moved(Exception):
    def __init__(self, move: Move) -> None:
        super().__init__(move.value)
        self.move = move


def _named(finding: Finding) -> str:
    term = finding.standard_term
    return f"{finding.name} ({term})" if term else finding.name


def _numbers(text: str, most: int) -> list[int]:
    """Numbers typed with commas or spaces; empty when anything else is there.

    >>> _numbers("1, 3", 4), _numbers("1 9", 4), _numbers("spring", 4)
    ([1, 3], [], [])
    """
    parts = text.replace(",", " ").split()
    if not parts or not all(p.isdecimal() for p in parts):
        return []
    numbers = list(dict.fromkeys(int(p) for p in parts))
    return numbers if all(1 <= n <= most for n in numbers) else []
