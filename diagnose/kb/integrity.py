"""Cross-file checks the knowledge must pass before it can be used at all.

Each check is a small class; `kb check` adds the checks on quality in `curate/checks`.
"""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path
from typing import Any

from diagnose.errors import Location
from diagnose.kb.condition import condition_from
from diagnose.kb.fault import Fault, FaultKind
from diagnose.kb.model import Knowledge
from diagnose.kb.tree import Tree


class IdMismatch(FaultKind):
    """File name and id, or folder and family, differ."""

    code = "KB101"
    about = "the file name is not the id, or the folder not the family"
    remedy = "Rename the file or the id so that both agree."


class DuplicateId(FaultKind):
    """One id is defined twice."""

    code = "KB102"
    about = "the same id is defined twice"
    remedy = "Rename one; every finding has one home."


class UnknownReference(FaultKind):
    """An id is used that nobody defines."""

    code = "KB103"
    about = "an id is used that is not defined"
    remedy = "Correct the id, or add what it names."


class UnknownValue(FaultKind):
    """A value is named that the finding does not have."""

    code = "KB104"
    about = "a value is named that the finding does not have"
    remedy = "Use one of the values of the finding."


class BadCondition(FaultKind):
    """A condition is not one of the known forms."""

    code = "KB105"
    about = "a condition is not one of all, any, not, at_least, or finding with is, above, below"
    remedy = "Write one form per mapping."


Keys = tuple[str | int, ...]
# Forms of a question that carry findings, each in a block of the same name.
BLOCKS = ("tick", "choice", "measure")


def reference(
    tree: Tree, path: str, keys: Keys, id_: str, known: Collection[str], what: str
) -> Iterator[Fault]:
    """A fault when `id_`, used in the file `path` at `keys`, is none of the known ids.

    `what` says in words what the id should name.
    """
    if id_ in known:
        return
    near = difflib.get_close_matches(id_, list(known), 1)
    remedy = f"Did you mean '{near[0]}'?" if near else ""
    yield UnknownReference.fault(f"there is no {what} '{id_}'", tree.place(path, *keys), remedy)


def _conditions(raw: object, path: Keys = ()) -> Iterator[tuple[Any, Keys]]:
    """Every `when` and `applies_when` in a document, with its path."""
    if isinstance(raw, dict):
        for key, value in raw.items():
            if key in ("when", "applies_when") and isinstance(value, dict):
                yield value, (*path, key)
            else:
                yield from _conditions(value, (*path, key))
    elif isinstance(raw, list):
        for i, value in enumerate(raw):
            yield from _conditions(value, (*path, i))


def check_conditions(tree: Tree) -> Iterator[Fault]:
    """Conditions that are none of the known forms (before anything is built)."""
    for document in tree.documents.values():
        for raw, keys in _conditions(document.value):
            if "examples" in keys:
                continue
            try:
                condition_from(raw)
            except (ValueError, KeyError, TypeError):
                yield BadCondition.fault("this condition has no known form", document.place(keys))


LISTS = ("crops", "inputs", "substances", "actions", "cautions")
MANIFEST_LISTS = (
    "kinds",
    "families",
    "groups",
    "botanical_families",
    "input_slots",
    "events",
    "sensitivity_groups",
)


def _defined(kind: str, raw: Any) -> Iterator[tuple[str, str, Keys]]:
    """Every id a document defines: what it is an id of, the id, and its place."""
    findings: list[tuple[Any, Keys, str]] = []
    if kind == "cause":
        yield "cause", raw["id"], ("id",)
        for i, rule in enumerate(raw.get("rules", ())):
            yield f"rule of {raw['id']}", rule["id"], ("rules", i, "id")
    elif kind == "question":
        yield "question or test", raw["id"], ("id",)
        findings += [(f, ("tick", i), "") for i, f in enumerate(raw.get("tick", ()))]
        findings += [(raw["choice"], ("choice",), "values")] if "choice" in raw else []
        findings += [(raw["measure"], ("measure",), "bands")] if "measure" in raw else []
    elif kind == "test":
        yield "question or test", raw["id"], ("id",)
        findings.append((raw, (), "results"))
    elif kind == "derived":
        rows = enumerate(raw["findings"])
        findings += [(f, ("findings", i), "values") for i, f in rows]
    for item, keys, values in findings:
        yield "finding", item["id"], (*keys, "id")
        for i, value in enumerate(item.get(values, ())):
            yield f"value of {item['id']}", value["id"], (*keys, values, i, "id")
    for list_ in MANIFEST_LISTS if kind == "manifest" else (kind,) if kind in LISTS else ():
        for i, item in enumerate(raw[list_]):
            yield list_, item["id"], (list_, i, "id")


