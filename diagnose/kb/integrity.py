"""Cross-file checks the knowledge must pass before it can be used at all.

Each check is a small class; `kb check` adds the checks on quality in `curate/checks`.
"""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterator

from diagnose.errors import Location
from diagnose.kb.condition import Condition, condition_from
from diagnose.kb.fault import Fault, FaultKind
from diagnose.kb.model import ABSENT, PRESENT, Finding, Knowledge
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


Keys = tuple[str | int, ...]


def _reference(
    tree: Tree, path: str, keys: tuple[str | int, ...], id_: str, known: Collection[str], what: str
) -> Iterator[Fault]:
    if id_ in known:
        return
    near = difflib.get_close_matches(id_, list(known), 1)
    remedy = f"Did you mean '{near[0]}'?" if near else ""
    yield UnknownReference.fault(f"there is no {what} '{id_}'", tree.place(path, *keys), remedy)


def _conditions(raw: object, path: tuple[str | int, ...] = ()) -> Iterator[tuple[object, tuple]]:  # type: ignore[type-arg]
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
    for name, document in tree.documents.items():
        for raw, keys in _conditions(document.value):
            if name.endswith("causes") or "examples" in keys:
                continue
            try:
                condition_from(raw)  # type: ignore[arg-type]
            except (ValueError, KeyError, TypeError):
                yield BadCondition.fault("this condition has no known form", document.place(keys))


def check_names(tree: Tree) -> Iterator[Fault]:
    """Ids against file and folder names, and ids defined twice."""
    seen: dict[tuple[str, str], Location] = {}

    def once(kind: str, id_: str, place: Location) -> Iterator[Fault]:
        if (kind, id_) in seen:
            yield DuplicateId.fault(f"'{id_}' is also defined at {seen[kind, id_]}", place)
        seen.setdefault((kind, id_), place)

    for name, document in tree.documents.items():
        kind, raw = tree.kinds[name], document.value
        folder, stem = name.split("/")[-2:-1], name.rsplit("/", 1)[-1].removesuffix(".yaml")
        if kind in ("cause", "question", "test"):
            place = document.place(("id",))
            if raw["id"] != stem:
                wrong = f"the id '{raw['id']}' is not the file name '{stem}'"
                yield IdMismatch.fault(wrong, place)
            if kind == "cause" and raw["family"] != folder[0]:
                wrong = f"the family '{raw['family']}' is not the folder '{folder[0]}'"
                yield IdMismatch.fault(wrong, document.place(("family",)))
            yield from once(kind, raw["id"], place)
        if kind == "question":
            for i, f in enumerate(raw.get("tick", ())):
                yield from once("finding", f["id"], document.place(("tick", i, "id")))
            for form in ("choice", "measure"):
                if form in raw:
                    place = document.place((form, "id"))
                    yield from once("finding", raw[form]["id"], place)
            if raw["form"] in ("tick", "choice", "measure") and raw["form"] not in raw:
                wrong = f"a question of form {raw['form']} needs a block '{raw['form']}'"
                yield IdMismatch.fault(wrong, document.place(("form",)))
        elif kind == "test":
            yield from once("finding", raw["id"], document.place(("id",)))
        elif kind == "derived":
            for i, f in enumerate(raw["findings"]):
                yield from once("finding", f["id"], document.place(("findings", i, "id")))
        elif kind in ("crops", "inputs", "substances", "actions", "cautions"):
            for i, item in enumerate(raw[kind]):
                yield from once(kind, item["id"], document.place((kind, i, "id")))


