"""An earlier answer as the lines it would be typed as, to be kept with Enter or changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diagnose.interview.answers import DONT_KNOW
from diagnose.kb.model import Knowledge

UNKNOWN_LINE, NOTHING_LINE = "don't know", "nothing"


def crop_lines(kb: Knowledge, raw: Any) -> tuple[str, str]:
    """The lines for hurt crops and for all others.

    >>> from diagnose.kb.load import load
    >>> crop_lines(load(), {"tomato": "hurt", "kale": "fine_elsewhere"})
    ('Tomato', 'Kale or collards fine elsewhere')
    """
    if raw == DONT_KNOW:
        return UNKNOWN_LINE, UNKNOWN_LINE
    hurt = [kb.crops[c].name for c, state in raw.items() if state == "hurt"]
    others = [
        kb.crops[c].name + ("" if state == "fine_beside" else f" {state.replace('_', ' ')}")
        for c, state in raw.items()
        if state != "hurt"
    ]
    return _joined(hurt), _joined(others)


def input_line(kb: Knowledge, raw: Any, slot: str) -> str:
    """The line for what went to one place."""
    if raw == DONT_KNOW or slot not in raw:
        return UNKNOWN_LINE
    return _joined([input_words(kb, row) for row in raw[slot]])


def input_words(kb: Knowledge, row: Any) -> str:
    """One input as it would be typed.

    >>> from diagnose.kb.load import load
    >>> input_words(load(), {"input": "hay", "source": "farm", "when": "in March"})
    'Hay or haylage from farm in March'
    """
    if isinstance(row, str):
        return kb.inputs[row].name
    source = f"from {row['source']}" if "source" in row else ""
    return " ".join(filter(None, (kb.inputs[row["input"]].name, source, row.get("when", ""))))


def timeline_lines(kb: Knowledge, raw: Any) -> tuple[str, str]:
    """The lines for the last good day and for all events at once."""
    told: Mapping[str, Any] = {} if raw == DONT_KNOW else raw
    events = [
        f"{kb.events[e['event']].name}{' again' if e.get('again') else ''} {e.get('when', '')}"
        for e in told.get("events", ())
    ]
    return told.get("last_right", UNKNOWN_LINE), "; ".join(e.strip() for e in events) or "done"


def _joined(names: Sequence[str]) -> str:
    return ", ".join(names) or NOTHING_LINE
