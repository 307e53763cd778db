"""The casebook: a folder with a folder for each case.

<casebook>/26-014/journal.jsonl  every answer, append-only
                  journal.lock   held while somebody writes
                  journal.torn-1 a last line cut short, if there ever was one
                  result.json    the last result, as plain JSON
                  report.*       what was made from it
"""

from __future__ import annotations

import contextlib
import os
from dataclasses import dataclass
from pathlib import Path

from diagnose import __version__
from diagnose.casebook.files import atomic_write, failure, refuse_link, sync_folder
from diagnose.casebook.folder import JOURNAL_NAME, CaseFolder
from diagnose.casebook.numbers import next_count, read_number, resolve, write_number
from diagnose.casebook.record import Clock, Header, clean_alias, header_record, now, stamp, to_line
from diagnose.errors import DiagnoseError, Location, UnreadableError
from diagnose.kb.model import Knowledge

ENVIRONMENT_VARIABLE = "DIAGNOSE_CASEBOOK"
TRIES = 1000


def casebook_folder(given: str | Path | None = None) -> Path:
    """Where the casebook is: as named, else DIAGNOSE_CASEBOOK, else the user's data folder.

    >>> casebook_folder("cases").name
    'cases'
    """
    if wanted := given or os.environ.get(ENVIRONMENT_VARIABLE):
        return Path(wanted).expanduser()
    from platformdirs import user_data_path

    return user_data_path("seedling-diagnose", appauthor=False) / "casebook"


@dataclass(frozen=True, slots=True)
class CaseLine:
    """A case in a list. `fault` says why it cannot be read; the rest is then empty."""

    number: str
    alias: str = ""
    begun: str = ""
    last: str = ""
    answered: int = 0
    results: int = 0
    settled: str = ""
    fault: str = ""


class Casebook:
    """All the cases in one folder."""

    def __init__(self, given: str | Path | None = None, *, clock: Clock = now) -> None:
        """Name a casebook; nothing is read or made yet.

        Args:
            given: its folder, or None for the usual place.
            clock: the time in UTC.
        """
        self.folder = casebook_folder(given)
        self.clock = clock

    @property
    def year(self) -> int:
        """This year, where the user is."""
        return self.clock().astimezone().year

    def new_case(self, kb: Knowledge, *, alias: str = "", phone: bool = False) -> CaseFolder:
        """Begin a case under the next free number, safe against others doing so at once.

        Args:
            kb: the knowledge it is begun with.
            alias: a word to know it by, all the personal data a case holds; cut at 60 characters.
            phone: the interview is by phone.

        Raises:
            UnreadableError: the folder cannot be written to.
        """
        path = self._make_folder()
        header = Header(
            path.name,
            __version__,
            kb.version,
            kb.digest,
            stamp(self.clock),
            clean_alias(alias),
            phone,
        )
        try:
            atomic_write(path / JOURNAL_NAME, to_line(header_record(header)))
        except UnreadableError:
            with contextlib.suppress(OSError):
                path.rmdir()
            raise
        return CaseFolder(path, self.clock)

    def _make_folder(self) -> Path:
        year = self.year
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            count = next_count(self._names(), year)
            # Making a folder either succeeds or finds it taken; nobody can come in between.
            for number in range(count, count + TRIES):
                path = self.folder / write_number(year, number)
                with contextlib.suppress(FileExistsError):
                    path.mkdir()
                    sync_folder(self.folder)
                    return path
        except OSError as error:
            raise failure("be used as the casebook", self.folder, error) from None
        raise UnreadableError(
            f"no free case number was found after {TRIES} tries",
            "Move whatever else is in this folder out of it.",
            Location(str(self.folder)),
        )

    def open_case(self, text: str) -> CaseFolder:
        """The case meant by a number as people say it: 26-014, 26-14, 014, 14.

        Raises:
            UsageError: no case number, or several cases fit.
            UnreadableError: no such case, or its folder is a link out of the casebook.
        """
        try:
            name = resolve(text, self.numbers(), self.year)
        except UnreadableError as error:
            raise UnreadableError(error.message, error.hint, Location(str(self.folder))) from None
        path = self.folder / name
        refuse_link(path)
        return CaseFolder(path, self.clock)

    def numbers(self) -> list[str]:
        """The numbers of all cases, oldest first; empty when there is no casebook yet.

        Raises:
            UnreadableError: the folder cannot be read.
        """
        try:
            names = self._names()
        except FileNotFoundError:
            return []
        except OSError as error:
            raise failure("be read as the casebook", self.folder, error) from None
        return sorted(names, key=lambda name: read_number(name) or (0, 0))

    def _names(self) -> list[str]:
        found = self.folder.iterdir()
        return [p.name for p in found if read_number(p.name) is not None and p.is_dir()]

    def cases(self) -> list[CaseLine]:
        """A line for each case, oldest first. One that cannot be read does not hide the others.

        Raises:
            UnreadableError: the folder cannot be read.
        """
        return [self._line(number) for number in self.numbers()]

    def _line(self, number: str) -> CaseLine:
        try:
            case = self.open_case(number).read()
        except DiagnoseError as error:
            return CaseLine(number, fault=error.message)
        return CaseLine(
            number,
            case.header.alias,
            case.header.at,
            case.last_at,
            sum(not a.unknown for a in case.answers.values()),
            len(case.results),
            case.settled.cause if case.settled else "",
        )