def check_names(tree: Tree) -> Iterator[Fault]:
    """Ids against file and folder names, and ids defined twice."""
    seen: dict[tuple[str, str], Location] = {}
    for name, document in tree.documents.items():
        kind, raw = tree.kinds[name], document.value
        path = Path(name)
        if kind in ("cause", "question", "test") and raw["id"] != path.stem:
            wrong = f"the id '{raw['id']}' is not the file name '{path.stem}'"
            yield IdMismatch.fault(wrong, document.place(("id",)))
        if kind == "cause" and raw["family"] != path.parent.name:
            wrong = f"the family '{raw['family']}' is not the folder '{path.parent.name}'"
            yield IdMismatch.fault(wrong, document.place(("family",)))
        if kind == "question" and raw["form"] in BLOCKS and raw["form"] not in raw:
            wrong = f"a question of form {raw['form']} needs a block '{raw['form']}'"
            remedy = f"Add `{raw['form']}:` with what it settles, or change the form."
            yield IdMismatch.fault(wrong, document.place(("form",)), remedy)
        for what, id_, keys in _defined(kind, raw):
            place = document.place(keys)
            if (what, id_) in seen:
                yield DuplicateId.fault(f"'{id_}' is also defined at {seen[what, id_]}", place)
            seen.setdefault((what, id_), place)


def known_value(
    kb: Knowledge, tree: Tree, path: str, keys: Keys, finding: str, values: Iterable[str]
) -> Iterator[Fault]:
    """A fault for each value named in the file `path` at `keys` that the finding does not have."""
    if finding not in kb.findings:
        return
    known = kb.findings[finding].value_ids
    for value in values:
        if value not in known:
            yield UnknownValue.fault(
                f"'{finding}' has no value '{value}'",
                tree.place(path, *keys),
                f"Its values are: {', '.join(known)}.",
            )


def check_condition_references(kb: Knowledge, tree: Tree) -> Iterator[Fault]:
    """Findings and values named in conditions."""
    for name, document in tree.documents.items():
        for raw, keys in _conditions(document.value):
            if "examples" in keys:
                continue
            for leaf in condition_from(raw).leaves():
                yield from reference(tree, name, keys, leaf.finding, kb.findings, "finding")
                yield from known_value(kb, tree, name, keys, leaf.finding, leaf.values)
                measured = leaf.form != "is"
                if measured and leaf.finding in kb.findings:
                    if kb.findings[leaf.finding].form == "measure":
                        continue
                    wrong = f"'{leaf.finding}' is not measured; above and below need a number"
                    yield BadCondition.fault(wrong, document.place(keys))


def check_sources(kb: Knowledge, tree: Tree) -> Iterator[Fault]:
    """Source ids cited anywhere that sources.yaml does not hold."""

    def walk(raw: object, path: Keys) -> Iterator[tuple[str, Keys]]:
        if isinstance(raw, dict):
            for key, value in raw.items():
                if key in ("sources", "how_common_sources") and isinstance(value, list):
                    for id_ in value:
                        yield id_, (*path, key)
                elif key != "examples":
                    yield from walk(value, (*path, key))
        elif isinstance(raw, list):
            for i, value in enumerate(raw):
                yield from walk(value, (*path, i))

    for name, document in tree.documents.items():
        if tree.kinds[name] == "sources":
            continue
        for id_, keys in walk(document.value, ()):
            yield from reference(tree, name, keys, id_, kb.sources, "source")
