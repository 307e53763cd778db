"""One line on where a case stands: the leaders, and how settled it is."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.interview.session import Session
from diagnose.reasoning.verdict import percent, word


@dataclass(frozen=True, slots=True)
class Status:
    """Leading kinds with their probability, in plain words; empty before anything is said.

    `kinds` is cut to those worth naming.
    """

    answered: int
    kinds: tuple[tuple[str, float], ...]

    @property
    def line(self) -> str:
        """The line shown under a question.

        >>> Status(3, (("plant virus", 0.62), ("spray", 0.2))).line
        'So far: plant virus possible (62 %), spray possible (20 %)'
        >>> Status(0, ()).line
        ''
        """
        if not self.kinds:
            return ""
        named = [f"{name} {word(p)} ({percent(p)})" for name, p in self.kinds]
        return "So far: " + ", ".join(named)


def status(session: Session) -> Status:
    """Where the session stands now; quiet until the opening has said something."""
    answered = sum(not a.unknown for a in session.answers.values())
    if not session.observations().informative() or answered < 3:
        return Status(answered, ())
    ranking = session.ranking()
    leading = [(k, p) for k, p in ranking.kind_leaders()[:2] if p >= 0.1]
    named = tuple((session.kb.kinds[k].name, p) for k, p in leading)
    return Status(answered, named)
