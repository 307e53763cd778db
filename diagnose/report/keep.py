"""Makes the result of a case and keeps it with the case."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from diagnose.casebook.folder import RESULT_NAME, CaseFolder
from diagnose.casebook.store import Casebook
from diagnose.errors import Location, UnreadableError
from diagnose.interview.session import Session
from diagnose.kb.model import Knowledge
from diagnose.report.document import FORMAT, build

NEEDED = frozenset({"verdict", "causes", "kinds", "tests", "actions", "cautions", "knowledge"})


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


def kept_result(folder: CaseFolder) -> dict[str, Any] | None:
    """The result kept with a case; None when there is none yet.

    Raises:
        UnreadableError: it is damaged, or of a format this program does not know.
    """
    document = folder.result()
    if document is None or (document.get("format") == FORMAT and document.keys() >= NEEDED):
        return document
    raise UnreadableError(
        "the kept result is not one this program can show",
        f"Move the file away, then make it anew: diagnose resume {folder.number} --no-input",
        Location(str(folder.path / RESULT_NAME)),
    )


def saved_result(
    book: Casebook, number: str, knowledge: Callable[[], Knowledge]
) -> tuple[dict[str, Any], list[str]]:
    """The result kept with a case, or a fresh one when there is none yet.

    Args:
        book: the casebook.
        number: the case.
        knowledge: loads the knowledge; asked only when there is no result to show, so that a
            book with faults never hides an old result.

    Returns:
        The document, and messages on what could not be carried over.

    Raises:
        UnreadableError: no such case, or it is damaged.
    """
    folder = book.open_case(number)
    kept = kept_result(folder)
    if kept is not None:
        again = f"diagnose resume {folder.number} --no-input"
        newer = folder.changed_since_result()
        return kept, [f"Answers came after this result. Rank them: {again}"] if newer else []
    case = folder.read()
    session, lost = case.to_session(knowledge())
    document = build(session, case=case.number, alias=case.header.alias)
    return document, [*case.messages, *lost]
