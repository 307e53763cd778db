"""Derived findings: worked out from the crops, inputs and timeline answers.

A closed list of functions, all three-valued: a silent slot, an unnamed crop or an undated event
leaves the finding unknown; nothing is inferred from silence.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnose.kb.model import ABSENT, PRESENT, DerivedRecipe, Knowledge
from diagnose.reasoning.observations import FINE_BESIDE, HURT
from diagnose.reasoning.report import Report, days_between, said


@dataclass(frozen=True, slots=True)
class InputUsed:
    """One input in one slot; `source` is own, bought, farm, gift or unknown."""

    input: str
    slot: str
    source: str = "unknown"
    when: str = ""
    on: str = ""


@dataclass(frozen=True, slots=True)
class InputsAnswer:
    """What went in.

    `spoken` slots were answered, even with nothing; `none_of` holds input tags or ids said not to
    have been used.
    """

    used: tuple[InputUsed, ...] = ()
    spoken: frozenset[str] = frozenset()
    none_of: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened; `day` counts days (any fixed start), `again` means repeatedly."""

    kind: str
    day: int | None
    again: bool = False


@dataclass(frozen=True, slots=True)
class TimelineAnswer:
    """Last day the plants looked right, and what happened."""

    last_right: int | None = None
    events: tuple[Event, ...] = ()
    none_of: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Structured:
    """The three answers derived findings are worked out from."""

    crops: Mapping[str, str] = field(default_factory=dict)
    inputs: InputsAnswer = InputsAnswer()
    timeline: TimelineAnswer = TimelineAnswer()


def derive(kb: Knowledge, given: Structured) -> list[Report]:
    """Reports for every derived finding that is known.

    >>> from diagnose.kb.load import load
    >>> kb = load()
    >>> found = derive(kb, Structured(crops={"tomato": "hurt", "sweetcorn": "fine_beside"}))
    >>> [r.value for r in found if r.finding == "grasses_sound"]
    ['present']
    """
    reports = []
    for recipe in kb.derived.values():
        report = _one(kb, recipe, given)
        if report is not None:
            reports.append(report)
    return reports


def _one(kb: Knowledge, recipe: DerivedRecipe, given: Structured) -> Report | None:
    finding = kb.findings[recipe.finding]
    if recipe.function == "days_after":
        days = _delay(recipe, given.timeline)
        return None if days is None else days_between(finding, days)
    truth = _TRUTHS[recipe.function](kb, recipe, given)
    return None if truth is None else said(finding, PRESENT if truth else ABSENT)


def _any_input(kb: Knowledge, recipe: DerivedRecipe, given: Structured) -> bool | None:
    wanted = set(recipe.tags)
    answer = given.inputs
    for used in answer.used:
        item = kb.inputs.get(used.input)
        fits = item is not None and wanted.intersection(item.tags)
        sources = not recipe.sources_of or used.source in recipe.sources_of
        if fits and used.slot in recipe.slots and sources:
            return True
    carriers = {i.id for i in kb.inputs.values() if wanted.intersection(i.tags)}
    denied = wanted <= answer.none_of or (carriers and carriers <= answer.none_of)
    if denied or set(recipe.slots) <= answer.spoken:
        return False
    return None


def _families(kb: Knowledge, given: Structured, status: str) -> set[str]:
    named = (kb.crops[c].family for c, s in given.crops.items() if s == status and c in kb.crops)
    return set(named)


def _families_hurt(kb: Knowledge, recipe: DerivedRecipe, given: Structured) -> bool | None:
    hurt = _families(kb, given, HURT)
    # Several kinds that were not named one by one are two families at least.
    several = [c for c, s in given.crops.items() if s == HURT and c in kb.crops]
    hurt |= {f"another like {c}" for c in several if kb.crops[c].stands_for}
    if len(hurt) >= recipe.count:
        return True
    # Fewer can be said only when enough other families stand beside and are sound.
    known = hurt | _families(kb, given, FINE_BESIDE)
    return False if hurt and len(known) >= recipe.count else None


def _hurt_in(kb: Knowledge, recipe: DerivedRecipe, given: Structured) -> bool | None:
    families = set(recipe.families)
    if families & _families(kb, given, HURT):
        return True
    return False if families & _families(kb, given, FINE_BESIDE) else None


def _fine_beside_in(kb: Knowledge, recipe: DerivedRecipe, given: Structured) -> bool | None:
    statuses = set()
    for id_, status in given.crops.items():
        crop = kb.crops.get(id_)
        if crop is None or status not in (HURT, FINE_BESIDE):
            continue
        in_family = not recipe.families or crop.family in recipe.families
        grade = crop.sensitivity.get(recipe.group)
        in_group = not recipe.group or (grade is not None and grade.grade in recipe.grades)
        if in_family and in_group:
            statuses.add(status)
    if not statuses:
        return None
    return FINE_BESIDE in statuses


def _only_crop(kb: Knowledge, recipe: DerivedRecipe, given: Structured) -> bool | None:
    hurt = [c for c, s in given.crops.items() if s == HURT]
    fine = [c for c, s in given.crops.items() if s == FINE_BESIDE]
    if len(hurt) > 1 or any(kb.crops[c].stands_for for c in hurt if c in kb.crops):
        return False
    return True if hurt and fine else None


def _delay(recipe: DerivedRecipe, answer: TimelineAnswer) -> float | None:
    """Days from the latest fitting event to the first sign; None when undated or repeated.

    The first sign is taken to show the day after the plants last looked right.
    """
    if answer.last_right is None:
        return None
    fitting = [e for e in answer.events if e.kind in recipe.events]
    if any(e.again or e.day is None for e in fitting) or not fitting:
        return None
    delays = [answer.last_right + 1 - e.day for e in fitting if e.day is not None]
    before = [d for d in delays if d >= 0]
    return float(min(before) if before else max(delays))


_TRUTHS = {
    "any_input_with": _any_input,
    "families_hurt_at_least": _families_hurt,
    "hurt_in": _hurt_in,
    "fine_beside_in": _fine_beside_in,
    "only_crop_hurt": _only_crop,
}
