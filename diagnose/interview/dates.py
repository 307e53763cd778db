"""Reads dates as people type them: 2026-04-20, 20 April, "2 weeks ago", yesterday."""

from __future__ import annotations

import datetime as dt
import re

from diagnose.errors import UsageError

SHAPES = "Like 2026-04-20, 20 April, or 3 weeks ago."

_DAYS = {"day": 1, "week": 7, "month": 30}
_WORDS = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"]
_COUNTS = {"a": 1, "an": 1} | {word: n for n, word in enumerate(_WORDS, 1)}
_MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
# "on" stays with the words: it may belong to them, as in "potted on".
_LEAD = r"(?:\b(?:until|till|since|about)\b|:)?\s*(?:\bthe\s+)?"
_AGO = re.compile(
    rf"{_LEAD}(?<!\w)(?P<n>\d{{1,3}}|{'|'.join(_COUNTS)})\s+(?P<unit>day|week|month)s?\s+ago$", re.I
)
_BEFORE = re.compile(
    rf"{_LEAD}(?<!\w)(?P<n>\d{{1,3}}|{'|'.join(_COUNTS)})\s+(?P<unit>day|week|month)s?\s+before"
    r"(\s+(it|they|the first signs?|this|that)(\s+\w+)?)?$",
    re.I,
)
_ISO = re.compile(rf"{_LEAD}(?<!\w)(?P<date>\d{{4}}-\d{{1,2}}-\d{{1,2}})$", re.I)
_NEARBY = {"today": 0, "yesterday": 1, "last night": 1, "last week": 7}
_NEAR = re.compile(rf"{_LEAD}\b(?P<word>{'|'.join(_NEARBY)})$", re.I)
_NAMED = re.compile(
    rf"{_LEAD}(?<!\w)(?P<day>\d{{1,2}})(?:st|nd|rd|th)?\s+(?:of\s+)?(?P<month>{'|'.join(_MONTHS)})[a-z]*\.?"
    r"(?:,?\s+(?P<year>\d{4}))?$",
    re.I,
)


def split_date(text: str, today: dt.date) -> tuple[str, dt.date | None]:
    """Words and the date at their end; None when there is no date in a shape we know.

    A day and month without a year is the last one that was. "Ago" counts a month as 30 days.

    Args:
        text: words with a date at their end, or a date alone.
        today: the day "ago" counts from.

    Raises:
        UsageError: a date that does not exist or lies in the future.

    >>> split_date("potted on 2 weeks ago", dt.date(2026, 5, 15))
    ('potted on', datetime.date(2026, 5, 1))
    >>> split_date("right until 20 April", dt.date(2026, 5, 15))
    ('right', datetime.date(2026, 4, 20))
    """
    text = text.strip().rstrip(".")
    if hit := _AGO.search(text):
        many = hit["n"].lower()
        count = int(many) if many.isdecimal() else _COUNTS[many]
        when = today - dt.timedelta(days=count * _DAYS[hit["unit"].lower()])
    elif hit := _NEAR.search(text):
        when = today - dt.timedelta(days=_NEARBY[hit["word"].lower()])
    elif hit := _ISO.search(text):
        year, month, day = (int(n) for n in hit["date"].split("-"))
        when = _day(year, month, day, hit["date"])
    elif hit := _NAMED.search(text):
        when = _named(hit, today)
    else:
        return text, None
    return text[: hit.start()].strip(" ,:"), not_future(when, today)


def split_before(text: str) -> tuple[str, int | None]:
    """Words and the days at their end, counted back from the first sign; None when not so said.

    >>> split_before("sprayed by others 8 days before"), split_before("fed a week before it began")
    (('sprayed by others', 8), ('fed', 7))
    >>> split_before("potted on 3 weeks ago")
    ('potted on 3 weeks ago', None)
    """
    hit = _BEFORE.search(text.strip().rstrip("."))
    if not hit:
        return text, None
    many = hit["n"].lower()
    count = int(many) if many.isdecimal() else _COUNTS[many]
    return text[: hit.start()].strip(" ,:"), count * _DAYS[hit["unit"].lower()]


def days_before(text: str) -> int | None:
    """The days of a text that says nothing else, like "8 days before"; None otherwise."""
    words, days = split_before(text)
    return None if words else days


def not_future(when: dt.date, today: dt.date) -> dt.date:
    """The date, when it is not after today.

    Raises:
        UsageError: it lies in the future.
    """
    if when > today:
        raise UsageError(f"{when} lies in the future", f"Today is {today}. Check the year.")
    return when


def _named(hit: re.Match[str], today: dt.date) -> dt.date:
    month = _MONTHS.index(hit["month"].lower()) + 1
    day, told = int(hit["day"]), hit[0].strip()
    if hit["year"]:
        return _day(int(hit["year"]), month, day, told)
    # 29 February may need several years back.
    for year in range(today.year, today.year - 5, -1):
        try:
            when = dt.date(year, month, day)
        except ValueError:
            continue
        if when <= today:
            return when
    return _day(today.year, month, day, told)


def _day(year: int, month: int, day: int, told: str) -> dt.date:
    try:
        return dt.date(year, month, day)
    except ValueError:
        raise UsageError(f"'{told}' is no date", SHAPES) from None