def check_references(kb: Knowledge, tree: Tree) -> Iterator[Fault]:
    """Ids used by causes and lists that nobody defines."""
    all_causes = {**kb.causes, **kb.retired}
    for cause in all_causes.values():
        path = cause.file

        def ref(
            id_: str, known: Collection[str], what: str, *keys: str | int, path: str = path
        ) -> Iterator[Fault]:
            yield from _reference(tree, path, keys, id_, known, what)

        yield from ref(cause.kind, kb.kinds, "kind", "kind")
        yield from ref(cause.family, kb.families, "family", "family")
        if cause.hosts.sensitivity:
            group = cause.hosts.sensitivity
            yield from ref(group, kb.sensitivity_groups, "sensitivity group", "hosts")
        for family in cause.hosts.families:
            known = {*kb.botanical_families, "all"}
            yield from ref(family, known, "botanical family", "hosts", "families")
        for crop in (*cause.hosts.crops, *cause.hosts.spared):
            yield from ref(crop, kb.crops, "crop", "hosts")
        for i, row in enumerate(cause.evidence):
            yield from ref(row.finding, kb.findings, "finding", "evidence", i)
            yield from _value(kb, tree, path, row.finding, (row.value,), ("evidence", i))
            for crop in row.crops:
                yield from ref(crop, kb.crops, "crop", "evidence", i)
        raw_pairs = tree.documents[path].value.get("lookalikes", ()) if tree.documents else ()
        for i, pair in enumerate(raw_pairs):
            yield from ref(pair["cause"], all_causes, "cause", "lookalikes", i)
            yield from ref(pair["finding"], kb.findings, "finding", "lookalikes", i)
        for i, goes in enumerate(cause.goes_with):
            yield from ref(goes.cause, all_causes, "cause", "goes_with", i)
        for test in cause.confirm:
            yield from ref(test, kb.tests, "test", "confirm")
        for group, ids in cause.actions.items():
            for id_ in ids:
                yield from ref(id_, kb.actions, "action", "actions", group)
        for id_ in cause.cautions:
            yield from ref(id_, kb.cautions, "caution", "cautions")
        for i, example in enumerate(cause.examples):
            if example.beaten_by:
                yield from ref(example.beaten_by, all_causes, "cause", "examples", i)
    for action in kb.actions.values():
        for harm in action.harms:
            yield from _reference(tree, action.file, (), harm.cause, all_causes, "cause")
        for id_ in action.cautions:
            yield from _reference(tree, action.file, (), id_, kb.cautions, "caution")
    for test_ in kb.tests.values():
        for id_ in test_.cautions:
            yield from _reference(tree, test_.file, ("cautions",), id_, kb.cautions, "caution")
    for crop_ in kb.crops.values():
        families = kb.botanical_families
        yield from _reference(tree, crop_.file, ("family",), crop_.family, families, "family")
        for group in crop_.sensitivity:
            groups = kb.sensitivity_groups
            yield from _reference(tree, crop_.file, (), group, groups, "sensitivity group")
    yield from _manifest_references(kb, tree)


def _manifest_references(kb: Knowledge, tree: Tree) -> Iterator[Fault]:
    name = "manifest.yaml"
    for i, step in enumerate(kb.opening):
        for id_ in step.questions:
            yield from _reference(tree, name, ("opening", i), id_, kb.questions, "question")
    members: dict[str, str] = {}
    for i, (group, ids) in enumerate(kb.groups.items()):
        for id_ in ids:
            yield from _reference(tree, name, ("groups", i), id_, kb.findings, "finding")
            if id_ in members:
                wrong = f"'{id_}' is in the groups {members[id_]} and {group}"
                yield DuplicateId.fault(wrong, tree.place(name, "groups", i))
            members[id_] = group
    for need, id_ in kb.at_hand.items():
        yield from _reference(tree, name, ("at_hand", need), id_, kb.findings, "finding")
    for recipe in kb.derived.values():
        for slot in recipe.slots:
            yield from _reference(tree, "derived.yaml", (), slot, kb.slots, "input slot")
        for event in recipe.events:
            yield from _reference(tree, "derived.yaml", (), event, kb.events, "event")
        for family in recipe.families:
            known = kb.botanical_families
            yield from _reference(tree, "derived.yaml", (), family, known, "family")


