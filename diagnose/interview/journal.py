"""What the interview needs of a journal; the casebook keeps one on disk."""

from __future__ import annotations

from typing import Protocol

from diagnose.interview.answers import Answer
from diagnose.interview.offer import Picked


class Journal(Protocol):
    """Takes down what happens in an interview, each call safe before it returns.

    Every method raises UnreadableError when the entry could not be kept; the session must then
    not count it.
    """

    def answered(self, answer: Answer) -> None:
        """An answer was given, or an earlier one to the same question replaced."""

    def withdrawn(self, question: str) -> None:
        """The answer to a question, or its skipping, was taken back."""

    def skipped(self, question: str) -> None:
        """A question was left unasked."""

    def picked(self, offer: str, picked: Picked) -> None:
        """Subjects were laid out, and some of them picked."""

    def note(self, text: str) -> None:
        """A remark worth keeping that no question asks for."""


class NoJournal:
    """A journal that keeps nothing, for an interview without a case."""

    def answered(self, answer: Answer) -> None:
        """Keep nothing."""

    def withdrawn(self, question: str) -> None:
        """Keep nothing."""

    def skipped(self, question: str) -> None:
        """Keep nothing."""

    def picked(self, offer: str, picked: Picked) -> None:
        """Keep nothing."""

    def note(self, text: str) -> None:
        """Keep nothing."""
