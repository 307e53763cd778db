"""Ranks an old case under today's knowledge and says what moved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from diagnose.casebook.store import Casebook
from diagnose.interview.session import Session
from diagnose.kb.model import Knowledge
from diagnose.reasoning.rank import Ranker
from diagnose.reasoning.verdict import percent
from diagnose.report.document import build
from diagnose.report.keep import kept_result

MOVED = 0.05


@dataclass(frozen=True, slots=True)
class Rechecked:
    """An old case anew: the fresh document, the kept one if any, and plain messages."""

    number: str
    fresh: dict[str, Any]
    kept: dict[str, Any] | None
    messages: list[str]

    def lines(self) -> list[str]:
        """What moved, in plain lines."""
        now = self.fresh["verdict"]
        out = [f"Case {self.number} today: {now['text']}"]
        if self.kept is not None:
            old = self.kept["knowledge"]
            out.append(f"  Saved under knowledge {old['version']} ({old['digest']}):")
            out.append(f"  {self.kept['verdict']['text']}")
            moved = moves(self.kept, self.fresh)
            out += [f"  {line}" for line in moved] or ["  Nothing moved by 5 % or more."]
        out += [f"  Not carried over: {m}" for m in self.messages]
        return out


def moves(old: dict[str, Any], new: dict[str, Any]) -> list[str]:
    """Causes whose probability moved by .05 or more, the largest move first.

    >>> a = {"causes": [{"id": "x", "name": "X", "probability": 0.2}]}
    >>> b = {"causes": [{"id": "x", "name": "X", "probability": 0.7}]}
    >>> moves(a, b)
    ['X: 20 % then, 70 % now']
    """
    then = {c["id"]: c["probability"] for c in old["causes"]}
    now = {c["id"]: c["probability"] for c in new["causes"]}
    names = {c["id"]: c["name"] for c in (*old["causes"], *new["causes"])}
    rows = [(i, then.get(i, 0.0), now.get(i, 0.0)) for i in names]
    rows = [row for row in rows if abs(row[1] - row[2]) >= MOVED]
    rows.sort(key=lambda row: -abs(row[1] - row[2]))
    return [f"{names[i]}: {percent(a)} then, {percent(b)} now" for i, a, b in rows]


def recheck(book: Casebook, number: str, kb: Knowledge, ranker: Ranker) -> Rechecked:
    """Rank one case again; nothing kept is changed.

    Raises:
        UnreadableError: no such case, or it is damaged.
    """
    folder = book.open_case(number)
    case = folder.read()
    session: Session
    session, lost = case.to_session(kb, ranker=ranker)
    fresh = build(session, case=case.number, alias=case.header.alias)
    return Rechecked(case.number, fresh, kept_result(folder), [*case.messages, *lost])
