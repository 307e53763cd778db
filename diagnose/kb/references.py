"""Checks that every id used in the knowledge names something that is defined.

They walk the documents rather than the built objects, so that each fault has its exact place.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

from diagnose.kb.fault import Fault
from diagnose.kb.integrity import DuplicateId, Keys, known_value, reference
from diagnose.kb.model import PRESENT, Knowledge
from diagnose.kb.tree import Tree

Known = Mapping[str, Collection[str]]
Use = tuple[str, str, Keys]  # what is meant, the id used, where


def check_references(kb: Knowledge, tree: Tree) -> Iterator[Fault]:
    """Ids used anywhere but in conditions and sources that nobody defines."""
    known = _known(kb)
    users = {
        "cause": _cause,
        "test": _test,
        "crops": _crops,
        "actions": _actions,
        "manifest": _manifest,
        "derived": _derived,
    }
    for name, document in tree.documents.items():
        uses = users.get(tree.kinds[name])
        for what, id_, keys in uses(document.value) if uses else ():
            yield from reference(tree, name, keys, id_, known[what], what)
        if tree.kinds[name] == "cause":
            for i, row in enumerate(document.value["evidence"]):
                values = (row.get("value", PRESENT),)
                yield from known_value(kb, tree, name, ("evidence", i), row["finding"], values)
    yield from _grouped_once(kb, tree)


def _known(kb: Knowledge) -> Known:
    return {
        "cause": {**kb.causes, **kb.retired},
        "kind": kb.kinds,
        "family": kb.families,
        "finding": kb.findings,
        "question": kb.questions,
        "test": kb.tests,
        "crop": kb.crops,
        "host family": {*kb.botanical_families, "all"},
        "botanical family": kb.botanical_families,
        "sensitivity group": kb.sensitivity_groups,
        "action": kb.actions,
        "caution": kb.cautions,
        "input tag": {tag for item in kb.inputs.values() for tag in item.tags},
        "input slot": kb.slots,
        "event": kb.events,
    }


def _each(what: str, ids: Iterable[str], *keys: str | int) -> Iterator[Use]:
    for i, id_ in enumerate(ids):
        yield what, id_, (*keys, i)


def _cause(raw: Any) -> Iterator[Use]:
    hosts = raw["hosts"]
    yield "kind", raw["kind"], ("kind",)
    yield "family", raw["family"], ("family",)
    yield from _each("host family", hosts["families"], "hosts", "families")
    for key in ("crops", "spared"):
        yield from _each("crop", hosts.get(key, ()), "hosts", key)
    for i, row in enumerate(raw.get("how_common_on", ())):
        yield from _each("crop", row["crops"], "how_common_on", i, "crops")
    if "sensitivity" in hosts:
        yield "sensitivity group", hosts["sensitivity"], ("hosts", "sensitivity")
    if "replaced_by" in raw:
        yield "cause", raw["replaced_by"], ("replaced_by",)
    for i, row in enumerate(raw["evidence"]):
        yield "finding", row["finding"], ("evidence", i)
        yield from _each("crop", row.get("crops", ()), "evidence", i, "crops")
    for i, pair in enumerate(raw["lookalikes"]):
        yield "cause", pair["cause"], ("lookalikes", i)
        yield "finding", pair["finding"], ("lookalikes", i, "finding")
    for i, goes in enumerate(raw.get("goes_with", ())):
        yield "cause", goes["cause"], ("goes_with", i)
    yield from _each("test", raw["confirm"], "confirm")
    for stage, ids in raw["actions"].items():
        yield from _each("action", ids, "actions", stage)
    yield from _each("caution", raw.get("cautions", ()), "cautions")
    for i, example in enumerate(raw["examples"]):
        if "beaten_by" in example:
            yield "cause", example["beaten_by"], ("examples", i, "beaten_by")


def _test(raw: Any) -> Iterator[Use]:
    yield from _each("caution", raw.get("cautions", ()), "cautions")


def _crops(raw: Any) -> Iterator[Use]:
    yield "botanical family", raw["family"], ("family",)
    for i, crop in enumerate(raw["crops"]):
        yield from _each("crop", crop.get("stands_for", ()), "crops", i, "stands_for")
        for group in crop.get("sensitivity", {}):
            yield "sensitivity group", group, ("crops", i, "sensitivity", group)


def _actions(raw: Any) -> Iterator[Use]:
    for i, action in enumerate(raw["actions"]):
        for j, harm in enumerate(action.get("harms", ())):
            yield "cause", harm["cause"], ("actions", i, "harms", j)
        yield from _each("action", action.get("excludes", ()), "actions", i, "excludes")
        yield from _each("caution", action.get("cautions", ()), "actions", i, "cautions")


def _manifest(raw: Any) -> Iterator[Use]:
    for i, step in enumerate(raw["opening"]):
        yield from _each("question", step["questions"], "opening", i, "questions")
    for i, group in enumerate(raw["groups"]):
        yield from _each("finding", group["findings"], "groups", i, "findings")
    for need, finding in raw.get("at_hand", {}).items():
        yield "finding", finding, ("at_hand", need)


def _derived(raw: Any) -> Iterator[Use]:
    names = {
        "tags": "input tag",
        "slots": "input slot",
        "families": "botanical family",
        "events": "event",
    }
    for i, row in enumerate(raw["findings"]):
        given = row.get("given", {})
        for key, what in names.items():
            yield from _each(what, given.get(key, ()), "findings", i, "given", key)
        if "group" in given:
            yield "sensitivity group", given["group"], ("findings", i, "given", "group")


def _grouped_once(kb: Knowledge, tree: Tree) -> Iterator[Fault]:
    home: dict[str, str] = {}
    for i, (group, ids) in enumerate(kb.groups.items()):
        for j, id_ in enumerate(ids):
            if id_ in home:
                place = tree.place("manifest.yaml", "groups", i, "findings", j)
                wrong = f"'{id_}' is in the groups {home[id_]} and {group}"
                yield DuplicateId.fault(wrong, place, "Leave it in one group only.")
            home[id_] = group
