"""Loops a session over a screen and a journal: ask, check, write down, then go on.

The journal has every answer on disk before the next question is shown.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Any, Protocol

from diagnose.errors import DiagnoseError, StoppedByUser, UsageError
from diagnose.interview.answers import Answer
from diagnose.interview.journal import Journal
from diagnose.interview.offer import Offer
from diagnose.interview.session import Session
from diagnose.interview.status import Status, status
from diagnose.interview.step import Done, Step
from diagnose.kb.match import Sign
from diagnose.kb.model import Caution
from diagnose.kb.named import suspicion
from diagnose.reasoning.advice import at_once


class Move(Enum):
    """What a grower may do instead of answering."""

    BACK = "back"
    NOT_ASKED = "not asked"
    ENOUGH = "enough"
    LEAVE = "leave"


class Moved(Exception):
    """The grower chose to move while something was being asked."""

    def __init__(self, move: Move) -> None:
        super().__init__(move.value)
        self.move = move


@dataclass(frozen=True, slots=True)
class Given:
    """An answer as raw value."""

    raw: Any


class Screen(Protocol):
    """A way of asking. It shows help and reasons itself; it never decides anything."""

    def ask(self, step: Step, where: Status) -> Given | Move:
        """Show one question and wait."""

    def offer(self, offer: Offer, where: Status) -> tuple[str, ...] | Move:
        """Lay out what could be asked; ids of what the grower can tell about."""

    def confirm(self, signs: list[Sign]) -> list[Sign]:
        """Which of the signs read out of the grower's own words are right.

        Raises:
            Moved: back to say it anew, or out.
        """

    def complain(self, error: UsageError) -> None:
        """Say what is wrong with an answer, and how to put it right."""

    def warn(self, cautions: list[Caution]) -> None:
        """Show cautions that cannot wait."""


def run(session: Session, screen: Screen, journal: Journal) -> Done:
    """Ask until the session is done.

    Raises:
        StoppedByUser: when the grower saves and leaves.
    """
    warned: set[str] = set()
    while True:
        step = session.next_step()
        if isinstance(step, Done):
            return step
        reply: Given | Move | None
        if isinstance(step, Offer):
            reply = _offered(session, screen, journal, step)
        else:
            reply = screen.ask(step, status(session))
        if isinstance(step, Step) and isinstance(reply, Given):
            try:
                _take(session, screen, journal, step, reply.raw)
            except Moved as moved:
                if moved.move is Move.BACK:
                    continue
                reply = moved.move
        if reply is None:
            continue
        if isinstance(reply, Given):
            urgent = [c for c in at_once(session.kb, session.observations()) if c.id not in warned]
            if urgent:
                warned.update(c.id for c in urgent)
                screen.warn(urgent)
        elif reply is Move.BACK:
            last = session.back()
            if last is not None:
                journal.withdrawn(last)
        elif reply is Move.NOT_ASKED:
            session.skip(step.id)
            journal.skipped(step.id)
        elif reply is Move.ENOUGH:
            session.stop()
        else:
            raise StoppedByUser


def _offered(session: Session, screen: Screen, journal: Journal, offer: Offer) -> Move | None:
    """Take what is picked from an offer; "not asked" has all of it asked one by one."""
    reply = screen.offer(offer, status(session))
    if isinstance(reply, Move) and reply is not Move.NOT_ASKED:
        return reply
    picked = offer.taking(None if isinstance(reply, Move) else reply)
    journal.picked(offer.id, picked)
    session.pick(offer.id, picked)
    return None


def _take(session: Session, screen: Screen, journal: Journal, step: Step, raw: Any) -> None:
    """Check an answer; write it down; only then let it count."""
    id_ = step.question.id
    if step.question.form == "words" and isinstance(raw, dict) and "confirmed" not in raw:
        from diagnose.kb.match import signs

        found = signs(session.kb, str(raw.get("text", "")))
        try:
            right = screen.confirm(found) if found else []
        except (Moved, DiagnoseError, KeyboardInterrupt) as out:
            # Whoever leaves here must not have to type it all again.
            if not (isinstance(out, Moved) and out.move is Move.BACK):
                _keep(session, journal, session.read(id_, {**raw, "confirmed": []}))
            raise
        # One value a finding: the first is the one that fits best.
        values = {s.finding: s.value for s in reversed(right)}
        raw = {**raw, "confirmed": [f"{f}={v}" for f, v in sorted(values.items())]}
        if suspects := suspicion(str(raw.get("text", ""))):
            raw["suspects"] = suspects
    try:
        answer = session.read(id_, raw)
    except UsageError as error:
        screen.complain(error)
        return
    _keep(session, journal, answer)


def _keep(session: Session, journal: Journal, answer: Answer) -> None:
    journal.answered(answer)
    session.apply(answer)
