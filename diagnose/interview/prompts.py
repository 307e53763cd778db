"""The interview on a real terminal, with questionary's lists and text lines.

Control keys work at every question and are shown in one footer line. Only `unsafe_ask` is used,
so that Ctrl-C reaches us. A list goes once it is answered, and a line with the answer stays.
"""

from __future__ import annotations

import datetime as dt
import textwrap
from collections.abc import Callable
from typing import Any

import questionary
from prompt_toolkit.styles import Style

from diagnose.interview import offer as offered
from diagnose.interview.answers import DONT_KNOW, NONE_LOOKED
from diagnose.interview.completion import Names
from diagnose.interview.flows import (
    LINE,
    NUMBER_HINT,
    WORDS_HINT,
    Line,
    TypedFlows,
    how_lines,
    named,
)
from diagnose.interview.keys import COULD_NOT, HOW, UNKNOWN, Keys, Pressed
from diagnose.interview.labels import cut, fitting, width
from diagnose.interview.offer import TEXT, Offer
from diagnose.interview.run import Given, Move, Moved
from diagnose.interview.standing import Standing
from diagnose.interview.status import Status
from diagnose.interview.step import Step
from diagnose.interview.typed import is_unknown
from diagnose.kb.match import Sign
from diagnose.kb.model import Caution, Knowledge, Question

EITHER = "either, as before"  # a choice answered with several values, shown as one line
STYLE = Style.from_dict(
    {
        "qmark": "bold",
        "question": "bold",
        "pointer": "bold",
        "highlighted": "bold",
        "selected": "noreverse",
        "footer": "italic",
        "validation-toolbar": "bold",
    }
)


