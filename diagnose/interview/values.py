"""Reads the single values answers are made of: names, numbers, dates, text.

Each reader refuses what does not fit with a UsageError that says what would.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from typing import Any

from diagnose.errors import UsageError
from diagnose.kb import match
from diagnose.kb.model import Finding, Knowledge

LONGEST_TEXT = 10_000


def one_of(what: str, given: Any, known: Sequence[str]) -> str:
    """A value out of a closed list.

    Raises:
        UsageError: naming the nearest and all there are. So for every reader below.
    """
    if isinstance(given, str) and given in known:
        return given
    near = match.nearest(str(given), known)
    hint = f"Did you mean '{near[0]}'? " if near else ""
    raise UsageError(f"{what}: '{given}' is not known here", f"{hint}Known: {', '.join(known)}.")


def keys(what: str, raw: Any, known: Sequence[str]) -> Mapping[str, Any]:
    """A mapping with known keys only."""
    if not isinstance(raw, Mapping):
        raise UsageError(f"{what}: a mapping is needed", f"Its keys are: {', '.join(known)}.")
    for key in raw:
        one_of(f"{what}: key", key, known)
    return raw


def listed(what: str, raw: Mapping[str, Any], key: str) -> list[Any]:
    """A list under a key; empty when the key is missing."""
    rows = raw.get(key)
    if rows is None:
        return []
    if not isinstance(rows, list):
        raise UsageError(f"{what}: {key} is '{rows}'", "Write a list, like [first, second].")
    return rows


_NUMBER = re.compile(r"\s*([-+]?\d+(?:[.,]\d+)?)\s*(.*?)\s*")


def read_number(finding: Finding, raw: Any) -> float:
    """A number with its unit, converted to the unit of the finding.

    Raises:
        UsageError: no number, an unknown unit, or a value no meter would show.

    >>> from diagnose.kb.load import load
    >>> read_number(load().findings["ec_1to2"], "2100 uS/cm")
    2.1
    """
    if isinstance(raw, bool) or not isinstance(raw, int | float | str):
        raise UsageError(f"{finding.name}: a number is needed", f"For example: 1 {finding.unit}.")
    hit = _NUMBER.fullmatch(str(raw))
    if not hit:
        raise UsageError(
            f"{finding.name}: '{raw}' is not a number", f"For example: 1 {finding.unit}."
        )
    if re.fullmatch(r"[-+]?[1-9]\d{0,2},\d{3}", hit[1]):
        # A comma parts thousands in some countries and decimals in others: a wrong guess is
        # wrong by a factor of a thousand.
        whole, point = hit[1].replace(",", ""), hit[1].replace(",", ".")
        raise UsageError(f"{finding.name}: is {hit[1]} {whole} or {point}?", "Write one of these.")
    number, unit = float(hit[1].replace(",", ".")), hit[2]
    if unit and unit.casefold() != finding.unit.casefold():
        spelled = {u.casefold(): rule for u, rule in finding.other_units.items()}
        if unit.casefold() not in spelled:
            units = ", ".join([finding.unit, *finding.other_units])
            raise UsageError(f"{finding.name}: the unit '{unit}' is not known", f"Use: {units}.")
        factor, offset = spelled[unit.casefold()]
        number = number * factor + offset
    number = round(number, 6)
    low, high = finding.plausible
    if not low <= number <= high:
        raise UsageError(
            f"{finding.name}: {number:g} {finding.unit} cannot be right",
            f"Values from {low:g} to {high:g} {finding.unit} are possible. Check the unit.",
        )
    return number


def twice(kb: Knowledge, crop: str) -> UsageError:
    """What to say when a crop is named in two states."""
    return UsageError(
        f"crops: {kb.crops[crop].name} is named twice, in two states",
        "A crop with any hurt plant is hurt. Name it once.",
    )


def find_name(what: str, name: Any, names: Mapping[str, Sequence[str]]) -> str:
    """The id of a typed name when it is sure.

    Raises:
        UsageError: naming what comes near.
    """
    found = match.find(str(name), names)
    if found and found[0].score >= match.SURE:
        return found[0].id
    near = " or ".join(names[m.id][min(1, len(names[m.id]) - 1)] for m in found[:3])
    hint = f"Did you mean {near}?" if near else "Leave it out, or see `diagnose kb list`."
    raise UsageError(f"{what}: '{name}' is not in the book", hint)


def read_date(what: str, raw: Any) -> dt.date:
    """A date written 2026-04-20.

    Raises:
        UsageError: anything else.

    >>> read_date("x", "2026-04-20").day
    20
    """
    try:
        return dt.date.fromisoformat(str(raw))
    except ValueError:
        raise UsageError(
            f"{what}: '{raw}' is no date", "Write year-month-day, like 2026-04-20."
        ) from None


_UNSAFE = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


def clean_text(text: str) -> str:
    r"""Text with control and direction characters taken out, and cut to a fair length.

    >>> clean_text("red\x1b[31m leaf")
    'red[31m leaf'
    """
    return _UNSAFE.sub("", text)[:LONGEST_TEXT].strip()
