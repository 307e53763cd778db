"""Reads a journal, and puts a torn last line aside.

A program or a computer that stops in the middle of a write can leave half a last line. That line
was never acknowledged, so it is cut off, kept in a file of its own, and said. Damage anywhere else
is never passed over.
"""

from __future__ import annotations

import itertools
import json
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from diagnose.casebook.files import OPEN_FLAGS, failure, read_bytes, refuse_link, write_new
from diagnose.casebook.record import FORMAT, Event, Header, header_from
from diagnose.errors import Location, UnreadableError

TORN_NAME = "journal.torn-"
CUT_SHORT = "The last entry was cut short: the program or the computer stopped while saving it."


@dataclass(frozen=True, slots=True)
class Contents:
    """A journal as read.

    Fields:
        torn: the bytes of a torn last line, left out of `events`; empty when there is none.
        length: bytes of the file before the torn line.
        messages: what else the reader should be told, in plain words.
    """

    path: Path
    header: Header
    events: tuple[Event, ...]
    messages: tuple[str, ...]
    torn: bytes
    length: int

    @property
    def next_n(self) -> int:
        """The number of the next event."""
        return self.events[-1].n + 1 if self.events else 1


def read_contents(path: Path) -> Contents:
    """Read a journal without changing it.

    Raises:
        UnreadableError: missing, damaged before its last line, or written by a newer program.
    """
    data = read_bytes(path)
    if not data.strip():
        _fault(path, 0, "this case was never begun: its journal is empty")
    *whole, tail = data.split(b"\n")
    records: list[tuple[int, dict[str, Any]]] = []
    torn = tail
    for i, line in enumerate(whole):
        last = i == len(whole) - 1 and not tail.strip()
        if not line.strip():
            continue
        try:
            record = _json(line)
        except (ValueError, RecursionError):
            if not last or not records:
                _fault(path, i + 1, "this line is damaged: it is not JSON")
            torn = data[sum(len(w) + 1 for w in whole[:i]) :]
            continue
        if not isinstance(record, dict):
            _fault(path, i + 1, "this line is damaged: it is no entry")
        records.append((i + 1, record))
    if not records:
        _fault(path, 1, "this line is damaged: the case was never begun properly")
    header = _header(path, records[0])
    events = tuple(_event(path, line, record) for line, record in records[1:])
    messages = (*_gaps(events), *_renamed(path, header))
    return Contents(path, header, events, messages, torn, len(data) - len(torn))


def cut_torn_tail(contents: Contents) -> str:
    """Move the torn last line into a file of its own. The caller holds the lock of the case.

    Returns:
        What to tell the user; empty when nothing was torn.

    Raises:
        UnreadableError: it could not be put aside; the journal is then untouched.
    """
    if not contents.torn:
        return ""
    path = contents.path
    refuse_link(path)
    try:
        for n in itertools.count(1):
            aside = path.with_name(f"{TORN_NAME}{n}")
            if write_new(aside, contents.torn):
                break
        file = os.open(path, os.O_WRONLY | OPEN_FLAGS)
        try:
            os.ftruncate(file, contents.length)
            os.fsync(file)
        finally:
            os.close(file)
    except OSError as error:
        raise failure("be mended", path, error) from None
    return f"{CUT_SHORT} It was put aside in {aside.name}; please answer that question again."


def _json(line: bytes) -> Any:
    def refuse(word: str) -> NoReturn:
        raise ValueError(word)

    # The first line may carry the mark some editors put before UTF-8.
    return json.loads(line.decode("utf-8-sig"), parse_constant=refuse)


def _header(path: Path, numbered: tuple[int, dict[str, Any]]) -> Header:
    line, record = numbered
    number = record.get("format")
    if type(number) is not int:
        _fault(path, line, "this line is damaged: it is no head of a journal")
    if number > FORMAT:
        raise UnreadableError(
            f"this case was written by a newer program (journal format {number}; "
            f"this program reads up to {FORMAT})",
            "Update the program (`pip install --upgrade seedling-diagnose`) and open it again.",
            Location(str(path), line),
        )
    try:
        return header_from(record)
    except (KeyError, TypeError):
        _fault(path, line, "this line is damaged: the head of the journal is incomplete")


def _event(path: Path, line: int, record: dict[str, Any]) -> Event:
    n, at, event = record.pop("n", None), record.pop("at", None), record.pop("event", None)
    if type(n) is not int or not isinstance(at, str) or not isinstance(event, str):
        _fault(path, line, "this line is damaged: number, time or kind is missing")
    return Event(n, at, event, record, line)


def _gaps(events: tuple[Event, ...]) -> list[str]:
    """Entries somebody took out; they may be meant, so they are said and no more."""
    found = []
    for before, event in itertools.pairwise((0, *(e.n for e in events))):
        if event > before + 1:
            span = f"{before + 1}" if event == before + 2 else f"{before + 1} to {event - 1}"
            found.append(f"Missing from the journal, as if taken out by hand: entry {span}.")
    return found


def _renamed(path: Path, header: Header) -> list[str]:
    folder = path.parent.name
    if folder == header.case:
        return []
    return [f"The folder is called {folder}, but its journal was begun as case {header.case}."]


def _fault(path: Path, line: int, message: str) -> NoReturn:
    if line <= 1:
        hint = "Restore this case from a backup; without its first line it cannot be read."
    else:
        hint = (
            f"Restore this case from a backup, or move line {line} into another file: "
            "every other answer stays."
        )
    raise UnreadableError(message, hint, Location(str(path), line))
