"""A case: what counts now, worked out by replaying its journal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from diagnose.casebook.carry import carry_over
from diagnose.casebook.reading import Contents
from diagnose.casebook.record import Event, Header, Recorded, recorded_from
from diagnose.errors import Location, UnreadableError
from diagnose.interview.answers import Answer
from diagnose.interview.offer import Picked
from diagnose.interview.session import Session, new_session
from diagnose.interview.values import clean_text
from diagnose.kb.model import Knowledge
from diagnose.reasoning.rank import Ranker


@dataclass(frozen=True, slots=True)
class Note:
    """A remark and when it was made."""

    at: str
    text: str


@dataclass(frozen=True, slots=True)
class Settled:
    """The cause found in the end, and by what."""

    at: str
    cause: str
    by: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """An interview rebuilt from a case.

    Fields:
        session: the interview.
        lost: a plain sentence for each thing that could not be carried over.
        renamed: answers by their old question, where they now stand under another.
    """

    session: Session
    lost: list[str]
    renamed: dict[str, Answer]


@dataclass(slots=True)
class Case:
    """The net state of a case.

    Fields:
        number: what the case is called, its folder's name.
        shown: questions in the order first shown, as the interview keeps them.
        skipped: questions left unasked.
        offers: what was laid out to pick from, and what was picked.
        results: test results by test; never taken back by going back, only by name.
        settled: the cause found in the end, or None.
        phone: the last sitting was by phone.
        version, digest: the knowledge of the last sitting.
        last_at: time of the last entry, UTC.
        messages: what the reader of the journal should be told.
    """

    number: str
    header: Header
    version: str
    digest: str
    phone: bool = False
    shown: list[str] = field(default_factory=list)
    skipped: list[str] = field(default_factory=list)
    results: dict[str, Recorded] = field(default_factory=dict)
    offers: dict[str, Picked] = field(default_factory=dict)
    notes: list[Note] = field(default_factory=list)
    settled: Settled | None = None
    last_at: str = ""
    messages: list[str] = field(default_factory=list)
    _answers: dict[str, Recorded] = field(default_factory=dict)

    @property
    def answers(self) -> dict[str, Recorded]:
        """The answers that count, by question, in the order the questions were first shown."""
        return {q: self._answers[q] for q in self.shown if q in self._answers}

    def to_session(
        self, kb: Knowledge, *, ranker: Ranker | None = None
    ) -> tuple[Session, list[str]]:
        """The interview rebuilt under a knowledge, today's or another.

        Raw answers are read anew. Where a question has moved or is gone, what it said about
        findings the book still has is kept. Such answers, and test results, count but are not
        among the questions shown, so that going back never takes one away.

        Args:
            kb: the knowledge.
            ranker: one made from it, to save making it anew for each of many cases.

        Returns:
            The session, and one plain sentence for each thing that could not be carried over.
        """
        rebuilt = self.rebuild(kb, ranker=ranker)
        return rebuilt.session, rebuilt.lost

    def rebuild(self, kb: Knowledge, *, ranker: Ranker | None = None) -> Rebuilt:
        """The same as `to_session`, with the answers that were found under another question."""
        given, found = self.answers, self.results
        carried, lost = carry_over([*given.values(), *found.values()], kb)
        session = new_session(kb) if ranker is None else Session(ranker)
        session.phone = self.phone
        for old in self.shown:
            if old in given and old in carried:
                session.apply(carried[old])
            elif old in self.skipped and old in kb.questions:
                session.skip(old)
            elif old in self.offers:
                session.pick(old, _still_there(self.offers[old], kb))
        for test in found:
            if test in carried:
                session.apply(carried[test])
        renamed = {q: carried[q] for q in given if q in carried and carried[q].question != q}
        return Rebuilt(session, lost, renamed)


def _still_there(told: Picked, kb: Knowledge) -> Picked:
    """An offer without the questions the book no longer has."""
    offered = tuple(q for q in told.offered if q in kb.questions)
    return Picked(offered, tuple(q for q in told.picked if q in kb.questions))


def replay(contents: Contents) -> Case:
    """Work out what counts now.

    Raises:
        UnreadableError: an entry lacks what it must have, with its line.
    """
    header = contents.header
    case = Case(contents.path.parent.name, header, header.version, header.digest, header.phone)
    case.messages = list(contents.messages)
    case.last_at = header.at
    for event in contents.events:
        step = _STEPS.get(event.event)
        if step is None:
            case.messages.append(
                f"An entry of a kind this program does not know was passed over: "
                f"'{clean_text(event.event)}' (line {event.line})."
            )
            continue
        try:
            step(case, event)
        except (KeyError, TypeError, ValueError, AttributeError):
            raise UnreadableError(
                f"this line is damaged: an entry '{event.event}' lacks what it must hold",
                f"Restore this case from a backup, or move line {event.line} into another "
                "file: every other answer stays.",
                Location(str(contents.path), event.line),
            ) from None
        case.last_at = event.at
    return case


def _answered(case: Case, event: Event) -> None:
    said = recorded_from(event)
    case._answers[said.question] = said
    if said.question in case.skipped:
        case.skipped.remove(said.question)
    if said.question not in case.shown:
        case.shown.append(said.question)


def _withdrawn(case: Case, event: Event) -> None:
    question = _text(event.data, "question", needed=True)
    case._answers.pop(question, None)
    case.results.pop(question, None)
    case.offers.pop(question, None)
    for kept in (case.skipped, case.shown):
        if question in kept:
            kept.remove(question)


def _skipped(case: Case, event: Event) -> None:
    question = _text(event.data, "question", needed=True)
    for kept in (case.skipped, case.shown):
        if question not in kept:
            kept.append(question)


def _picked(case: Case, event: Event) -> None:
    offer = _text(event.data, "offer", needed=True)
    case.offers[offer] = Picked(_texts(event.data["offered"]), _texts(event.data["picked"]))
    if offer not in case.shown:
        case.shown.append(offer)


def _result(case: Case, event: Event) -> None:
    said = recorded_from(event)
    case.results[said.question] = said


def _settled(case: Case, event: Event) -> None:
    cause = _text(event.data, "cause")
    by, note = _text(event.data, "by"), _text(event.data, "note")
    case.settled = Settled(event.at, cause, by, note) if cause else None


def _note(case: Case, event: Event) -> None:
    case.notes.append(Note(event.at, _text(event.data, "text", needed=True)))


def _resumed(case: Case, event: Event) -> None:
    case.phone = event.data.get("phone") is True
    knowledge = event.data["knowledge"]
    case.version, case.digest = _text(knowledge, "version"), _text(knowledge, "digest")


def _text(data: Mapping[str, Any], key: str, *, needed: bool = False) -> str:
    value = data[key] if needed else data.get(key, "")
    if not isinstance(value, str):
        raise TypeError(key)
    return clean_text(value)


def _texts(value: Any) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
        raise TypeError("a list of texts is needed")
    return tuple(clean_text(v) for v in value)


_STEPS = {
    "answered": _answered,
    "withdrawn": _withdrawn,
    "skipped": _skipped,
    "picked": _picked,
    "result": _result,
    "settled": _settled,
    "note": _note,
    "resumed": _resumed,
}
