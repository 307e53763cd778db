"""Writes the result document as Markdown: the full record, sources at the end."""

from __future__ import annotations

import re
from typing import Any

from diagnose.reasoning.verdict import percent
from diagnose.report.wording import days_text, strength, today_title

_SPECIAL = re.compile(r"([\\`*_\[\]<>#|~&])")
WORTH_WHY = 0.01
_UNSOURCED = {"memory": "memory", "common_practice": "common practice"}


def escape(text: str) -> str:
    r"""User text with every character that Markdown or HTML would read escaped.

    >>> escape("<b> *x*")
    '\\<b\\> \\*x\\*'
    """
    return _SPECIAL.sub(r"\\\1", " ".join(text.splitlines()))


def render(document: dict[str, Any]) -> str:
    """The document as Markdown text."""
    title = f"Case {document['case']}" if document["case"] else "Result"
    parts = [f"# {title}", *_verdict(document), *_ranking(document), *_reasons(document)]
    parts += [
        *_looks(document),
        *_tests(document),
        *_actions(document),
        *_asked(document),
        *_sources(document),
    ]
    return re.sub(r"\n{3,}", "\n\n", "\n".join(parts)) + "\n"


def _verdict(doc: dict[str, Any]) -> list[str]:
    said = doc["verdict"]
    urgent = [c["text"] for c in doc["cautions"] if c["show"] == "at_once"]
    out = ["", *(f"- **Caution:** {escape(text)}" for text in urgent)]
    out += ["", f"**{escape(said['text'])}**", ""]
    if said["state"] not in ("open", "nothing_fits", "official_check"):
        out += [f"How sure: {said['word']} ({percent(said['probability'])}).", ""]
    if "clinic_sample" in said:
        out += [said["clinic_sample"], ""]
    return out


def _ranking(doc: dict[str, Any]) -> list[str]:
    rows = [
        f"| {escape(c['name'])} | {c['word']} | {percent(c['probability'])} |"
        for c in doc["causes"]
        if c["probability"] >= 0.01
    ]
    rows.append(f"| Something not in this book | | {percent(doc['unlisted'])} |")
    return ["", "## What fits", "", "| Cause | How sure | Figure |", "| --- | --- | --- |", *rows]


def _reasons(doc: dict[str, Any]) -> list[str]:
    out: list[str] = []
    told: set[str] = set()  # a pair's difference stands with both causes, and is said once
    for i, cause in enumerate(doc["causes"][:5]):
        if i and cause["probability"] < WORTH_WHY:
            break
        if not cause.get("for") and not cause.get("against"):
            continue
        out += ["", f"## Why: {escape(cause['name'])}", ""]
        for side, name in (("for", "For"), ("against", "Against")):
            for r in cause[side]:
                cited = f" {_cite(r)}" if r.get("stated", True) else ""
                answer = "" if r["answer"] == "yes" else f": {escape(r['answer'])}"
                out.append(f"- {name}, {strength(r['weight'])}: {escape(r['name'])}{answer}{cited}")
        out += [f"- Rule: {escape(r['because'])} {_cite(r)}" for r in cause["rules"]]
        out += [f"- Not explained: {escape(u['name'])}" for u in cause["unexplained"]]
        out += [
            f"- Looks like {escape(x['name'])}: {escape(x['tell_apart'])}"
            for x in cause["lookalikes"]
            if x["tell_apart"] not in told
        ]
        told.update(x["tell_apart"] for x in cause["lookalikes"])
        out += ["", f"What to expect: {escape(cause['prospects'])}"]
    return out


def _cite(row: dict[str, Any]) -> str:
    if row.get("from_memory"):
        return "(from memory, unsourced)"
    return "(" + ", ".join(_UNSOURCED.get(s, s) for s in row["sources"]) + ")"


def _looks(doc: dict[str, Any]) -> list[str]:
    if not doc["looks"]:
        return []
    rows = [f"- {escape(x['name'])}. {escape(x['help'])}".rstrip() for x in doc["looks"]]
    return ["", "## Look for this now", "", *rows]


def _tests(doc: dict[str, Any]) -> list[str]:
    out = ["", "## What would tell most"] if doc["tests"] else []
    for test in doc["tests"]:
        out += ["", f"### {escape(test['name'])}: {days_text(test['days'])}, {test['cost']}", ""]
        out += [f"{i}. {escape(step)}" for i, step in enumerate(test["how"], 1)]
        out += ["", "| If | Chance | Then |", "| --- | --- | --- |"]
        for o in test["outcomes"]:
            leaders = ", ".join(
                f"{escape(x['name'])} {percent(x['probability'])}" for x in o["leaders"][:2]
            )
            out.append(f"| {escape(o['label'])} | {percent(o['chance'])} | {leaders} |")
        if test["limits"]:
            out += ["", escape(test["limits"])]
    return out


def _actions(doc: dict[str, Any]) -> list[str]:
    """What to do, each caution beside the first action that needs it, the others at the end."""
    left = {c["id"]: c["text"] for c in doc["cautions"] if c["show"] != "at_once"}
    out: list[str] = []
    names = {
        "today": today_title(doc["verdict"]["state"]),
        "plants": "The plants",
        "material": "The material",
        "prevent": "Next time",
    }
    for key, title in names.items():
        rows = doc["actions"].get(key, [])
        if rows:
            out += ["", f"## {title}", ""]
        for row in rows:
            out.append(f"- {escape(row['text'])}")
            here = [left.pop(id_) for id_ in row["cautions"] if id_ in left]
            out += [f"  - **Caution:** {escape(text)}" for text in here]
    if doc["actions"]["withheld"]:
        out += ["", "## Not yet", ""]
        out += [f"- {escape(r['text'])} {escape(r['because'])}" for r in doc["actions"]["withheld"]]
    if left:
        out += ["", "## Take care", ""]
        out += [f"- {escape(text)}" for text in left.values()]
    return out


def _asked(doc: dict[str, Any]) -> list[str]:
    rows = [
        f"| {escape(q['text'])} | {escape(q['answer'])} | {escape(q['id'])} |"
        for q in doc["questions_asked"]
    ]
    stopped = doc["stopped"]["text"]
    return [
        "",
        "## What was asked",
        "",
        "| Question | Answer | Id |",
        "| --- | --- | --- |",
        *rows,
        *(["", stopped] if stopped else []),
    ]


def _sources(doc: dict[str, Any]) -> list[str]:
    out = ["", "## Sources", ""]
    for id_, s in doc["sources"].items():
        year = f", {s['year']}" if s["year"] else ""
        url = f" <{s['url']}>" if s["url"] else ""
        out.append(f"- {id_}: {escape(s['publisher'])}, {escape(s['title'])}{year}{url}")
    kb = doc["knowledge"]
    out += [
        "",
        "A guess from answers, not proof against anyone. Local rules, the label, a plant clinic "
        "and licensed practice come first.",
        "",
        f"Knowledge {kb['version']} ({kb['digest']}).",
    ]
    return out
