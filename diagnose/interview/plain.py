"""Numbered plain lines: for --plain, screen readers, pipes and dumb terminals.

Everything is said in words. At every question these words work: why, how, don't know, not asked,
back, enough, leave. A bare Enter asks again, with the whole list; after a slip or a reason only the
line on how to answer comes again, so that a list is not read out twice. Where an answer stands
already, told in own words or taken back, a bare Enter goes on with it.
"""

from __future__ import annotations

import datetime as dt
import textwrap
from collections.abc import Callable
from typing import Any

from diagnose.errors import NeedsTerminalError, UsageError
from diagnose.interview.answers import DONT_KNOW, NONE_LOOKED
from diagnose.interview.flows import LINE, WORDS_HINT, Line, TypedFlows, how_lines, named
from diagnose.interview.offer import BROUGHT_UP, HOW, TEXT, WHY, Offer
from diagnose.interview.run import Given, Move, Moved
from diagnose.interview.standing import Standing
from diagnose.interview.status import Status
from diagnose.interview.step import Step
from diagnose.interview.typed import is_nothing, is_unknown, read_typed
from diagnose.kb import match
from diagnose.kb.match import Sign
from diagnose.kb.model import Caution, Knowledge, Question

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
        self._again = False
        self._question: Question | None = None

    def ask(self, step: Step, where: Status) -> Given | Move:
        """Show one question and wait for its answer."""
        self._question = step.question
        self._head(step, where)
        try:
            return self.flow(step) or self._listed(step)
        except Moved as moved:
            return moved.move

    def offer(self, offer: Offer, where: Status) -> tuple[str, ...] | Move:
        """Lay out what could be asked; numbers of what the grower can tell about."""
        self._question, ids = None, [q.id for q in offer.questions]
        self._heading("", where, TEXT)
        again = True
        while True:
            if again:
                for i, question in enumerate(offer.questions, 1):
                    told = f" ({BROUGHT_UP})" if question.id in offer.brought_up else ""
                    self._item(i, question.about + told)
            self.say(f"Numbers from 1 to {len(ids)} with commas, all, or none.")
            text = self._line()
            word = match.plain(text)
            if word in ("why", "how", "how do i look", "help"):
                self.say(WHY if word == "why" else HOW)
            elif word in MOVES:
                return MOVES[word]
            elif word in ("all", "all of them"):
                return tuple(ids)
            elif is_nothing(text) or is_unknown(text):
                return ()
            elif numbers := numbers_in(text, len(ids)):
                return tuple(ids[n - 1] for n in numbers)
            elif text:
                self.complain(UsageError(f"'{text}' is not in the list"))
            again = not text

    def confirm(self, signs: list[Sign]) -> list[Sign]:
        """Read back what was understood; numbers of those that are right."""
        how = f"Which are right? Numbers from 1 to {len(signs)}, all, or none."
        again = True
        while True:
            if again:
                self.say("I understood this.")
                for i, sign in enumerate(signs, 1):
                    self._item(i, sign.label)
            self.say(how)
            text = self._line()
            word = match.plain(text)
            if is_nothing(text) or is_unknown(text) or MOVES.get(word) is Move.NOT_ASKED:
                return []
            if word in MOVES:
                raise Moved(MOVES[word])
            if word in ("all", "yes", "all of them"):
                return signs
            if numbers := numbers_in(text, len(signs)):
                return [signs[n - 1] for n in numbers]
            again = not text

    def warn(self, cautions: list[Caution]) -> None:
        """Show cautions that cannot wait."""
        for caution in cautions:
            self.write("")
            self.say(f"CAUTION. {caution.text}")

    def prompt(self, label: str, line: Line = LINE, typed: str = "") -> str:
        """A labelled line; bare Enter keeps what stands, or asks again."""
        while True:
            self.say(label)
            # After a slip Enter keeps nothing: it might be meant for the slip.
            kept = "" if typed else line.kept
            if kept:
                self.say(f"[x] {kept} (Enter keeps it)")
            text = self._words_line()
            if text or (self._again and kept):
                return text or kept
            if self._again:
                self.say(line.hint)

    def say(self, text: str, indent: str = "") -> None:
        """Write a text wrapped."""
        for line in textwrap.wrap(text, WIDTH, subsequent_indent=indent) or [""]:
            self.write(line)

    # --- one line ----------------------------------------------------------------------------

    def _listed(self, step: Step) -> Given:
        """A list or one line, until an answer fits."""
        options = self._options(step.question)
        standing = Standing(step)
        how = self._how_to_answer(step, len(options), standing)
        self._show(options, standing)
        while True:
            if how:
                self.say(how)
            if standing.line:
                self.say(f"[x] {standing.line} (Enter keeps it)")
            text = self._words_line()
            if not text:
                if self._again and standing.raw is not None:
                    return Given(standing.raw)
                if self._again and step.question.form == "words":
                    self.say(WORDS_HINT)
                elif self._again:
                    self._show(options, standing)
                continue
            try:
                return Given(self._read(step.question, text, options, list(standing.told)))
            except UsageError as error:
                self.complain(error)

    def _show(self, options: list[tuple[str, str]], standing: Standing) -> None:
        for i, (id_, label) in enumerate(options, 1):
            self._item(i, f"[x] {label}" if id_ in standing.marked else label)

    def _how_to_answer(self, step: Step, count: int, standing: Standing) -> str:
        question = step.question
        looked = "they looked" if step.phone else "I looked"
        if question.form == "tick" and standing.marked:
            if standing.told:
                return f"[x] stays: Enter. Numbers of others; none = {looked}; don't know."
            return f"[x] before: Enter. Else numbers; none = {looked}; don't know."
        if question.form == "tick":
            return f"Numbers with commas; none = {looked}, none of these; don't know."
        if question.form == "choice":
            marked = " [x] stands: Enter." * bool(standing.marked)
            either = "; 1 or 2 = either of them" * (count > 2)
            return f"A number from 1 to {count}{either}; don't know.{marked}"
        if question.form == "measure":
            finding = self.kb.findings[question.findings[0]]
            units = ", ".join([finding.unit, *finding.other_units])
            return f"A number with its unit ({units}), or don't know."
        return ""

    def _read(
        self, question: Question, text: str, options: list[tuple[str, str]], kept: list[str]
    ) -> Any:
        if is_unknown(text):
            return DONT_KNOW
        if question.form == "words":
            return {"text": text}
        if question.form == "tick" and is_nothing(text):
            return {"ticked": kept, "looked_for": "all"} if kept else NONE_LOOKED
        if not options:
            return read_typed(self.kb, question.id, text, self.today)
        either = question.form == "choice" and " or " in text
        numbers = numbers_in(text.replace(" or ", " ") if either else text, len(options))
        if either and len(numbers) > 1:
            return [options[n - 1][0] for n in numbers]
        if question.form == "choice" and len(numbers) > 1:
            raise UsageError("one answer is wanted", "Type one number; 1 or 2 if it may be either.")
        if numbers:
            chosen = [options[n - 1][0] for n in numbers]
        else:
            chosen = self._by_name(question, text, len(options))
        if question.form == "choice":
            return chosen[0]
        return {"ticked": list(dict.fromkeys([*kept, *chosen]))}

    def _by_name(self, question: Question, text: str, count: int) -> list[str]:
        try:
            raw = read_typed(self.kb, question.id, text, self.today)
        except UsageError:
            raise UsageError(
                f"'{text}' is not in the list", f"Type numbers from 1 to {count}."
            ) from None
        return list(raw["ticked"]) if isinstance(raw, dict) else [raw]

    def _options(self, question: Question) -> list[tuple[str, str]]:
        if question.form == "tick":
            return [(f, named(self.kb.findings[f])) for f in question.findings]
        if question.form == "choice":
            return [(v.id, v.label) for v in self.kb.findings[question.findings[0]].values]
        return []

    def _head(self, step: Step, where: Status) -> None:
        title = f"[{step.number} of {step.total}] {step.title}" if step.total else ""
        self._heading(title, where, step.question.text)

    def _heading(self, title: str, where: Status, text: str) -> None:
        self.write("")
        if title or where.line:
            self.say(title or where.line)
        self.say(text)
        if not self._told:
            self.say(WORDS)
            self._told = True

    def _words_line(self) -> str:
        """A line, after the words that always work were heard; empty asks again."""
        text = self._line()
        self._again = not text
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
                "Answers can also come from a file: --answers FILE.",
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
