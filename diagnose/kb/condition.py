"""Conditions over findings: what rules and `applies_when` are written in.

Three-valued: true, false, or None when the findings it reads are unknown.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

# Looks a finding up: its value id when known (and, for a measure, the number), else None.
Known = Callable[[str], "tuple[str, float | None] | None"]
Form = Literal["all", "any", "not", "at_least", "is", "above", "below"]


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition; `form` says which of the other fields count.

    Fields:
        parts: the conditions inside `all`, `any`, `not`, `at_least`.
        count: how many parts of `at_least` must hold.
        finding, values: for `is`.
        limit: for `above` and `below`, in the unit of the measured finding.
    """

    form: Form
    parts: tuple[Condition, ...] = ()
    count: int = 0
    finding: str = ""
    values: tuple[str, ...] = ()
    limit: float = 0.0

    def findings(self) -> Iterator[str]:
        """Every finding the condition reads."""
        if self.finding:
            yield self.finding
        for part in self.parts:
            yield from part.findings()

    def leaves(self) -> Iterator[Condition]:
        """Every `is`, `above` or `below` inside."""
        if self.finding:
            yield self
        for part in self.parts:
            yield from part.leaves()

    def holds(self, known: Known) -> bool | None:
        """Evaluate: True, False, or None where unknown findings leave it open.

        >>> wet = condition_from({"finding": "mix_wet", "is": "present"})
        >>> old = condition_from({"finding": "bag_age", "above": 12})
        >>> facts = {"mix_wet": ("present", None)}
        >>> wet.holds(facts.get), old.holds(facts.get)
        (True, None)
        >>> condition_from({"any": [{"finding": "mix_wet", "is": "present"},
        ...                         {"finding": "bag_age", "above": 12}]}).holds(facts.get)
        True
        """
        if self.finding:
            return self._leaf(known(self.finding))
        truths = [part.holds(known) for part in self.parts]
        if self.form == "not":
            return None if truths[0] is None else not truths[0]
        sure, open_ = truths.count(True), truths.count(None)
        need = {"all": len(truths), "any": 1}.get(self.form, self.count)
        if sure >= need:
            return True
        return None if sure + open_ >= need else False

    def _leaf(self, fact: tuple[str, float | None] | None) -> bool | None:
        if fact is None:
            return None
        value, number = fact
        if self.form == "is":
            return value in self.values
        if number is None:
            return None
        return number > self.limit if self.form == "above" else number < self.limit


def condition_from(raw: Mapping[str, Any]) -> Condition:
    """Build a condition from its YAML mapping.

    Raises:
        ValueError: when the mapping is not exactly one of the seven forms.
    """
    keys = set(raw)
    if keys in ({"all"}, {"any"}):
        form: Form = "all" if "all" in keys else "any"
        return Condition(form, tuple(condition_from(part) for part in raw[form]))
    if keys == {"not"}:
        return Condition("not", (condition_from(raw["not"]),))
    if keys == {"at_least"}:
        inner = raw["at_least"]
        parts = tuple(condition_from(part) for part in inner["of"])
        return Condition("at_least", parts, count=inner["count"])
    if keys == {"finding", "is"}:
        values = raw["is"] if isinstance(raw["is"], list) else [raw["is"]]
        return Condition("is", finding=raw["finding"], values=tuple(values))
    for side in ("above", "below"):
        if keys == {"finding", side}:
            limit = float(raw[side])
            return Condition(side, finding=raw["finding"], limit=limit)
    raise ValueError(
        "a condition is one of: all, any, not, at_least, or finding with is, above or below"
    )
