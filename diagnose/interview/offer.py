"""The offer: what is worth asking, laid out at once, to pick what one can tell about.

Many growers have seen little and hold no plant in their hand. Asked one by one they say "don't
know" in a row and give up; shown the subjects, they go straight to what they know.
"""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.kb.model import Question

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
