"""Makes the result of a case and keeps it with the case."""

from __future__ import annotations

from typing import Any

from diagnose.casebook.folder import CaseFolder
from diagnose.casebook.store import Casebook
from diagnose.interview.session import Session
from diagnose.kb.model import Knowledge
from diagnose.report.document import build


def keep_result(
    folder: CaseFolder | None, session: Session, *, reason: str = "", alias: str = ""
) -> dict[str, Any]:
    """Build the result document of a session; save it when there is a case to save it in.

    Raises:
        UnreadableError: it cannot be written.
    """
    case = folder.number if folder else ""
    document = build(session, reason=reason, case=case, alias=alias)
    if folder is not None:
        folder.save_result(document)
    return document


def saved_result(book: Casebook, number: str, kb: Knowledge) -> tuple[dict[str, Any], list[str]]:
    """The result kept with a case, or a fresh one when there is none yet.

    Returns:
        The document, and messages on what could not be carried over.

    Raises:
        UnreadableError: no such case, or it is damaged.
    """
    folder = book.open_case(number)
    kept = folder.result()
    if kept is not None:
        return kept, []
    case = folder.read()
    session, lost = case.to_session(kb)
    document = build(session, case=case.number, alias=case.header.alias)
    return document, [*case.messages, *lost]
