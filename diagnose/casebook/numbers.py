"""Case numbers one can say aloud: the year and a running number, 26-014.

Only digits and one dash are ever let through, so nothing typed can name a place outside the
casebook.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from diagnose.errors import UnreadableError, UsageError
from diagnose.kb import match

_NUMBER = re.compile(r"([0-9]{2})-([0-9]{3,6})")
_TYPED = re.compile(r"(?:([0-9]{2})-)?([0-9]{1,6})|([0-9]{1,2}-)")
LISTED = 5


def write_number(year: int, count: int) -> str:
    """A case number.

    >>> write_number(2026, 14)
    '26-014'
    """
    return f"{year % 100:02d}-{count:03d}"


def read_number(name: str) -> tuple[int, int] | None:
    """Year and running number of a case number, None for any other text; sorts by age.

    >>> read_number("26-014"), read_number("26-14"), read_number("../26-014")
    ((26, 14), None, None)
    """
    hit = _NUMBER.fullmatch(name)
    if hit is None:
        return None
    number = int(hit[1]), int(hit[2])
    return number if write_number(*number) == name else None


def next_count(names: Iterable[str], year: int) -> int:
    """The running number after the last one of a year.

    >>> next_count(["26-013", "26-002", "25-090", "notes"], 2026)
    14
    """
    taken = [n[1] for n in map(read_number, names) if n is not None and n[0] == year % 100]
    return max(taken, default=0) + 1


def resolve(text: str, names: Sequence[str], year: int) -> str:
    """The case meant by a number as people say it.

    In this order: the number itself with or without leading noughts (26-014, 26-14); the running
    number alone, of this year, else of the one other year that has it (14, 014); the beginning of
    just one number (26-01, 25-).

    Args:
        text: as typed.
        names: the numbers of the cases there are.
        year: this year.

    Raises:
        UsageError: no case number, or several cases fit.
        UnreadableError: no such case; names the nearest.

    >>> resolve("14", ["25-014", "26-014", "26-114"], 2026)
    '26-014'
    >>> resolve("26-1", ["26-014", "26-114"], 2026)
    '26-114'
    """
    typed = text.strip()
    hit = _TYPED.fullmatch(typed)
    if hit is None:
        raise UsageError(
            f"'{typed[:40]}' is no case number",
            "They look like 26-014, or 14 for short. `diagnose cases list` shows them.",
        )
    numbers = {n: name for name in names if (n := read_number(name)) is not None}
    if hit[2]:
        count = int(hit[2])
        own = int(hit[1]) if hit[1] else year % 100
        if (own, count) in numbers:
            return numbers[own, count]
        fits = [] if hit[1] else [name for n, name in numbers.items() if n[1] == count]
        if fits:
            return _only(typed, fits)
    fits = [name for name in numbers.values() if name.startswith(typed)]
    if fits:
        return _only(typed, fits)
    near = match.nearest(typed, numbers.values()) or sorted(numbers.values())[-LISTED:]
    if near:
        hint = f"Nearest: {', '.join(near)}. `diagnose cases list` shows all."
    else:
        hint = "There are no cases here yet. Begin one with `diagnose interview`."
    raise UnreadableError(f"there is no case '{typed}'", hint)


def _only(typed: str, fits: Sequence[str]) -> str:
    if len(fits) == 1:
        return fits[0]
    shown = ", ".join(sorted(fits)[:LISTED]) + (", ..." if len(fits) > LISTED else "")
    raise UsageError(f"'{typed}' fits {len(fits)} cases: {shown}", "Type the whole number.")
