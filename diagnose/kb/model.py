"""The knowledge as frozen objects; the parts are defined in the modules imported here.

Nothing here reads files or computes. Ids are lower_snake_case and unique within their kind.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.kb.cause import (
    Cause,
    CommonOn,
    Evidence,
    Example,
    GoesWith,
    Hosts,
    HowOften,
    Lookalike,
    Rule,
)
from diagnose.kb.cited import UNSOURCED, Cited, Seen, Source
from diagnose.kb.finding import (
    ABSENT,
    PRESENT,
    Background,
    DerivedRecipe,
    Finding,
    Form,
    Question,
    Slip,
    Test,
    Value,
)
from diagnose.kb.things import (
    Action,
    Caution,
    Crop,
    Grade,
    HalfLife,
    Harm,
    HarmLevel,
    Input,
    Kind,
    Named,
    Oddity,
    OpeningStep,
    Substance,
)

__all__ = [
    "ABSENT",
    "PRESENT",
    "UNSOURCED",
    "Action",
    "Background",
    "Cause",
    "Caution",
    "Cited",
    "CommonOn",
    "Crop",
    "DerivedRecipe",
    "Evidence",
    "Example",
    "Finding",
    "Form",
    "GoesWith",
    "Grade",
    "HalfLife",
    "Harm",
    "HarmLevel",
    "Hosts",
    "HowOften",
    "Input",
    "Kind",
    "Knowledge",
    "Lookalike",
    "Named",
    "Oddity",
    "OpeningStep",
    "Question",
    "Rule",
    "Seen",
    "Slip",
    "Source",
    "Substance",
    "Test",
    "Value",
]


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
