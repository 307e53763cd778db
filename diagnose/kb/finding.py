"""What is asked, and what it finds: findings, questions, tests, and recipes for derived findings.

Rates are probabilities between 0 and 1.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from diagnose.kb.cited import UNCITED, Cited
from diagnose.kb.condition import Condition

PRESENT = "present"
ABSENT = "absent"
Form = Literal["choice", "tick", "measure", "crops", "inputs", "timeline", "words"]
Slip = Literal["low", "medium", "high"]


@dataclass(frozen=True, slots=True)
class Value:
    """One value of a finding; `below` is the upper edge of a band of a measure."""

    id: str
    label: str
    also_said: tuple[str, ...] = ()
    mistaken_for: tuple[str, ...] = ()
    below: float | None = None
    cited: Cited = UNCITED


@dataclass(frozen=True, slots=True)
class Background:
    """How often each value is met among sick plants at large.

    `rates` in the order of the finding's values, summing to 1. `rates_by` replaces them where the
    finding `vary_by` has the value named.
    """

    rates: tuple[float, ...]
    vary_by: str = ""
    rates_by: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    cited: Cited = UNCITED


@dataclass(frozen=True, slots=True)
class Finding:
    """Something seen, measured or known. `home` is its question or test, or "derived"."""

    id: str
    name: str
    values: tuple[Value, ...]
    background: Background
    home: str
    form: Literal["tick", "choice", "measure", "test", "derived"]
    normal: str = ""
    standard_term: str = ""
    also_said: tuple[str, ...] = ()
    slip: Slip = "medium"
    seen_by: Literal["anyone", "trained_eye"] = "anyone"
    mistaken_for: tuple[str, ...] = ()
    how_to_look: str = ""
    unit: str = ""
    other_units: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    plausible: tuple[float, float] = (float("-inf"), float("inf"))

    @property
    def value_ids(self) -> tuple[str, ...]:
        """Ids of its values, in order."""
        return tuple(value.id for value in self.values)

    def index(self, value: str) -> int:
        """Position of a value.

        Raises:
            ValueError: when there is no such value.
        """
        return self.value_ids.index(value)

    def label(self, value: str) -> str:
        """Label of a value."""
        return self.values[self.index(value)].label


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked, and which findings it settles. `effort` is 1, 2, 4 or 8.

    `about` names what it is about in a few words, for the list of what a grower could tell;
    `brought_up_by` holds the words in a story that bring it up.
    """

    id: str
    topic: str
    form: Form
    text: str
    why: str
    effort: int
    findings: tuple[str, ...]
    about: str = ""
    brought_up_by: tuple[str, ...] = ()
    help: str = ""
    needs: tuple[str, ...] = ()
    applies_when: Condition | None = None
    file: str = ""


@dataclass(frozen=True, slots=True)
class Test:
    """A test a grower or a laboratory can do. Its finding has the test's own id."""

    __test__ = False  # not a pytest class

    id: str
    name: str
    how: tuple[str, ...]
    effort: int
    days: tuple[float, float]
    cost: Literal["free", "cheap", "moderate", "laboratory"]
    needs: tuple[str, ...] = ()
    why: str = ""
    limits: str = ""
    settles: bool = False
    applies_when: Condition | None = None
    cautions: tuple[str, ...] = ()
    cited: Cited = UNCITED
    file: str = ""


@dataclass(frozen=True, slots=True)
class DerivedRecipe:
    """How a derived finding is worked out from answers."""

    finding: str
    function: Literal[
        "any_input_with",
        "families_hurt_at_least",
        "hurt_in",
        "fine_beside_in",
        "only_crop_hurt",
        "days_after",
    ]
    tags: tuple[str, ...] = ()
    slots: tuple[str, ...] = ()
    sources_of: tuple[str, ...] = ()
    count: int = 0
    families: tuple[str, ...] = ()
    group: str = ""
    grades: tuple[str, ...] = ()
    events: tuple[str, ...] = ()