class PromptScreen(TypedFlows):
    """Asks with questionary.

    Args:
        kb: the knowledge.
        write: writes a line above the prompt.
        today: for dates like "3 weeks ago".
    """

    def __init__(self, kb: Knowledge, write: Callable[[str], None], today: dt.date) -> None:
        self.kb, self.write, self.today = kb, write, today
        self._question: Question | None = None
        self._words = ""

    def ask(self, step: Step, where: Status) -> Given | Move:
        """Show one question and wait for its answer."""
        self._question = step.question
        title = f"[{step.number} of {step.total}] {step.title}" if step.total else ""
        self._heading(title, where, step.question.text)
        try:
            return self.flow(step) or self._one(step)
        except Moved as moved:
            self.say(f"> {moved.move.value}")
            return moved.move

    def offer(self, offer: Offer, where: Status) -> tuple[str, ...] | Move:
        """Lay out what could be asked, ticked what was spoken of; ids of what can be told."""
        self._question = None
        self._heading("", where, TEXT)
        none = "None of these"
        choices: list[Any] = [
            questionary.Choice(cut(q.about), value=q.id, checked=q.id in offer.brought_up)
            for q in offer.questions
        ]
        choices += [questionary.Separator(), questionary.Choice(none, value=NONE_LOOKED)]
        if offer.brought_up:
            self.say(offered.TICKED)
        try:
            picked = self._ticked(choices, lambda p: _fits(p, none))
        except Moved as moved:
            self.say(f"> {moved.move.value}")
            return moved.move
        told = [q for q in offer.questions if q.id in (picked or ())]
        self.say(f"> {'; '.join(q.about for q in told) or none}")
        return tuple(q.id for q in told)

    def confirm(self, signs: list[Sign]) -> list[Sign]:
        """Read back what was understood, all ticked at first."""
        self.say("I understood this. Untick what is wrong.")
        # Two values of one finding cannot both be so: the one that fits best starts ticked.
        best = {s.finding: s for s in reversed(signs)}
        choices = [
            questionary.Choice(cut(s.label), value=s, checked=best[s.finding] is s) for s in signs
        ]
        try:
            picked = self._ticked(choices, lambda _: True)
        except Moved as moved:
            if moved.move is not Move.NOT_ASKED:
                self.say(f"> {moved.move.value}")
                raise
            picked = None
        self.say("> " + ("; ".join(s.label for s in picked or ()) or "none of it"))
        return list(picked or ())

    def warn(self, cautions: list[Caution]) -> None:
        """Show cautions that cannot wait."""
        for caution in cautions:
            self.write("")
            self.say(f"CAUTION. {caution.text}")

    def _heading(self, title: str, where: Status, text: str) -> None:
        self.write("")
        if title or where.line:
            self.say(title or where.line)
        self.say(text)

    def say(self, text: str) -> None:
        """Write a text, wrapped at words."""
        for line in textwrap.wrap(text, min(width(), 96) - 2) or [""]:
            self.write(line)

    def prompt(self, label: str, line: Line = LINE, typed: str = "") -> str:
        """One typed line with completion; bare Enter asks again. Don't-know as a word."""
        default = typed or line.kept
        while True:
            box = questionary.text(
                label,
                default=default,
                completer=Names(line.names) if line.names else None,
                style=STYLE,
                qmark=">",
                complete_while_typing=True,
            )
            text = self._run(box)
            if text is None:
                self.say("> don't know")
                return "don't know"
            if text.strip():
                return str(text).strip()
            # Who emptied the box does not want its old words back.
            default = ""
            self.say(line.hint)

    # --- one prompt --------------------------------------------------------------------------

    def _one(self, step: Step) -> Given:
        question = step.question
        if question.form == "tick":
            return self._tick(step)
        if question.form == "choice":
            return self._choice(step)
        standing = Standing(step)
        label, line = "Your words:", Line((), standing.line or self._words, WORDS_HINT)
        if question.form == "measure":
            line = Line((), standing.line, NUMBER_HINT)
            finding = self.kb.findings[question.findings[0]]
            units = ", ".join([finding.unit, *finding.other_units])
            label = f"A number with its unit ({units}):"
        text = self.prompt(label, line)
        if standing.raw is not None and text == standing.line:
            return Given(standing.raw)
        if is_unknown(text):
            return Given(DONT_KNOW)
        if question.form != "words":
            return Given(text)
        self._words = text
        return Given({"text": text})

    def _choice(self, step: Step) -> Given:
        finding = self.kb.findings[step.question.findings[0]]
        choices = [questionary.Choice(cut(v.label), value=v.id) for v in finding.values]
        before = Standing(step).raw
        if isinstance(before, list):
            either = " or ".join(finding.label(v) for v in before)
            choices.insert(0, questionary.Choice(cut(f"As before: {either}"), value=EITHER))
        chosen = self._run(
            questionary.select(
                "Arrows move, Enter takes.",
                choices=choices,
                default=EITHER
                if isinstance(before, list)
                else next(iter(Standing(step).marked), None),
                style=STYLE,
                qmark=" ",
                instruction=" ",
            )
        )
        if chosen == EITHER:
            return Given(before)
        self.say(f"> {finding.label(chosen)}" if chosen else "> don't know")
        return Given(chosen or DONT_KNOW)

    def _tick(self, step: Step) -> Given:
        findings = {f: self.kb.findings[f] for f in step.question.findings}
        standing = Standing(step)
        choices: list[Any] = [
            questionary.Choice(fitting(named(f), f.name), value=i, checked=i in standing.marked)
            for i, f in findings.items()
        ]
        who = "they" if step.phone else "I"
        none, could_not = f"None of these, {who} looked", f"{who.capitalize()} could not look"
        fixed = [
            questionary.Choice(none, value=NONE_LOOKED),
            questionary.Choice(could_not, value=COULD_NOT),
        ]
        # Enter on a fixed answer takes it: pointing at the one given before keeps it.
        before = None
        if step.before is not None and not standing.marked:
            before = fixed[int(standing.raw == DONT_KNOW)]
        choices += [questionary.Separator(), *fixed]
        picked = self._ticked(choices, lambda p: _fits(p, none), before)
        if picked is None or COULD_NOT in picked:
            self.say(f"> {could_not}" if picked else "> don't know")
            return Given(DONT_KNOW)
        if NONE_LOOKED in picked:
            self.say(f"> {none}")
            kept = before is fixed[0]
            return Given(standing.raw if kept else NONE_LOOKED)
        self.say(f"> {'; '.join(findings[f].name for f in findings if f in picked)}")
        # A tick taken away is a word said: it was looked at again and is not so.
        if step.before is not None and set(picked) == standing.marked:
            return Given(standing.raw)
        taken_away = sorted(set(standing.told).difference(picked))
        return Given(
            {"ticked": picked, "looked_for": taken_away} if taken_away else {"ticked": picked}
        )

    def _ticked(
        self, choices: list[Any], validate: Callable[[list[str]], Any], at: Any = None
    ) -> Any:
        return self._run(
            questionary.checkbox(
                "Space ticks, Enter goes on.",
                choices=choices,
                validate=validate,
                initial_choice=at,
                style=STYLE,
                qmark=" ",
                instruction=" ",
            )
        )

    def _run(self, question: Any) -> Any:
        """Run a questionary prompt with our control keys and footer; None for "don't know".

        Raises:
            Moved: the grower moves instead.
        """
        Keys(question.application, self._help).fit()
        try:
            answer = question.unsafe_ask()
        except EOFError:  # Ctrl-D on an empty line
            raise Moved(Move.LEAVE) from None
        if not isinstance(answer, Pressed):
            return answer
        if answer.what == UNKNOWN:
            return None
        raise Moved(answer.what)

    def _help(self, what: str) -> None:
        question = self._question
        if question is None:
            self.say(offered.HOW if what == HOW else offered.WHY)
            return
        for line in how_lines(self.kb, question) if what == HOW else [question.why]:
            self.say(line)


def _fits(picked: list[str], none: str) -> bool | str:
    if not picked:
        return f"Tick with space, or move to '{none}' and press Enter."
    alone = {NONE_LOOKED, COULD_NOT}.intersection(picked)
    if alone and len(picked) > 1:
        return f"'{none}' goes with no other tick, nor does 'could not look'."
    return True
