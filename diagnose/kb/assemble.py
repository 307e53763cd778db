"""Turns plain documents, already held to their schema, into the frozen model.

References are not followed here: a dangling id is found by `integrity`, which knows every place.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from diagnose.kb import model as m
from diagnose.kb.build_cause import cause, mirrored
from diagnose.kb.build_finding import Plain, derived, question, test
from diagnose.kb.build_lists import actions, cautions, crops, inputs, named, substances

Documents = Mapping[str, tuple[str, Any]]  # path -> (kind, plain value)


def assemble(documents: Documents, digest: str) -> m.Knowledge:
    """Build the model from plain documents (path to kind and value).

    Where an id stands twice the first one counts; `integrity` reports the second.
    """
    findings: dict[str, m.Finding] = {}
    questions: dict[str, m.Question] = {}
    causes: dict[str, m.Cause] = {}
    tests: dict[str, m.Test] = {}
    lists: dict[str, dict[str, Any]] = {
        kind: {} for kind in ("crops", "inputs", "substances", "actions", "cautions")
    }
    makers = {
        "crops": crops,
        "inputs": inputs,
        "substances": substances,
        "actions": actions,
        "cautions": cautions,
    }
    manifest: Plain = {}
    sources: dict[str, m.Source] = {}
    recipes: list[m.DerivedRecipe] = []
    for path, (kind, raw) in documents.items():
        if kind == "question":
            asked, found = question(raw, path)
            questions.setdefault(asked.id, asked)
            for f in found:
                findings.setdefault(f.id, f)
        elif kind == "test":
            tried, its_finding = test(raw, path)
            tests.setdefault(tried.id, tried)
            findings.setdefault(its_finding.id, its_finding)
        elif kind == "cause":
            causes.setdefault(raw["id"], cause(raw, path))
        elif kind == "derived":
            recipes, found = derived(raw)
            for f in found:
                findings.setdefault(f.id, f)
        elif kind == "manifest":
            manifest = raw
        elif kind == "sources":
            sources = {
                id_: m.Source(
                    id_, s["publisher"], s["title"], str(s.get("year") or ""), s.get("url", "")
                )
                for id_, s in raw.items()
            }
        else:
            items: list[Any] = makers[kind](raw, path)  # type: ignore[assignment]
            for item in items:
                lists[kind].setdefault(item.id, item)
    active = {id_: c for id_, c in causes.items() if c.status != "retired"}
    return m.Knowledge(
        version=manifest["version"],
        digest=digest,
        sources=sources,
        findings=findings,
        questions=questions,
        causes=mirrored(active),
        retired={id_: c for id_, c in causes.items() if c.status == "retired"},
        tests=tests,
        crops=lists["crops"],
        inputs=lists["inputs"],
        substances=lists["substances"],
        actions=lists["actions"],
        cautions=lists["cautions"],
        derived={r.finding: r for r in recipes},
        kinds={k["id"]: m.Kind(k["id"], k["name"], k["text"]) for k in manifest["kinds"]},
        families=named(manifest["families"]),
        botanical_families=named(manifest["botanical_families"]),
        slots=named(manifest["input_slots"]),
        events=named(manifest["events"]),
        sensitivity_groups=named(manifest["sensitivity_groups"]),
        groups={g["id"]: tuple(g["findings"]) for g in manifest["groups"]},
        opening=tuple(
            m.OpeningStep(s["title"], tuple(s["questions"])) for s in manifest["opening"]
        ),
        at_hand=dict(manifest.get("at_hand", {})),
    )
