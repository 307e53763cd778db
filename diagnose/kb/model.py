"""The knowledge as frozen objects. Nothing here reads files or computes.

Rates are probabilities between 0 and 1. Ids are lower_snake_case and unique within their kind.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from diagnose.kb.condition import Condition

PRESENT = "present"
ABSENT = "absent"
HowOften = Literal["always", "usually", "often", "sometimes", "rarely", "never"]
Form = Literal["choice", "tick", "measure", "crops", "inputs", "timeline", "words"]
Slip = Literal["low", "medium", "high"]
Seen = Literal["read", "memory"]
UNSOURCED = frozenset({"memory", "common_practice"})


@dataclass(frozen=True, slots=True)
class Cited:
    """Where a figure or statement comes from: source ids, and whether the text was seen."""

    sources: tuple[str, ...] = ()
    seen: Seen = "read"

    @property
    def from_memory(self) -> bool:
        """True when no published text stands behind it."""
        return self.seen == "memory" or set(self.sources) <= UNSOURCED


@dataclass(frozen=True, slots=True)
class Source:
    """A published source."""

    id: str
    publisher: str
    title: str
    year: str = ""
    url: str = ""


@dataclass(frozen=True, slots=True)
class Value:
    """One value of a finding; `below` is the upper edge of a band of a measure."""

    id: str
    label: str
    also_said: tuple[str, ...] = ()
    mistaken_for: tuple[str, ...] = ()
    below: float | None = None
    cited: Cited = Cited()


@dataclass(frozen=True, slots=True)
class Background:
    """How often each value is met among sick plants at large.

    `rates` in the order of the finding's values, summing to 1. `rates_by` replaces them where the
    finding `vary_by` has the value named.
    """

    rates: tuple[float, ...]
    vary_by: str = ""
    rates_by: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    cited: Cited = Cited()


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
    """What is asked, and which findings it settles. `effort` is 1, 2, 4 or 8."""

    id: str
    topic: str
    form: Form
    text: str
    why: str
    effort: int
    findings: tuple[str, ...]
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
    cited: Cited = Cited()
    file: str = ""


@dataclass(frozen=True, slots=True)
class Evidence:
    """How often a cause shows one value of a finding; `crops` limits it to those hurt crops."""

    finding: str
    value: str
    how_often: HowOften
    crops: tuple[str, ...] = ()
    note: str = ""
    cited: Cited = Cited()


@dataclass(frozen=True, slots=True)
class Rule:
    """A condition over findings with an effect on its cause."""

    id: str
    when: Condition
    effect: Literal["rules_out", "strongly_against", "against", "for", "strongly_for"]
    because: str
    cited: Cited = Cited()


@dataclass(frozen=True, slots=True)
class Hosts:
    """Which plants a cause hurts, and how far it reaches among them."""

    families: tuple[str, ...]
    reach: Literal["sweeping", "patchy", "single_plants"]
    crops: tuple[str, ...] = ()
    spared: tuple[str, ...] = ()
    sensitivity: str = ""
    cited: Cited = Cited()


@dataclass(frozen=True, slots=True)
class GoesWith:
    """A second cause that often comes along."""

    cause: str
    how_often: HowOften
    because: str = ""
    cited: Cited = Cited()


@dataclass(frozen=True, slots=True)
class Lookalike:
    """Another cause taken for this one, and the finding that tells them apart."""

    cause: str
    finding: str
    tell_apart: str
    cited: Cited = Cited()


@dataclass(frozen=True, slots=True)
class Example:
    """A case of our own making that the cause must win (`first`) or lose to `beaten_by`."""

    name: str
    answers: Mapping[str, object]
    expect: str = ""
    beaten_by: str = ""


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause of sick seedlings."""

    id: str
    name: str
    family: str
    kind: str
    status: Literal["draft", "reviewed", "settled", "retired"]
    how_common: str
    hosts: Hosts
    evidence: tuple[Evidence, ...]
    standard_term: str = ""
    also_said: tuple[str, ...] = ()
    about: str = ""
    how_common_sources: tuple[str, ...] = ()
    regulated: bool = False
    replaced_by: str = ""
    rules: tuple[Rule, ...] = ()
    goes_with: tuple[GoesWith, ...] = ()
    lookalikes: tuple[Lookalike, ...] = ()
    confirm: tuple[str, ...] = ()
    actions: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    prospects: str = ""
    cautions: tuple[str, ...] = ()
    examples: tuple[Example, ...] = ()
    file: str = ""


