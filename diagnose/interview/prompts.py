"""The interview on a real terminal, with questionary's lists and text lines.

Control keys work at every question and are shown in one footer line. Only `unsafe_ask` is used,
so that Ctrl-C reaches us.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from typing import Any

import questionary
from prompt_toolkit.completion import CompleteEvent, Completer, Completion
from prompt_toolkit.document import Document
from prompt_toolkit.formatted_text import FormattedText
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent, merge_key_bindings
from prompt_toolkit.layout import HSplit, Layout, Window
from prompt_toolkit.layout.controls import FormattedTextControl
from prompt_toolkit.styles import Style

from diagnose.errors import UsageError
from diagnose.interview.answers import DONT_KNOW, NONE_LOOKED
from diagnose.interview.flows import Moved, TypedFlows, how_lines, named
from diagnose.interview.run import Given, Move
from diagnose.interview.session import Step
from diagnose.interview.status import Status
from diagnose.kb import match
from diagnose.kb.match import Sign
from diagnose.kb.model import Caution, Knowledge, Question

WHY, HOW, UNKNOWN = "why", "how", "unknown"
# Keys that no terminal keeps for itself (flow control, suspend) and that read as a word.
KEYS: dict[str, tuple[str, Any]] = {
    "c-k": ("don't know", UNKNOWN),
    "c-o": ("not asked", Move.NOT_ASKED),
    "c-y": ("why", WHY),
    "c-g": ("how to look", HOW),
    "c-b": ("back", Move.BACK),
    "c-e": ("enough", Move.ENOUGH),
    "c-x": ("save+leave", Move.LEAVE),
}
FOOTER = "  ".join(f"^{key[-1].upper()} {name}" for key, (name, _) in KEYS.items())
STYLE = Style.from_dict(
    {
        "qmark": "bold",
        "question": "bold",
        "pointer": "bold",
        "highlighted": "bold",
        "selected": "noreverse",
        "footer": "italic",
        "bottom-toolbar": "noreverse italic",
    }
)
COULD_NOT = "could_not_look"


class _Pressed(Exception):
    def __init__(self, what: Any) -> None:
        super().__init__(str(what))
        self.what = what


class PromptScreen(TypedFlows):
    """Asks with questionary.

    Args:
        kb: the knowledge.
        write: writes a line above the prompt.
        today: for dates like "3 weeks ago".
    """

    def __init__(self, kb: Knowledge, write: Callable[[str], None], today: dt.date) -> None:
        self.kb, self.write, self.today = kb, write, today

    def ask(self, step: Step, where: Status) -> Given | Move:
        """Show one question and wait for its answer."""
        question = step.question
        self.write("")
        if step.total:
            self.write(f"[{step.number} of {step.total}] {step.title}")
        elif where.line:
            self.write(where.line)
        if question.form in ("crops", "inputs", "timeline"):
            self.write(question.text)
        while True:
            try:
                reply = self.flow(question) or self._one(question)
            except Moved as moved:
                return moved.move
            except _Pressed as pressed:
                if isinstance(pressed.what, Move):
                    return pressed.what
                if pressed.what == UNKNOWN:
                    return Given(DONT_KNOW)
                lines = [question.why] if pressed.what == WHY else how_lines(self.kb, question)
                for line in lines:
                    self.say(line)
                continue
            if reply is not None:
                return reply

    def confirm(self, signs: list[Sign]) -> list[Sign]:
        """Read back what was understood, all ticked at first."""
        choices = [questionary.Choice(s.label, value=s, checked=True) for s in signs]
        picked = self._run(
            questionary.checkbox(
                "I understood this. Untick what is wrong.",
                choices=choices,
                style=STYLE,
                instruction="(space, then Enter)",
            ),
            moves=False,
        )
        return list(picked)

    def warn(self, cautions: list[Caution]) -> None:
        """Show cautions that cannot wait."""
        for caution in cautions:
            self.write("")
            self.say(f"CAUTION. {caution.text}")

    def say(self, text: str) -> None:
        """Write a text."""
        import textwrap

        for line in textwrap.wrap(text, 78) or [""]:
            self.write(line)

    def prompt(self, label: str, names: Sequence[str] = ()) -> str:
        """One typed line with completion; bare Enter asks again. Don't-know as a word."""
        while True:
            try:
                text = self._run(
                    questionary.text(
                        label,
                        completer=_Names(names) if names else None,
                        style=STYLE,
                        bottom_toolbar=FOOTER,
                        complete_while_typing=True,
                    )
                )
            except _Pressed as pressed:
                if isinstance(pressed.what, Move):
                    raise Moved(pressed.what) from None
                if pressed.what == UNKNOWN:
                    return "don't know"
                raise
            if text.strip():
                return str(text).strip()

    # --- one prompt --------------------------------------------------------------------------

    def _one(self, question: Question) -> Given | None:
        if question.form == "tick":
            return self._tick(question)
        if question.form == "choice":
            finding = self.kb.findings[question.findings[0]]
            choices = [questionary.Choice(v.label, value=v.id) for v in finding.values]
            return Given(
                self._run(
                    questionary.select(
                        question.text, choices=choices, style=STYLE, instruction=" "
                    ),
                    footer=True,
                )
            )
        text = self.prompt(question.text)
        if match.plain(text) == "don t know":
            return Given(DONT_KNOW)
        return Given({"text": text} if question.form == "words" else text)

    def _tick(self, question: Question) -> Given | None:
        findings = [self.kb.findings[f] for f in question.findings]
        choices: list[Any] = [questionary.Choice(_cut(named(f)), value=f.id) for f in findings]
        choices += [
            questionary.Separator(),
            questionary.Choice("None of these, I looked", value=NONE_LOOKED),
            questionary.Choice("I could not look", value=COULD_NOT),
        ]
        picked = self._run(
            questionary.checkbox(
                question.text, choices=choices, style=STYLE, instruction="(space ticks, then Enter)"
            ),
            footer=True,
        )
        if not picked:
            return None
        if COULD_NOT in picked:
            return Given(DONT_KNOW)
        if NONE_LOOKED in picked:
            if len(picked) > 1:
                self.complain(
                    UsageError("ticked, and none of these too", "Choose one or the other")
                )
                return None
            return Given(NONE_LOOKED)
        return Given({"ticked": picked})

    def _run(self, question: Any, *, moves: bool = True, footer: bool = False) -> Any:
        """Run a questionary prompt with our control keys and footer."""
        app = question.application
        if moves:
            app.key_bindings = merge_key_bindings([app.key_bindings, _bindings()])
        if footer:
            line = Window(
                FormattedTextControl(FormattedText([("class:footer", FOOTER)])),
                height=1,
                dont_extend_height=True,
            )
            app.layout = Layout(HSplit([app.layout.container, line]))
        answer = question.unsafe_ask()
        if isinstance(answer, _Pressed):
            raise answer
        return answer


def _bindings() -> KeyBindings:
    bindings = KeyBindings()
    for key, (_, what) in KEYS.items():

        def press(event: KeyPressEvent, what: Any = what) -> None:
            event.app.exit(result=_Pressed(what))

        bindings.add(key, eager=True)(press)
    return bindings


def _cut(label: str) -> str:
    """Labels must not wrap: questionary does not fold them."""
    return label if len(label) <= 72 else label[:69] + "..."


class _Names(Completer):
    """Completes the name after the last comma."""

    def __init__(self, names: Sequence[str]) -> None:
        self.names = list(names)

    def get_completions(
        self, document: Document, complete_event: CompleteEvent
    ) -> Iterable[Completion]:
        last = document.text_before_cursor.rsplit(",", 1)[-1].lstrip()
        if len(last) < 2:
            return
        for name in self.names:
            if last.casefold() in name.casefold():
                yield Completion(name, start_position=-len(last))
