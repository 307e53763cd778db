"""Reads typed lines into raw answers: the same words work in the interview and in --answer.

choice    spring                              value id, or its label
tick      gnats_seen, aphids_seen             ids or names; "none" = looked, none there
measure   2.1 mS/cm
crops     tomato hurt, pepper hurt, sweetcorn fine
inputs    mix: bought potting mix, own compost; mulch: straw from farm; water: mains
timeline  right until 2026-04-20; sprayed by others 2026-04-22; potted on 3 weeks ago
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from typing import Any

from diagnose.errors import UsageError
from diagnose.interview.answers import DONT_KNOW, NONE_LOOKED, find_question
from diagnose.interview.dates import split_before, split_date
from diagnose.interview.values import find_name, twice
from diagnose.kb import match
from diagnose.kb.model import Knowledge, Question

UNKNOWN_WORDS = {
    *("dont know", "don t know", "do not know", "unknown", "dk", "no idea", "not sure", "unsure"),
    *("i dont know", "i don t know", "i do not know", "i m not sure", "no clue"),
    *("dunno", "n a", "na", "no idea at all", "cannot say", "can t say"),
}
NOTHING_WORDS = {"nothing", "none", "no", "nil", "none of these", "nothing else"}
STATE_WORDS = {
    "hurt": "hurt",
    "sick": "hurt",
    "bad": "hurt",
    "fine": "fine_beside",
    "sound": "fine_beside",
    "ok": "fine_beside",
    "healthy": "fine_beside",
    "fine beside": "fine_beside",
    "fine elsewhere": "fine_elsewhere",
    "elsewhere": "fine_elsewhere",
    "not grown": "not_grown",
}


def is_unknown(text: str) -> bool:
    """Whether a typed line means "don't know".

    >>> is_unknown("Don't know"), is_unknown("donkey")
    (True, False)
    """
    return match.plain(text) in UNKNOWN_WORDS or bool(re.fullmatch(r"\s*\?+\s*", text))


def is_nothing(text: str) -> bool:
    """Whether a typed line means "nothing, none of these".

    >>> is_nothing("None!"), is_nothing("-"), is_nothing("nothing new")
    (True, True, False)
    """
    return match.plain(text) in NOTHING_WORDS or text.strip() == "-"


def read_typed(kb: Knowledge, id_: str, text: str, today: dt.date) -> Any:
    """Turn a typed line into the raw answer of its question.

    Raises:
        UsageError: when the line cannot be understood, with the nearest names.

    >>> from diagnose.kb.load import load
    >>> read_typed(load(), "crops", "tomatoes hurt, sweetcorn fine", dt.date(2026, 5, 1))
    {'tomato': 'hurt', 'sweetcorn': 'fine_beside'}
    """
    if is_unknown(text):
        return DONT_KNOW
    if id_ in kb.tests:
        finding = kb.findings[id_]
        return pick(id_, text, {v.id: (v.id, v.label, *v.also_said) for v in finding.values})
    question = find_question(kb, id_)
    if question.form == "choice":
        finding = kb.findings[question.findings[0]]
        names = {v.id: (v.id, v.label, *v.also_said) for v in finding.values}
        return either(id_, text, names)
    if question.form == "tick":
        return _ticks(kb, question, text)
    if question.form == "crops":
        return read_crops(kb, text)
    if question.form == "inputs":
        return _inputs(kb, text)
    if question.form == "timeline":
        return read_timeline(kb, text, today)
    return text


def pick(what: str, text: str, names: Mapping[str, Sequence[str]]) -> str:
    """The id meant by a typed value, out of a short list.

    Raises:
        UsageError: naming every id there is.
    """
    try:
        return find_name(what, text, names)
    except UsageError:
        near = [m.id for m in match.find(text, names, 1)]
        hint = f"Did you mean '{near[0]}'? " if near else ""
        raise UsageError(
            f"{what}: '{text}' is not known here", f"{hint}Known: {', '.join(names)}."
        ) from None


def either(what: str, text: str, names: Mapping[str, Sequence[str]]) -> str | list[str]:
    """The id meant by a typed value, or the ids of those it may be ("spring or summer").

    Raises:
        UsageError: naming every id there is.
    """
    try:
        return pick(what, text, names)
    except UsageError:
        parts = re.split(r"\s+or\s+", text.strip(), flags=re.I)
        if len(parts) == 1:
            raise
        return [pick(what, part, names) for part in parts]


def _ticks(kb: Knowledge, question: Question, text: str) -> Any:
    if is_nothing(text):
        return NONE_LOOKED
    findings = [kb.findings[f] for f in question.findings]
    names = {f.id: tuple(filter(None, (f.id, f.name, *f.also_said))) for f in findings}
    return {"ticked": [pick(question.id, part, names) for part in split(text, names)]}


_SEPARATOR = re.compile(r"[,;\n]|\band\b", re.I)


def split(text: str, names: Mapping[str, Sequence[str]] | None = None) -> list[str]:
    """Typed names, split at commas, semicolons and "and", but never inside a known name.

    >>> split("tomato, pepper and  leek")
    ['tomato', 'pepper', 'leek']
    >>> split("mustard and cress, leek", {"cress": ("cress", "mustard and cress")})
    ['mustard and cress', 'leek']
    """
    whole = [w for words in (names or {}).values() for w in words if _SEPARATOR.search(w)]
    kept: list[str] = []

    def keep(hit: re.Match[str]) -> str:
        kept.append(hit[0])
        return f"\0{len(kept) - 1}\0"

    text = text.replace("\0", " ")
    for name in sorted(whole, key=len, reverse=True):
        text = re.sub(re.escape(name), keep, text, flags=re.I)
    parts = [re.sub(r"\0(\d+)\0", lambda hit: kept[int(hit[1])], p) for p in _SEPARATOR.split(text)]
    return [part.strip() for part in parts if part.strip()]


def read_crops(kb: Knowledge, text: str, state: str = "") -> dict[str, str]:
    """Typed crops with how they are; `state` is taken where a crop says nothing itself."""
    names = match.crop_names(kb)
    result: dict[str, str] = {}
    for part in split(text, names):
        name, own = _state(part)
        chosen = own or state
        if not chosen:
            raise UsageError(
                f"crops: is '{part}' hurt or sound?", "Write: tomato hurt, sweetcorn fine."
            )
        crop = find_name("crops", name, names)
        if result.setdefault(crop, chosen) != chosen:
            raise twice(kb, crop)
    return result


def _state(part: str) -> tuple[str, str]:
    words = re.split(r"[\s=:]+", part.strip())
    for count in (2, 1):
        tail = match.plain(" ".join(words[-count:]))
        state = STATE_WORDS.get(tail)
        if state and len(words) > count:
            return " ".join(words[:-count]), state
    return part, ""


_FROM = re.compile(
    r"(?P<name>.+?) from (?:(?:a|an|the|my) )?"
    r"(?P<source>own|home|shop|bought|farm|stable|gift|friend|neighbour|neighbor|unknown)\b(?P<when>.*)",
    re.I,
)
SOURCE_WORDS = {
    "home": "own",
    "shop": "bought",
    "stable": "farm",
    "friend": "gift",
    "neighbour": "gift",
    "neighbor": "gift",
}


def read_inputs(kb: Knowledge, what: str, text: str) -> list[Any]:
    """Typed inputs, each found for sure, with where from and when if that is said.

    >>> from diagnose.kb.load import load
    >>> read_inputs(load(), "mix", "peat, horse manure from the farm in March")
    ['peat', {'input': 'horse_manure', 'source': 'farm', 'when': 'in March'}]
    """
    names = match.input_names(kb)
    rows: list[Any] = []
    for part in split(text, names):
        hit = _FROM.fullmatch(part)
        if hit is None:
            rows.append(find_name(what, part, names))
            continue
        said = hit["source"].casefold()
        row = {"input": find_name(what, hit["name"], names)}
        row["source"] = SOURCE_WORDS.get(said, said)
        if when := hit["when"].strip(" ,"):
            row["when"] = when
        rows.append(row)
    return rows


def _inputs(kb: Knowledge, text: str) -> dict[str, Any]:
    slots = {s.id: (s.id, s.name) for s in kb.slots.values()} | {"none_of": ("none of", "none_of")}
    result: dict[str, Any] = {}
    for part in filter(None, (p.strip() for p in re.split(r"[;\n]", text))):
        slot, colon, rest = part.partition(":")
        if not colon:
            raise UsageError(
                f"inputs: where did '{part}' go?",
                f"Write the place first, like mix: own compost. Places: {', '.join(kb.slots)}.",
            )
        place = pick("inputs: place", slot, slots)
        if place == "none_of":
            result[place] = [p.strip() for p in split(rest)]
        elif is_nothing(rest):
            result[place] = []
        elif not is_unknown(rest):
            result[place] = read_inputs(kb, f"inputs: {place}", rest)
    return result


def read_timeline(kb: Knowledge, text: str, today: dt.date) -> dict[str, Any]:
    """A typed timeline: parts split at semicolons, each with a date at its end."""
    result: dict[str, Any] = {}
    events: list[dict[str, Any]] = []
    for part in filter(None, (p.strip() for p in re.split(r"[;\n]", text))):
        rest = _AGAIN.sub("", part)
        words, when = split_date(rest, today)
        words, earlier = split_before(words) if when is None else (words, None)
        if LAST_RIGHT.match(words):
            if when is None:
                raise UsageError(f"timeline: '{part}' has no date", "Like: right until 2026-04-20.")
            result["last_right"] = when.isoformat()
            continue
        event: dict[str, Any] = {"event": _event_name(kb, words)}
        if when is not None:
            event["when"] = when.isoformat()
        elif earlier is not None:
            event["when"] = f"{earlier} days before"
        if rest != part:
            event["again"] = True
        events.append(event)
    if events:
        result["events"] = events
    return result


LAST_RIGHT = re.compile(
    r"(they )?(last )?(looked )?(right|fine|ok|well)(\s+(until|till|on)\b.*)?$", re.I
)
# What went on repeatedly; it may stand before the date or after it.
_AGAIN = re.compile(r"[\s,]*\b(again( and again)?|often|daily|weekly|repeatedly)\b", re.I)


def _event_name(kb: Knowledge, name: str) -> str:
    names = match.event_names(kb)
    try:
        return find_name("timeline", name, names)
    except UsageError:
        if name.casefold().endswith(" on"):
            return find_name("timeline", name[:-3], names)
        raise
