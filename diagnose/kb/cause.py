"""A cause of sick seedlings, and all that is said of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from diagnose.kb.cited import UNCITED, Cited
from diagnose.kb.condition import Condition

HowOften = Literal["always", "usually", "often", "sometimes", "rarely", "never"]


@dataclass(frozen=True, slots=True)
class Evidence:
    """How often a cause shows one value of a finding; `crops` limits it to those hurt crops."""

    finding: str
    value: str
    how_often: HowOften
    crops: tuple[str, ...] = ()
    note: str = ""
    cited: Cited = UNCITED


@dataclass(frozen=True, slots=True)
class Rule:
    """A condition over findings with an effect on its cause."""

    id: str
    when: Condition
    effect: Literal["rules_out", "strongly_against", "against", "for", "strongly_for"]
    because: str
    cited: Cited = UNCITED


@dataclass(frozen=True, slots=True)
class Hosts:
    """Which plants a cause hurts, and how far it reaches among them."""

    families: tuple[str, ...]
    reach: Literal["sweeping", "patchy", "single_plants"]
    crops: tuple[str, ...] = ()
    spared: tuple[str, ...] = ()
    sensitivity: str = ""
    cited: Cited = UNCITED


@dataclass(frozen=True, slots=True)
class CommonOn:
    """How common a cause is among the cases brought with these crops, where that differs."""

    crops: tuple[str, ...]
    how_common: str
    cited: Cited = UNCITED


@dataclass(frozen=True, slots=True)
class GoesWith:
    """A second cause that often comes along."""

    cause: str
    how_often: HowOften
    because: str = ""
    cited: Cited = UNCITED


@dataclass(frozen=True, slots=True)
class Lookalike:
    """Another cause taken for this one, and the finding that tells them apart."""

    cause: str
    finding: str
    tell_apart: str
    cited: Cited = UNCITED


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
    told_as: tuple[str, ...] = ()
    how_common_sources: tuple[str, ...] = ()
    how_common_on: tuple[CommonOn, ...] = ()
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
