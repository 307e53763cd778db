"""The control keys of the interview on a terminal, and the footer line that shows them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from prompt_toolkit.application import Application, run_in_terminal
from prompt_toolkit.filters import Condition, is_done
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent, merge_key_bindings
from prompt_toolkit.layout import ConditionalContainer, HSplit, Layout, Window
from prompt_toolkit.layout.controls import FormattedTextControl
from questionary.prompts.common import InquirerControl

from diagnose.interview.answers import NONE_LOOKED
from diagnose.interview.run import Move

WHY, HOW, UNKNOWN = "why", "how", "unknown"
COULD_NOT = "could_not_look"
# Keys that no terminal keeps for itself (flow control, suspend) and that read as a word.
KEYS: dict[str, tuple[str, Any]] = {
    "c-k": ("don't know", UNKNOWN),
    "c-o": ("not asked", Move.NOT_ASKED),
    "c-y": ("why", WHY),
    "c-g": ("how", HOW),
    "c-b": ("back", Move.BACK),
    "c-e": ("enough", Move.ENOUGH),
    "c-x": ("save+leave", Move.LEAVE),
}
# Shorter than 80 columns, the last of which some terminals cannot fill.
FOOTER = "  ".join(f"^{key[-1].upper()} {name}" for key, (name, _) in KEYS.items())


class Pressed:
    """A key was pressed in place of an answer."""

    def __init__(self, what: Any) -> None:
        self.what = what


class Keys:
    """Fits our keys and the footer to a questionary prompt.

    Args:
        app: the application of the prompt.
        tell: says why or how to look, above the prompt, which stays as it is.
    """

    def __init__(self, app: Application[Any], tell: Callable[[str], None]) -> None:
        self.app, self.tell = app, tell
        found = (w.content for w in app.layout.find_all_windows())
        self.list = next((c for c in found if isinstance(c, InquirerControl)), None)

    def fit(self) -> None:
        """Put keys and footer in.

        The footer is our own in lists and text lines alike: the toolbar of a text line waits for
        the terminal to tell its height, which not every terminal does.
        """
        bindings = KeyBindings()
        for key, (_, what) in KEYS.items():
            bindings.add(key, eager=True)(self._press(what))
        if self.list is not None:
            self._fit_list(bindings)
        self._add_footer()
        ours = [b for b in (self.app.key_bindings, bindings) if b is not None]
        self.app.key_bindings = merge_key_bindings(ours)

    def _add_footer(self) -> None:
        footer = Window(
            FormattedTextControl([("class:footer", FOOTER)]),
            wrap_lines=True,
            dont_extend_height=True,
        )
        layout = self.app.layout
        body = HSplit([layout.container, ConditionalContainer(footer, ~is_done)])
        self.app.layout = Layout(body, focused_element=layout.current_window)

    def _press(self, what: Any) -> Callable[[KeyPressEvent], None]:
        def press(event: KeyPressEvent) -> None:
            if what in (WHY, HOW):
                run_in_terminal(lambda: self.tell(what))
            elif what is UNKNOWN and self.list is None and event.current_buffer.text:
                # On any terminal this key empties the line; Ctrl-_ brings the words back.
                event.current_buffer.save_to_undo_stack()
                event.current_buffer.text = ""
            else:
                event.app.exit(result=Pressed(what))

        return press

    def _fit_list(self, bindings: KeyBindings) -> None:
        self.app.erase_when_done = True

        # "All" and "invert" on plain letters tick a whole list for whoever begins to type.
        for letter in "ai":
            bindings.add(letter, eager=True)(lambda event: None)

        # Enter on one of the two fixed answers takes it when nothing else is ticked.
        @bindings.add("enter", eager=True, filter=Condition(self._on_fixed))
        def take(event: KeyPressEvent) -> None:
            event.app.exit(result=[self._pointed()])

    def _on_fixed(self) -> bool:
        control = self.list
        if control is None or control.selected_options:
            return False
        # A value of a choice may be called "none" too: only tick lists have both.
        has_fixed = any(c.value == COULD_NOT for c in control.choices)
        return has_fixed and self._pointed() in (NONE_LOOKED, COULD_NOT)

    def _pointed(self) -> Any:
        return self.list.get_pointed_at().value if self.list is not None else None