def _value(
    kb: Knowledge,
    tree: Tree,
    path: str,
    finding: str,
    values: tuple[str, ...],
    keys: tuple[str | int, ...],
) -> Iterator[Fault]:
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
            condition: Condition = condition_from(raw)  # type: ignore[arg-type]
            for leaf in condition.leaves():
                yield from _reference(tree, name, keys, leaf.finding, kb.findings, "finding")
                yield from _value(kb, tree, name, leaf.finding, leaf.values, keys)
                measured = leaf.form != "is"
                if measured and leaf.finding in kb.findings:
                    if kb.findings[leaf.finding].form == "measure":
                        continue
                    wrong = f"'{leaf.finding}' is not measured; above and below need a number"
                    yield BadCondition.fault(wrong, document.place(keys))


def check_sources(kb: Knowledge, tree: Tree) -> Iterator[Fault]:
    """Source ids cited anywhere that sources.yaml does not hold."""

    def walk(
        raw: object, path: tuple[str | int, ...]
    ) -> Iterator[tuple[str, tuple[str | int, ...]]]:
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
            yield from _reference(tree, name, keys, id_, kb.sources, "source")


def check_numbers(kb: Knowledge, tree: Tree) -> Iterator[Fault]:
    """Background rates and bands."""
    for name, document in tree.documents.items():
        for raw, keys in _backgrounds(document.value, ()):
            finding = _finding_at(kb, document.value, keys)
            if finding is None:
                continue
            rows = [raw["rates"], *raw.get("rates_by", {}).values()]
            for row in rows:
                total = sum(row.values())
                extra = set(row) - set(finding.value_ids)
                for value in sorted(extra):
                    yield from _value(kb, tree, name, finding.id, (value,), keys)
                full = set(row) >= set(finding.value_ids)
                if total > 1.001 or (full and abs(total - 1) > 0.001):
                    wrong = f"the rates of '{finding.id}' add up to {total:.3f}"
                    yield RatesDoNotSum.fault(wrong, document.place(keys))
    for finding in kb.findings.values():
        edges = [v.below for v in finding.values]
        if finding.form != "measure":
            continue
        inner = [e for e in edges[:-1] if e is not None]
        if len(inner) != len(edges) - 1 or edges[-1] is not None or inner != sorted(inner):
            file = kb.questions[finding.home].file
            wrong = f"the bands of '{finding.id}' do not rise to an open last one"
            yield BandsNotRising.fault(wrong, tree.place(file, "measure", "bands"))
        if finding.normal and finding.normal not in finding.value_ids:
            file = kb.questions[finding.home].file
            yield from _value(kb, tree, file, finding.id, (finding.normal,), ("measure",))


def _backgrounds(raw: object, path: tuple) -> Iterator[tuple[dict, tuple]]:  # type: ignore[type-arg]
    if isinstance(raw, dict):
        for key, value in raw.items():
            if key == "background" and isinstance(value, dict):
                yield value, (*path, key)
            elif key not in ("examples", "evidence"):
                yield from _backgrounds(value, (*path, key))
    elif isinstance(raw, list):
        for i, value in enumerate(raw):
            yield from _backgrounds(value, (*path, i))


def _finding_at(kb: Knowledge, raw: object, keys: tuple) -> Finding | None:  # type: ignore[type-arg]
    for key in keys[:-1]:
        raw = raw[key]  # type: ignore[index]
    return kb.findings.get(raw["id"]) if isinstance(raw, dict) else None


# What a tick finding's values are called; the loader gives them.
TICK_VALUES = (PRESENT, ABSENT)

CLASSES: tuple[type[FaultKind], ...] = (
    IdMismatch,
    DuplicateId,
    UnknownReference,
    UnknownValue,
    BadCondition,
    RatesDoNotSum,
    BandsNotRising,
)
