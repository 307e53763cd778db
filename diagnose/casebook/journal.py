"""The journal of a case: one line an event, on disk before the call returns.

Nothing is ever changed or taken out. What counts now is worked out by replaying it (`case`).
"""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Mapping
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from diagnose import __version__
from diagnose.casebook.files import OPEN_FLAGS, failure
from diagnose.casebook.reading import Contents
from diagnose.casebook.record import Clock, answer_record, now, stamp, to_line
from diagnose.errors import Location, UnreadableError
from diagnose.interview.answers import Answer
from diagnose.interview.offer import Picked
from diagnose.interview.values import clean_text
from diagnose.kb.model import Knowledge


class Journal:
    """Appends events to a journal. The caller holds the lock of the case.

    Each event is one write and one fsync. When either fails the line is taken back and the error
    raised, so an answer is either wholly there or was never acknowledged.
    """

    def __init__(self, contents: Contents, *, phone: bool = False, clock: Clock = now) -> None:
        """Open a journal that has been read, its torn tail cut.

        Args:
            contents: the journal as read.
            phone: answers from now on are told by phone.
            clock: the time in UTC.

        Raises:
            UnreadableError: it may not be written to.
        """
        self.path: Path = contents.path
        self.phone = phone
        self._clock = clock
        self._n = contents.next_n
        try:
            self._file = os.open(self.path, os.O_WRONLY | os.O_APPEND | OPEN_FLAGS)
        except OSError as error:
            raise failure("be written", self.path, error) from None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; everything written is on disk already."""
        if self._file >= 0:
            os.close(self._file)
            self._file = -1

    # --- what the interview writes -----------------------------------------------------------

    def answered(self, answer: Answer) -> None:
        """An answer, or a new one to the same question.

        Raises:
            UnreadableError: it could not be kept. So for every method below.
        """
        self._append("answered", {**answer_record(answer), **self._told()})

    def withdrawn(self, question: str) -> None:
        """An answer, a skipped question or a test result is taken back."""
        self._append("withdrawn", {"question": question})

    def skipped(self, question: str) -> None:
        """A question left unasked."""
        self._append("skipped", {"question": question})

    def picked(self, offer: str, picked: Picked) -> None:
        """What was laid out to pick from, and what was picked."""
        taken = {"offered": list(picked.offered), "picked": list(picked.picked)}
        self._append("picked", {"offer": offer, **taken})

    def note(self, text: str) -> None:
        """A remark."""
        self._append("note", {"text": clean_text(text)})

    def moved(self, old: str, answer: Answer, *, phone: bool) -> None:
        """An answer now stands under another question, as the old one was renamed.

        The new entry is written first: a crash between the two loses nothing.

        Args:
            old: the question it was given to.
            answer: the answer, under the new question.
            phone: it was told by phone then.
        """
        told = {"phone": True} if phone else {}
        self._append("answered", {**answer_record(answer), **told, "moved_from": old})
        self.withdrawn(old)

    # --- what other commands write -----------------------------------------------------------

    def result(self, answer: Answer, reading: Mapping[str, Any] | None = None) -> None:
        """A test's result.

        Args:
            answer: the result read as an answer to the test.
            reading: what was measured, as plain JSON, when the reports of the answer bring their
                own weights (a pot test with its own power and false-alarm rate).
        """
        data = {**answer_record(answer), **self._told()}
        if reading:
            data["reading"] = dict(reading)
        self._append("result", data)

    def settled(self, cause: str, by: str = "", note: str = "") -> None:
        """The cause is known; an empty cause opens the case again.

        Args:
            cause: id of a cause.
            by: what settled it: a test, a laboratory, how plants responded.
            note: a remark.
        """
        self._append("settled", {"cause": cause, "by": clean_text(by), "note": clean_text(note)})

    def resumed(self, kb: Knowledge, *, phone: bool = False) -> None:
        """The interview goes on, perhaps under newer knowledge or by another way of talking."""
        self.phone = phone
        knowledge = {"version": kb.version, "digest": kb.digest}
        data = {"program": __version__, "knowledge": knowledge, "phone": phone}
        self._append("resumed", data)

    # --- writing -----------------------------------------------------------------------------

    def _told(self) -> dict[str, Any]:
        return {"phone": True} if self.phone else {}

    def _append(self, event: str, data: Mapping[str, Any]) -> None:
        if self._file < 0:
            raise UnreadableError(
                "the journal was closed and takes no more entries",
                f"Go on with `diagnose resume {self.path.parent.name}`.",
                Location(str(self.path)),
            )
        line = to_line({"n": self._n, "at": stamp(self._clock), "event": event, **data})
        try:
            start = os.fstat(self._file).st_size
        except OSError as error:
            raise failure("be written", self.path, error) from None
        try:
            if os.write(self._file, line) != len(line):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            os.fsync(self._file)
        except OSError as error:
            self._take_back(start)
            raise failure("be written", self.path, error) from None
        self._n += 1

    def _take_back(self, start: int) -> None:
        """Cut a line that failed.

        If even that fails, write no more: the next line would be glued to the broken one, while
        a torn end is mended when the case is opened again.
        """
        try:
            os.ftruncate(self._file, start)
        except OSError:
            with contextlib.suppress(OSError):
                self.close()
