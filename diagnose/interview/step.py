"""What the session hands to a screen: a question to show, or word that nothing more is asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnose.interview.answers import Answer
from diagnose.kb.model import Question
from diagnose.reasoning.question import Gain
from diagnose.reasoning.verdict import Stop


@dataclass(frozen=True, slots=True)
class Step:
    """What to ask now: one question, where it stands, and why it was chosen.

    `number` of `total` counts the opening steps; chosen questions have total 0. `told` maps its
    findings that the grower confirmed in own words to the value said. `before` is the answer that
    going back took away. `named` are crops out of the grower's own words, where crops are asked.
    """

    question: Question
    title: str
    number: int
    total: int
    gain: Gain | None = None
    told: Mapping[str, str] = field(default_factory=dict)
    before: Answer | None = None
    named: tuple[str, ...] = ()
    phone: bool = False

    @property
    def id(self) -> str:
        """The question asked."""
        return self.question.id


@dataclass(frozen=True, slots=True)
class Done:
    """Nothing more is asked."""

    stop: Stop
