"""Builds questions, tests and findings from plain documents held to their schema."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diagnose.kb import model as m
from diagnose.kb.condition import Condition, condition_from

Plain = Mapping[str, Any]

YES_NO = (m.Value(m.PRESENT, "Yes"), m.Value(m.ABSENT, "No"))


def cited(raw: Plain) -> m.Cited:
    """Sources and mark of a row.

    >>> cited({"sources": ["memory"]}).from_memory
    True
    """
    return m.Cited(tuple(raw.get("sources", ())), raw.get("seen", "read"))


def texts(raw: Plain, key: str) -> tuple[str, ...]:
    """A list of texts as a tuple, empty when the key is missing."""
    return tuple(raw.get(key, ()))


def condition(raw: Plain, key: str) -> Condition | None:
    """A condition, or None when the key is missing."""
    return condition_from(raw[key]) if key in raw else None


def rates(raw: Mapping[str, float], ids: Sequence[str]) -> tuple[float, ...]:
    """Rates in the order of `ids`; values not named share what is left evenly.

    >>> rates({"present": 0.1}, ["present", "absent"])
    (0.1, 0.9)
    """
    left = max(0.0, 1.0 - sum(raw.values()))
    unnamed = [i for i in ids if i not in raw]
    share = left / len(unnamed) if unnamed else 0.0
    full = [float(raw.get(i, share)) for i in ids]
    total = sum(full) or 1.0
    return tuple(round(rate / total, 12) for rate in full)


def background(raw: Plain, ids: Sequence[str]) -> m.Background:
    """Background rates of a finding."""
    by = {key: rates(row, ids) for key, row in raw.get("rates_by", {}).items()}
    return m.Background(rates(raw["rates"], ids), raw.get("vary_by", ""), by, cited(raw))


def values(raw: Sequence[Plain]) -> tuple[m.Value, ...]:
    """Values or bands of a finding."""
    return tuple(
        m.Value(
            v["id"],
            v["label"],
            texts(v, "also_said"),
            texts(v, "mistaken_for"),
            float(v["below"]) if "below" in v else None,
            cited(v),
        )
        for v in raw
    )


def finding(raw: Plain, home: str, form: str, its_values: tuple[m.Value, ...]) -> m.Finding:
    """A finding from its block in a question, test or the derived list."""
    units = {
        u["unit"]: (float(u["factor"]), float(u.get("offset", 0)))
        for u in raw.get("other_units", ())
    }
    low, high = raw.get("plausible", (float("-inf"), float("inf")))
    return m.Finding(
        id=raw["id"],
        name=raw["name"],
        values=its_values,
        background=background(raw["background"], [v.id for v in its_values]),
        home=home,
        form=form,  # type: ignore[arg-type]
        normal=raw.get("normal", m.ABSENT if form == "tick" else ""),
        standard_term=raw.get("standard_term", ""),
        also_said=texts(raw, "also_said"),
        slip=raw.get("slip", "medium"),
        seen_by=raw.get("seen_by", "anyone"),
        mistaken_for=texts(raw, "mistaken_for"),
        how_to_look=raw.get("how_to_look", ""),
        unit=raw.get("unit", ""),
        other_units=units,
        plausible=(float(low), float(high)),
    )


def question(raw: Plain, file: str) -> tuple[m.Question, list[m.Finding]]:
    """A question and the findings it settles."""
    form = raw["form"]
    found: list[m.Finding] = []
    if form == "tick":
        found = [finding(f, raw["id"], "tick", YES_NO) for f in raw["tick"]]
    elif form == "choice":
        block = raw["choice"]
        found = [finding(block, raw["id"], "choice", values(block["values"]))]
    elif form == "measure":
        block = raw["measure"]
        found = [finding(block, raw["id"], "measure", values(block["bands"]))]
    result = m.Question(
        id=raw["id"],
        topic=file.split("/")[1],
        form=form,
        text=raw["text"],
        why=raw["why"],
        effort=raw["effort"],
        findings=tuple(f.id for f in found),
        about=raw.get("about", raw["text"]),
        brought_up_by=texts(raw, "brought_up_by"),
        help=raw.get("help", ""),
        needs=texts(raw, "needs"),
        applies_when=condition(raw, "applies_when"),
        file=file,
    )
    return result, found


def test(raw: Plain, file: str) -> tuple[m.Test, m.Finding]:
    """A test and the finding its result is."""
    result = m.Test(
        id=raw["id"],
        name=raw["name"],
        how=tuple(raw["how"]),
        effort=raw["effort"],
        days=(float(raw["days"][0]), float(raw["days"][1])),
        cost=raw["cost"],
        needs=texts(raw, "needs"),
        why=raw.get("why", ""),
        limits=raw.get("limits", ""),
        settles=raw.get("settles", False),
        applies_when=condition(raw, "applies_when"),
        cautions=texts(raw, "cautions"),
        cited=cited(raw),
        file=file,
    )
    return result, finding({**raw, "slip": "low"}, raw["id"], "test", values(raw["results"]))


def derived(raw: Plain) -> tuple[list[m.DerivedRecipe], list[m.Finding]]:
    """The findings worked out from answers, and how."""
    recipes, found = [], []
    for row in raw["findings"]:
        given = row.get("given", {})
        recipes.append(
            m.DerivedRecipe(
                row["id"],
                row["function"],
                texts(given, "tags"),
                texts(given, "slots"),
                texts(given, "sources_of"),
                given.get("count", 0),
                texts(given, "families"),
                given.get("group", ""),
                texts(given, "grades"),
                texts(given, "events"),
            )
        )
        its_values = values(row["values"]) if "values" in row else YES_NO
        found.append(finding(row, "derived", "derived", its_values))
    return recipes, found
