"""Plants, inputs and substances; actions and cautions; names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from diagnose.kb.cited import UNCITED, Cited
from diagnose.kb.condition import Condition


@dataclass(frozen=True, slots=True)
class Grade:
    """How sensitive a crop is to a group of substances or a stress."""

    grade: Literal["high", "moderate", "low", "tolerant", "uncertain"]
    note: str = ""
    cited: Cited = UNCITED


@dataclass(frozen=True, slots=True)
class Oddity:
    """A normal look that is taken for a disorder."""

    text: str
    cited: Cited = UNCITED


@dataclass(frozen=True, slots=True)
class Crop:
    """A crop, flower, weed or tree; or several that were not named, which others stand for."""

    id: str
    name: str
    family: str
    also_said: tuple[str, ...] = ()
    grows_as: str = "vegetable"
    sensitivity: Mapping[str, Grade] = field(default_factory=dict)
    oddities: tuple[Oddity, ...] = ()
    stands_for: tuple[str, ...] = ()
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
    cited: Cited = UNCITED
    file: str = ""


@dataclass(frozen=True, slots=True)
class HalfLife:
    """Days until half is gone, lowest and highest published, and under what conditions."""

    days: tuple[float, float]
    where: str
    cited: Cited = UNCITED


@dataclass(frozen=True, slots=True)
class HarmLevel:
    """The lowest level published to hurt a crop."""

    crop: str
    level: float
    unit: str
    note: str = ""
    cited: Cited = UNCITED


@dataclass(frozen=True, slots=True)
class Substance:
    """An active ingredient, by its ISO common name."""

    id: str
    name: str
    group: str
    uses: str = ""
    half_lives: tuple[HalfLife, ...] = ()
    lowest_harmful: tuple[HarmLevel, ...] = ()
    cited: Cited = UNCITED
    file: str = ""


@dataclass(frozen=True, slots=True)
class Harm:
    """Under this cause the action makes things worse."""

    cause: str
    because: str
    cited: Cited = UNCITED


@dataclass(frozen=True, slots=True)
class Action:
    """Something to do. `always` marks what serves every case from the first day.

    `excludes` names actions that would contradict it.
    """

    id: str
    theme: str
    text: str
    effort: Literal["minutes", "hour", "day"]
    reversible: bool
    why: str = ""
    always: bool = False
    harms: tuple[Harm, ...] = ()
    excludes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    cited: Cited = UNCITED
    file: str = ""


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning that prints beside the advice, or at once when its condition holds.

    `beside` is the calmer text of an at_once caution when its condition does not hold.
    """

    id: str
    text: str
    show: Literal["at_once", "beside"]
    when: Condition | None = None
    beside: str = ""
    cited: Cited = UNCITED
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
