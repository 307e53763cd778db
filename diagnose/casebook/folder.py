"""The folder of one case: its journal, its last result and its reports."""

from __future__ import annotations

import contextlib
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from diagnose.casebook.case import Case, replay
from diagnose.casebook.files import LOCK_SECONDS, atomic_write, locked, read_bytes, refuse_link
from diagnose.casebook.journal import Journal
from diagnose.casebook.reading import CUT_SHORT, cut_torn_tail, read_contents
from diagnose.casebook.record import Clock, clean, now
from diagnose.errors import Location, UnreadableError, UsageError
from diagnose.interview.session import Session
from diagnose.kb.model import Knowledge
from diagnose.reasoning.rank import Ranker

JOURNAL_NAME = "journal.jsonl"
RESULT_NAME = "result.json"
_REPORT = re.compile(r"[a-z0-9][a-z0-9_-]{0,60}\.(?:txt|md|html|json|csv|svg)")


@dataclass(frozen=True, slots=True)
class OpenCase:
    """A case held open for writing. `case` is as it stood when opened."""

    case: Case
    journal: Journal

    def resume(
        self, kb: Knowledge, *, phone: bool | None = None, ranker: Ranker | None = None
    ) -> tuple[Session, list[str]]:
        """Go on with the interview: rebuild it under a knowledge and write that down.

        Args:
            kb: the knowledge to go on with.
            phone: this sitting is by phone; None for as before.
            ranker: one made from the knowledge, when there is one already.

        Returns:
            The session, and a plain sentence for each thing that could not be carried over.

        Raises:
            UnreadableError: it could not be written down.
        """
        rebuilt = self.case.rebuild(kb, ranker=ranker)
        session = rebuilt.session
        session.phone = self.case.phone if phone is None else phone
        self.journal.resumed(kb, phone=session.phone)
        # Written down under the new question, so that taking it back there takes it back.
        for old, answer in rebuilt.renamed.items():
            self.journal.moved(old, answer, phone=self.case.answers[old].phone)
        return session, rebuilt.lost


@dataclass(frozen=True, slots=True)
class CaseFolder:
    """A case on disk. Reading needs no lock; writing holds it throughout."""

    path: Path
    clock: Clock = now

    @property
    def number(self) -> str:
        """The number of the case."""
        return self.path.name

    @property
    def journal_path(self) -> Path:
        """Where the journal is."""
        return self.path / JOURNAL_NAME

    def read(self) -> Case:
        """The case as it stands, even while another window writes to it.

        Raises:
            UnreadableError: the journal is missing, damaged or newer than this program.
        """
        contents = read_contents(self.journal_path)
        case = replay(contents)
        if contents.torn:
            case.messages.append(f"{CUT_SHORT} It is left out here.")
        return case

    @contextlib.contextmanager
    def writing(self, timeout: float = LOCK_SECONDS) -> Iterator[OpenCase]:
        """Hold the case for writing: lock it, mend a torn end, read it, open its journal.

        Args:
            timeout: seconds to wait for another writer.

        Raises:
            CaseInUseError: another window has it.
            UnreadableError: it cannot be read or written.
        """
        refuse_link(self.journal_path)
        with locked(self.path, timeout):
            contents = read_contents(self.journal_path)
            case = replay(contents)
            if mended := cut_torn_tail(contents):
                case.messages.append(mended)
            with Journal(contents, phone=case.phone, clock=self.clock) as journal:
                yield OpenCase(case, journal)

    def save_result(self, document: Mapping[str, Any]) -> Path:
        """Keep the result document, plain JSON, in place of an older one.

        Raises:
            UnreadableError: it could not be written; the older one is untouched.
        """
        path = self.path / RESULT_NAME
        text = json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1)
        atomic_write(path, text + "\n")
        return path

    def result(self) -> dict[str, Any] | None:
        """The result document kept last; None when there is none yet.

        Raises:
            UnreadableError: it is damaged.
        """
        path = self.path / RESULT_NAME
        if not path.exists() and not path.is_symlink():
            return None
        try:
            document = json.loads(read_bytes(path).decode("utf-8-sig"))
        except (ValueError, RecursionError):
            document = None
        if not isinstance(document, dict):
            raise UnreadableError(
                "the kept result is damaged",
                f"Delete the file, then make it anew: diagnose resume {self.number} --no-input",
                Location(str(path)),
            )
        return dict(clean(document))

    def changed_since_result(self) -> bool:
        """Whether the journal was written to after the kept result was."""
        result = (self.path / RESULT_NAME).stat()
        return self.journal_path.stat().st_mtime_ns > result.st_mtime_ns

    def save_report(self, name: str, text: str) -> Path:
        """Keep a report in the folder of the case, in place of an older one of the name.

        Args:
            name: a plain file name such as `report.html`.
            text: the report.

        Raises:
            UsageError: the name is no plain file name, or is the program's own.
            UnreadableError: it could not be written; the older one is untouched.
        """
        if not _REPORT.fullmatch(name) or name == RESULT_NAME:
            raise UsageError(
                f"'{name[:60]}' cannot be the name of a report",
                "Use small letters and digits with one ending, like report.html or handout.md.",
            )
        path = self.path / name
        atomic_write(path, text)
        return path