@dataclass(frozen=True, slots=True)
class Grade:
    """How sensitive a crop is to a group of substances or a stress."""

    grade: Literal["high", "moderate", "low", "tolerant", "uncertain"]
    note: str = ""
    cited: Cited = Cited()


@dataclass(frozen=True, slots=True)
class Oddity:
    """A normal look that is taken for a disorder."""

    text: str
    cited: Cited = Cited()


@dataclass(frozen=True, slots=True)
class Crop:
    """A crop, flower, weed or tree."""

    id: str
    name: str
    family: str
    also_said: tuple[str, ...] = ()
    grows_as: str = "vegetable"
    sensitivity: Mapping[str, Grade] = field(default_factory=dict)
    oddities: tuple[Oddity, ...] = ()
    file: str = ""


@dataclass(frozen=True, slots=True)
class Input:
    """Something added to mix, ground or water."""

    id: str
    name: str
    tags: tuple[str, ...]
    residue_risk: Literal["high", "medium", "low", "none"]
    why: str
    also_said: tuple[str, ...] = ()
    how_residue_gets_in: str = ""
    nutrients: str = ""
    cited: Cited = Cited()
    file: str = ""


@dataclass(frozen=True, slots=True)
class HalfLife:
    """Days until half is gone, lowest and highest published, and under what conditions."""

    days: tuple[float, float]
    where: str
    cited: Cited = Cited()


@dataclass(frozen=True, slots=True)
class HarmLevel:
    """The lowest level published to hurt a crop."""

    crop: str
    level: float
    unit: str
    note: str = ""
    cited: Cited = Cited()


@dataclass(frozen=True, slots=True)
class Substance:
    """An active ingredient, by its ISO common name."""

    id: str
    name: str
    group: str
    uses: str = ""
    half_lives: tuple[HalfLife, ...] = ()
    lowest_harmful: tuple[HarmLevel, ...] = ()
    cited: Cited = Cited()
    file: str = ""


@dataclass(frozen=True, slots=True)
class Harm:
    """Under this cause the action makes things worse."""

    cause: str
    because: str
    cited: Cited = Cited()


@dataclass(frozen=True, slots=True)
class Action:
    """Something to do. `always` marks what serves every case from the first day."""

    id: str
    theme: str
    text: str
    effort: Literal["minutes", "hour", "day"]
    reversible: bool
    why: str = ""
    always: bool = False
    harms: tuple[Harm, ...] = ()
    cautions: tuple[str, ...] = ()
    cited: Cited = Cited()
    file: str = ""


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning that prints beside the advice, or at once when its condition holds."""

    id: str
    text: str
    show: Literal["at_once", "beside"]
    when: Condition | None = None
    cited: Cited = Cited()
    file: str = ""


@dataclass(frozen=True, slots=True)
class Kind:
    """What several causes look alike as."""

    id: str
    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Named:
    """An id with a name: a family, a slot, an event."""

    id: str
    name: str
    also_said: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OpeningStep:
    """One screen of the opening."""

    title: str
    questions: tuple[str, ...]


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


@dataclass(frozen=True, slots=True)
class Knowledge:
    """The whole book, read-only. Every mapping is by id, in file order."""

    version: str
    digest: str
    sources: Mapping[str, Source]
    findings: Mapping[str, Finding]
    questions: Mapping[str, Question]
    causes: Mapping[str, Cause]
    retired: Mapping[str, Cause]
    tests: Mapping[str, Test]
    crops: Mapping[str, Crop]
    inputs: Mapping[str, Input]
    substances: Mapping[str, Substance]
    actions: Mapping[str, Action]
    cautions: Mapping[str, Caution]
    derived: Mapping[str, DerivedRecipe]
    kinds: Mapping[str, Kind]
    families: Mapping[str, Named]
    botanical_families: Mapping[str, Named]
    slots: Mapping[str, Named]
    events: Mapping[str, Named]
    sensitivity_groups: Mapping[str, Named]
    groups: Mapping[str, tuple[str, ...]]
    opening: tuple[OpeningStep, ...]
    at_hand: Mapping[str, str]

    def question_of(self, finding: str) -> Question | None:
        """The question that settles a finding; None for tests and derived findings."""
        return self.questions.get(self.findings[finding].home)
