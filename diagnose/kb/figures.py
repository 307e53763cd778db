"""Checks on the findings themselves: their rates, bands, and the values they name."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from diagnose.kb.fault import Fault, FaultKind
from diagnose.kb.integrity import BLOCKS, Keys, UnknownValue, known_value, reference
from diagnose.kb.model import ABSENT, PRESENT, Knowledge
from diagnose.kb.tree import Tree

# Rates are written with two or three decimals.
NEAR_ENOUGH = 0.001
# What the functions of derived findings give: a delay in five bands, or yes and no.
DELAY = ("before", "d0_2", "d3_10", "d11_28", "d29_plus")
TRUTH = (PRESENT, ABSENT)


class RatesDoNotSum(FaultKind):
    """Rates of a finding do not add up."""

    code = "KB106"
    about = "background rates of a finding do not add up to 1"
    remedy = "Name every value, or all but one."


class BandsNotRising(FaultKind):
    """Bands of a measure are not in rising order."""

    code = "KB107"
    about = "the bands of a measure do not rise, or the last one has an upper edge"
    remedy = "Give every band but the last its `below`, in rising order."


def check_findings(kb: Knowledge, tree: Tree) -> Iterator[Fault]:
    """Rates that do not sum, bands out of order, and values or findings nobody defines."""
    for name, document in tree.documents.items():
        for raw, keys in _blocks(tree.kinds[name], document.value):
            yield from _rates(kb, tree, name, raw, keys)
            yield from _values(kb, tree, name, raw, keys)
            if "bands" in raw:
                yield from _bands(tree, name, raw, keys)
            if "function" in raw:
                yield from _given_values(kb, tree, name, raw, keys)


def _blocks(kind: str, raw: Any) -> Iterator[tuple[Any, Keys]]:
    """The block of every finding a document defines."""
    if kind == "question":
        for form in BLOCKS:
            if form == "tick":
                yield from ((f, ("tick", i)) for i, f in enumerate(raw.get("tick", ())))
            elif form in raw:
                yield raw[form], (form,)
    elif kind == "test":
        yield raw, ()
    elif kind == "derived":
        yield from ((f, ("findings", i)) for i, f in enumerate(raw["findings"]))


def _rates(kb: Knowledge, tree: Tree, name: str, raw: Any, keys: Keys) -> Iterator[Fault]:
    id_, background = raw["id"], raw["background"]
    at = (*keys, "background")
    rows: list[tuple[Any, Keys]] = [(background["rates"], (*at, "rates"))]
    by = background.get("rates_by", {})
    rows += [(row, (*at, "rates_by", value)) for value, row in by.items()]
    for row, place in rows:
        yield from known_value(kb, tree, name, place, id_, row)
        total = sum(row.values())
        full = set(row) >= set(kb.findings[id_].value_ids) if id_ in kb.findings else False
        if total > 1 + NEAR_ENOUGH or (full and total < 1 - NEAR_ENOUGH):
            wrong = f"the rates of '{id_}' add up to {total:.3f}"
            yield RatesDoNotSum.fault(wrong, tree.place(name, *place))
    if by or "vary_by" in background:
        other = background.get("vary_by", "")
        yield from reference(tree, name, (*at, "vary_by"), other, kb.findings, "finding")
        yield from known_value(kb, tree, name, (*at, "rates_by"), other, by)


def _values(kb: Knowledge, tree: Tree, name: str, raw: Any, keys: Keys) -> Iterator[Fault]:
    """Values and findings named by `normal` and `mistaken_for`."""
    id_ = raw["id"]
    if "normal" in raw:
        yield from known_value(kb, tree, name, (*keys, "normal"), id_, (raw["normal"],))
    for other in raw.get("mistaken_for", ()):
        place = (*keys, "mistaken_for")
        yield from reference(tree, name, place, other, kb.findings, "finding")
    for list_ in ("values", "bands", "results"):
        for i, value in enumerate(raw.get(list_, ())):
            place = (*keys, list_, i, "mistaken_for")
            yield from known_value(kb, tree, name, place, id_, value.get("mistaken_for", ()))


def _bands(tree: Tree, name: str, raw: Any, keys: Keys) -> Iterator[Fault]:
    edges = [band.get("below") for band in raw["bands"]]
    inner = edges[:-1]
    if edges[-1] is not None or None in inner or inner != sorted(set(inner)):
        wrong = f"the bands of '{raw['id']}' do not rise to an open last one"
        yield BandsNotRising.fault(wrong, tree.place(name, *keys, "bands"))


def _given_values(kb: Knowledge, tree: Tree, name: str, raw: Any, keys: Keys) -> Iterator[Fault]:
    """The values of a derived finding must be those its function gives."""
    wanted = DELAY if raw["function"] == "days_after" else TRUTH
    if kb.findings[raw["id"]].value_ids != wanted:
        wrong = f"{raw['function']} gives other values than '{raw['id']}' has"
        remedy = f"Write them in this order: {', '.join(wanted)}."
        yield UnknownValue.fault(wrong, tree.place(name, *keys, "values"), remedy)
