"""The one family of errors this program raises on purpose, and its exit codes.

Every known failure is a :class:`DiagnoseError` with a message, a remedy (`hint`), a place where
one is known, and the exit code the command line ends with. Anything else that escapes is a fault
in the program and ends with code 70.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum


class ExitCode(IntEnum):
    """Exit codes of the `diagnose` command; the README lists them and a test compares.

    >>> int(ExitCode.NEEDS_TERMINAL)
    5
    """

    FINE = 0
    FAULTS_FOUND = 1
    WRONG_USAGE = 2
    KNOWLEDGE_NOT_VALID = 3
    NOT_READABLE = 4
    NEEDS_TERMINAL = 5
    CASE_IN_USE = 6
    PROGRAM_FAULT = 70
    STOPPED_BY_USER = 130


EXIT_CODE_MEANINGS: dict[ExitCode, str] = {
    ExitCode.FINE: "fine, whatever the verdict",
    ExitCode.FAULTS_FOUND: "a check command found faults",
    ExitCode.WRONG_USAGE: "wrong usage: an unknown option, question, value or unit",
    ExitCode.KNOWLEDGE_NOT_VALID: "the knowledge is not valid",
    ExitCode.NOT_READABLE: "a file or case could not be read or written",
    ExitCode.NEEDS_TERMINAL: "answers are missing and there is no terminal to ask on",
    ExitCode.CASE_IN_USE: "the case is open in another window",
    ExitCode.PROGRAM_FAULT: "a fault in the program; a crash log is kept",
    ExitCode.STOPPED_BY_USER: "stopped by the user; everything answered is saved",
}


@dataclass(frozen=True, slots=True)
class Location:
    """A place in a file: line and column count from 1, 0 means unknown.

    >>> str(Location("causes/virus/x.yaml", 3, 5))
    'causes/virus/x.yaml:3:5'
    """

    path: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        return f"{self.path}:{self.line}:{self.column}" if self.line else self.path


class DiagnoseError(Exception):
    """A failure we know: what is wrong, what to do about it, where, and how to exit."""

    exit_code: ExitCode = ExitCode.NOT_READABLE

    def __init__(self, message: str, hint: str = "", location: Location | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint
        self.location = location

    def __str__(self) -> str:
        place = f"{self.location}: " if self.location else ""
        return f"{place}{self.message}"


class UsageError(DiagnoseError):
    """The words of the command or an answer do not fit."""

    exit_code = ExitCode.WRONG_USAGE


class UnreadableError(DiagnoseError):
    """A file, folder or case cannot be read or written."""

    exit_code = ExitCode.NOT_READABLE


class NeedsTerminalError(DiagnoseError):
    """Something must be asked and there is nobody to ask."""

    exit_code = ExitCode.NEEDS_TERMINAL


class CaseInUseError(DiagnoseError):
    """Another process is writing to the case."""

    exit_code = ExitCode.CASE_IN_USE


class StoppedByUser(Exception):
    """The user pressed Ctrl-C or asked to leave; carries how to go on."""

    def __init__(self, how_to_go_on: str = "") -> None:
        super().__init__(how_to_go_on)
        self.how_to_go_on = how_to_go_on
