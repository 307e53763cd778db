"""Completes names of crops and inputs as they are typed, several with commas between."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from prompt_toolkit.completion import CompleteEvent, Completer, Completion
from prompt_toolkit.document import Document


class Names(Completer):
    """Completes the name after the last comma; names that begin so come first."""

    def __init__(self, names: Sequence[str]) -> None:
        self.names = list(names)

    def get_completions(
        self, document: Document, complete_event: CompleteEvent
    ) -> Iterable[Completion]:
        """Names that hold what stands after the last comma."""
        last = document.text_before_cursor.rsplit(",", 1)[-1].lstrip()
        if len(last) < 2:
            return
        wanted = last.casefold()
        fitting = [n for n in self.names if wanted in n.casefold()]
        for name in sorted(fitting, key=lambda n: not n.casefold().startswith(wanted)):
            yield Completion(name, start_position=-len(last))
