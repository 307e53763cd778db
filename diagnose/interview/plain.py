"""Numbered plain lines: for --plain, screen readers, pipes and dumb terminals.

Everything is said in words. At every question these words work: why, how, don't know, not asked,
back, enough, leave. A bare Enter asks again.
"""

from __future__ import annotations

import datetime as dt
import textwrap
from collections.abc import Callable, Sequence

from diagnose.errors import NeedsTerminalError, UsageError
from diagnose.interview.answers import DONT_KNOW, NONE_LOOKED
from diagnose.interview.flows import Moved, TypedFlows, how_lines, named
from diagnose.interview.run import Given, Move
from diagnose.interview.session import Step
from diagnose.interview.status import Status
from diagnose.interview.typed import NOTHING_WORDS, is_unknown, read_typed
from diagnose.kb import match
from diagnose.kb.match import Sign
from diagnose.kb.model import Caution, Knowledge, Question

WIDTH = 78
MOVES = {
    "back": Move.BACK,
    "not asked": Move.NOT_ASKED,
    "enough": Move.ENOUGH,
    "that s enough": Move.ENOUGH,
    "leave": Move.LEAVE,
    "save and leave": Move.LEAVE,
}
WORDS = "Words that always work: why, how, don't know, not asked, back, enough, leave."


class PlainScreen(TypedFlows):
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
        self._question: Question | None = None

    def ask(self, step: Step, where: Status) -> Given | Move:
        """Show one question and wait for its answer."""
        self._question = step.question
        self._head(step, where)
        while True:
            try:
                reply = self.flow(step.question) or self._one_line(step.question)
            except Moved as moved:
                return moved.move
            except UsageError as error:
                self.complain(error)
                continue
            if reply is not None:
                return reply

    def confirm(self, signs: list[Sign]) -> list[Sign]:
        """Read back what was understood; numbers of those that are right."""
        self.say("I understood this. Which are right? Numbers, all, or none.")
        for i, sign in enumerate(signs, 1):
            self._item(i, sign.label)
        while True:
            text = match.plain(self._line())
            if text == "all":
                return signs
            if text in NOTHING_WORDS or is_unknown(text):
                return []
            if numbers := numbers_in(text, len(signs)):
                return [signs[n - 1] for n in numbers]
            self.say(f"Numbers from 1 to {len(signs)}, all, or none.")

    def warn(self, cautions: list[Caution]) -> None:
        """Show cautions that cannot wait."""
        for caution in cautions:
            self.write("")
            self.say(f"CAUTION. {caution.text}")

    def prompt(self, label: str, names: Sequence[str] = ()) -> str:
        """A labelled line; bare Enter asks again."""
        while True:
            self.say(label)
            text = self._words_line()
            if text:
                return text

    def say(self, text: str, indent: str = "") -> None:
        """Write a text wrapped."""
        for line in textwrap.wrap(text, WIDTH, subsequent_indent=indent) or [""]:
            self.write(line)

    # --- one line ----------------------------------------------------------------------------

    def _one_line(self, question: Question) -> Given | None:
        """Options and one line; None asks again."""
        options = self._options(question)
        for i, (_, label) in enumerate(options, 1):
            self._item(i, label)
        if question.form == "tick":
            self.say("Numbers with commas; none = I looked, none of these; don't know.")
        elif question.form == "measure":
            finding = self.kb.findings[question.findings[0]]
            units = ", ".join([finding.unit, *finding.other_units])
            self.say(f"A number with its unit ({units}), or don't know.")
        text = self._words_line()
        if not text:
            return None
        if is_unknown(text):
            return Given(DONT_KNOW)
        if question.form == "words":
            return Given({"text": text})
        if options and (numbers := numbers_in(text, len(options))):
            if question.form == "tick":
                return Given({"ticked": [options[n - 1][0] for n in numbers]})
            if len(numbers) > 1:
                raise UsageError("one answer is wanted", "Type one number.")
            return Given(options[numbers[0] - 1][0])
        if question.form == "tick" and match.plain(text) in NOTHING_WORDS:
            return Given(NONE_LOOKED)
        return Given(read_typed(self.kb, question.id, text, self.today))

    def _options(self, question: Question) -> list[tuple[str, str]]:
        if question.form == "tick":
            return [(f, named(self.kb.findings[f])) for f in question.findings]
        if question.form == "choice":
            return [(v.id, v.label) for v in self.kb.findings[question.findings[0]].values]
        return []

    def _head(self, step: Step, where: Status) -> None:
        self.write("")
        if step.total:
            self.say(f"[{step.number} of {step.total}] {step.title}")
        elif where.line:
            self.say(where.line)
        self.say(step.question.text)
        if not self._told:
            self.say(WORDS)
            self._told = True

    def _words_line(self) -> str:
        """A line, after the words that always work were heard; empty asks again."""
        text = self._line()
        word = match.plain(text)
        if word in MOVES:
            raise Moved(MOVES[word])
        question = self._question
        if question is not None and word == "why":
            self.say(question.why)
            return ""
        if question is not None and word in ("how", "how do i look", "help"):
            for line in [*how_lines(self.kb, question), WORDS]:
                self.say(line)
            return ""
        return text

    def _line(self) -> str:
        try:
            return self.read().strip()
        except EOFError:
            raise NeedsTerminalError(
                "the input ended before the interview did",
                "Give all answers with --answers FILE, or go on with `diagnose resume`.",
            ) from None

    def _item(self, number: int, label: str) -> None:
        self.say(f"{number}. {label}", indent="   ")


def numbers_in(text: str, most: int) -> list[int]:
    """Numbers typed with commas or spaces; empty when anything else is there.

    >>> numbers_in("1, 3", 4), numbers_in("1 9", 4), numbers_in("spring", 4)
    ([1, 3], [], [])
    """
    parts = text.replace(",", " ").split()
    if not parts or not all(p.isdecimal() for p in parts):
        return []
    numbers = list(dict.fromkeys(int(p) for p in parts))
    return numbers if all(1 <= n <= most for n in numbers) else []
