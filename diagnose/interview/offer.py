"""The offer: what is worth asking, laid out at once, to pick what one can tell about.

Many growers have seen little and hold no plant in their hand. Asked one by one they say "don't
know" in a row and give up; shown the subjects, they go straight to what they know.
"""

from __future__ import annotations

from collections.abc import Set
from dataclasses import dataclass

from diagnose.kb.model import Knowledge, Question
from diagnose.reasoning.question import Gain
from diagnose.reasoning.settings import Settings

# Under this name, with a number, an offer stands in the journal.
OFFER = "can_tell_"
TEXT = "Which of these could you tell me about? Tick all you know or can look at now."
WHY = "Only what you tick is asked. The rest is passed over, and counts for nothing."
HOW = "If a plant stands before you, tick what you could look at. Nothing is decided here."
BROUGHT_UP = "you spoke of it"
TICKED = "Ticked already is what you spoke of."


@dataclass(frozen=True, slots=True)
class Offer:
    """What could be asked now: what the grower's story brings up, then what is worth most.

    `id` is the offer's name in the journal, `brought_up` the questions the story speaks of.
    """

    id: str
    questions: tuple[Question, ...]
    brought_up: frozenset[str] = frozenset()

    def taking(self, ids: tuple[str, ...] | None = None) -> Picked:
        """What is picked; all of it when nothing is named."""
        offered = tuple(q.id for q in self.questions)
        return Picked(offered, offered if ids is None else ids)


@dataclass(frozen=True, slots=True)
class Picked:
    """What a grower made of an offer: ids offered, ids picked."""

    offered: tuple[str, ...]
    picked: tuple[str, ...]

    @property
    def passed(self) -> tuple[str, ...]:
        """Ids offered and not picked.

        >>> Picked(("roots", "air"), ("air",)).passed
        ('roots',)
        """
        return tuple(q for q in self.offered if q not in self.picked)


def lay_out(
    kb: Knowledge, gains: list[Gain], told: Set[str], number: int, settings: Settings
) -> Offer | None:
    """What is worth asking, by topic; None when that would save no question.

    Args:
        kb: the knowledge, in whose order questions are laid out.
        gains: questions that may be asked now, by falling worth.
        told: questions the story brings up: these come first, worth much or not.
        number: which offer of the interview it is, from 1.
        settings: what is worth asking, how many are laid out, and how few are not.

    >>> from diagnose.kb.load import load
    >>> from diagnose.reasoning.settings import DEFAULT
    >>> kb = load()
    >>> gains = [Gain(q, 1.0, 1.0) for q in kb.questions]
    >>> offer = lay_out(kb, gains, {"sprays"}, 1, DEFAULT)
    >>> offer.id, offer.questions[0].id, len(offer.questions) == DEFAULT.offered
    ('can_tell_1', 'sprays', True)
    """
    worth = [g.id for g in gains if g.per_effort >= settings.worth_asking]
    if len(worth) < settings.offered_least:
        return None
    first = [g.id for g in gains if g.id in told]
    ids = list(dict.fromkeys(first + worth))[: settings.offered]
    brought_up = frozenset(first).intersection(ids)
    questions = [q for q in kb.questions.values() if q.id in ids]
    questions.sort(key=lambda q: q.id not in brought_up)
    return Offer(f"{OFFER}{number}", tuple(questions), brought_up)
