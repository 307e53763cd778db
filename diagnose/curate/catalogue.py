"""Lists and single entries of the knowledge, as plain rows for `kb list`, `show`, `questions`."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from diagnose.errors import UsageError
from diagnose.interview.answers import CROP_STATES, INPUT_SOURCES
from diagnose.kb import match
from diagnose.kb.model import Cause, Cited, Finding, Knowledge
from diagnose.reasoning.settings import HOW_OFTEN

Row = tuple[str, str, str]


def _causes(kb: Knowledge) -> list[Row]:
    return [(c.id, c.name, kb.families[c.family].name) for c in kb.causes.values()]


def _findings(kb: Knowledge) -> list[Row]:
    return [(f.id, f.name, f.home) for f in kb.findings.values()]


def _crops(kb: Knowledge) -> list[Row]:
    return [(c.id, c.name, kb.botanical_families[c.family].name) for c in kb.crops.values()]


def _inputs(kb: Knowledge) -> list[Row]:
    return [(i.id, i.name, f"residue risk {i.residue_risk}") for i in kb.inputs.values()]


def _tests(kb: Knowledge) -> list[Row]:
    return [(t.id, t.name, t.cost) for t in kb.tests.values()]


def _actions(kb: Knowledge) -> list[Row]:
    return [(a.id, a.text, a.theme) for a in kb.actions.values()]


def _cautions(kb: Knowledge) -> list[Row]:
    return [(c.id, c.text, c.show.replace("_", " ")) for c in kb.cautions.values()]


def _substances(kb: Knowledge) -> list[Row]:
    return [(s.id, s.name, s.group) for s in kb.substances.values()]


LISTS: dict[str, Callable[[Knowledge], list[Row]]] = {
    "causes": _causes,
    "findings": _findings,
    "crops": _crops,
    "inputs": _inputs,
    "tests": _tests,
    "actions": _actions,
    "cautions": _cautions,
    "substances": _substances,
}


def counts(kb: Knowledge) -> list[tuple[str, int]]:
    """How many of each the book holds."""
    rows = [(name, len(rows(kb))) for name, rows in LISTS.items()]
    return [*rows, ("questions", len(kb.questions)), ("sources", len(kb.sources))]


def find_entry(kb: Knowledge, id_: str) -> tuple[str, Any]:
    """The kind and object of an id, looked for in every list, or else of a name.

    Raises:
        UsageError: naming the nearest entries.

    >>> from diagnose.kb.load import load
    >>> find_entry(load(), "tomato")[0], find_entry(load(), "horse manure")[1].id
    ('crop', 'horse_manure')
    """
    places: tuple[tuple[str, Any], ...] = (
        ("cause", {**kb.causes, **kb.retired}),
        ("question", kb.questions),
        ("test", kb.tests),
        ("finding", kb.findings),
        ("crop", kb.crops),
        ("input", kb.inputs),
        ("substance", kb.substances),
        ("action", kb.actions),
        ("caution", kb.cautions),
        ("source", kb.sources),
    )
    for kind, items in places:
        if id_ in items:
            return kind, items[id_]
    names = _names(kb)
    found = match.find(id_, names)
    if found and found[0].score >= match.SURE and len([m for m in found if m.score == 100]) < 2:
        return find_entry(kb, found[0].id)
    # A word of the name ("iron") tells more than letters in common ("irony").
    word = f" {match.plain(id_)} "
    within = [i for i, ws in names.items() if any(word in f" {match.plain(w)} " for w in ws)]
    within.sort(key=lambda i: (word not in f" {match.plain(i)} ", i in kb.tests))
    ids = [i for _, items in places for i in items]
    near = list(dict.fromkeys([*within, *(m.id for m in found), *match.nearest(id_, ids)]))[:5]
    hint = f"Did you mean {', '.join(near)}?" if near else "See `diagnose kb list causes`."
    raise UsageError(f"nothing in the book is called '{id_}'", hint)


def _names(kb: Knowledge) -> dict[str, tuple[str, ...]]:
    tests = {t.id: (t.id, t.name) for t in kb.tests.values()}
    # Of entries of one id the first here is shown, as for ids.
    return tests | match.input_names(kb) | match.crop_names(kb) | match.cause_names(kb)


def cite(cited: Cited) -> str:
    """Sources in brackets, or that there are none."""
    if cited.from_memory:
        return "[from memory, unsourced]"
    return f"[{', '.join(cited.sources)}]"


def cause_lines(kb: Knowledge, cause: Cause) -> list[str]:
    """A cause with its evidence, look-alikes and actions, as lines."""
    out = [cause.name, f"family {cause.family}, kind {cause.kind}, {cause.how_common}"]
    if cause.about:
        out.append(cause.about)
    out += [
        f"  {row.how_common} on {', '.join(row.crops)} {cite(row.cited)}"
        for row in cause.how_common_on
    ]
    out.append("Evidence:")
    for row in cause.evidence:
        finding = kb.findings[row.finding]
        value = "" if row.value == "present" else f" = {finding.label(row.value)}"
        crops = f" on {', '.join(row.crops)}" if row.crops else ""
        out.append(f"  {row.how_often}: {finding.name}{value}{crops} {cite(row.cited)}")
    for rule in cause.rules:
        out.append(f"  rule {rule.effect}: {rule.because} {cite(rule.cited)}")
    out.append("Looks like:")
    for pair in cause.lookalikes:
        out.append(f"  {pair.cause}: {pair.tell_apart} {cite(pair.cited)}")
    out.append(f"Tests: {', '.join(cause.confirm) or 'none'}")
    for stage, ids in cause.actions.items():
        out += [f"  {stage}: {kb.actions[i].text}" for i in ids]
    out.append(f"What to expect: {cause.prospects}")
    return out + [f"As growers tell it: {complaint}" for complaint in cause.told_as[:3]]


def finding_lines(kb: Knowledge, finding: Finding) -> list[str]:
    """A finding with its background and how often each cause shows it."""
    out = [finding.name, f"asked in {finding.home}, slip {finding.slip}"]
    if finding.also_said:
        out.append(f"also said: {', '.join(finding.also_said)}")
    for value, rate in zip(finding.values, finding.background.rates, strict=True):
        out.append(f"  {value.id} ({value.label}): background {rate:.2f}")
    for cause in kb.causes.values():
        for row in cause.evidence:
            if row.finding == finding.id:
                rate = HOW_OFTEN[row.how_often]
                out.append(f"  {cause.id}: {row.value} {row.how_often} ({rate:.2f})")
    return out


def question_rows(kb: Knowledge) -> list[dict[str, Any]]:
    """Every question with form, values and help, and every test with its results."""
    rows = []
    for q in kb.questions.values():
        findings = [kb.findings[f] for f in q.findings]
        row: dict[str, Any] = {
            "id": q.id,
            "form": q.form,
            "topic": q.topic,
            "text": q.text,
            "help": q.help,
            "why": q.why,
            "effort": q.effort,
            "needs": list(q.needs),
        }
        row |= {"answer": ANSWER[q.form], **_form_fields(kb, q.form, findings)}
        rows.append(row)
    for t in kb.tests.values():
        results = [{"id": v.id, "label": v.label} for v in kb.findings[t.id].values]
        fields = {"topic": "tests", "text": t.name, "help": " ".join(t.how), "values": results}
        rows.append({"id": t.id, "form": "test", **fields})
    return rows


ANSWER = {
    "choice": "a value id; a list of value ids when it may be either",
    "tick": "{ticked: [finding ids], looked_for: all, or a list of those looked for}",
    "measure": "a number with its unit",
    "crops": "{crop id: state}",
    "inputs": "{slot: [input id, or {input, source, when}], none_of: [..]}",
    "timeline": "{last_right: date, events: [{event, when, again}]}; when: date, or 8 days before",
    "words": "{text: what is wrong, in the grower's own words}",
}


def _form_fields(kb: Knowledge, form: str, findings: list[Finding]) -> dict[str, Any]:
    if form == "tick":
        return {"findings": [_described(f) for f in findings]}
    if form == "choice":
        return {"finding": _described(findings[0])}
    if form == "measure":
        f = findings[0]
        return {
            "finding": _described(f),
            "unit": f.unit,
            "other_units": list(f.other_units),
            "plausible": list(f.plausible),
        }
    if form == "crops":
        return {"states": list(CROP_STATES), "crops": list(kb.crops)}
    if form == "inputs":
        tags = sorted({t for i in kb.inputs.values() for t in i.tags})
        return {
            "slots": list(kb.slots),
            "inputs": list(kb.inputs),
            "sources": list(INPUT_SOURCES),
            "none_of": [*tags, *kb.inputs],
        }
    if form == "timeline":
        return {"keys": ["last_right", "events", "none_of"], "events": list(kb.events)}
    return {}


def _described(f: Finding) -> dict[str, Any]:
    row: dict[str, Any] = {
        "id": f.id,
        "name": f.name,
        "standard_term": f.standard_term,
        "also_said": list(f.also_said),
        "how_to_look": f.how_to_look,
    }
    if f.form != "tick":
        row["values"] = [
            {"id": v.id, "label": v.label, "also_said": list(v.also_said)} for v in f.values
        ]
        row["normal"] = f.normal
    return row
