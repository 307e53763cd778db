"""Turns plain documents, already held to their schema, into the frozen model.

References are not followed here: a dangling id is found by `integrity`, which knows every place.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diagnose.kb import model as m
from diagnose.kb.condition import Condition, condition_from

Plain = Mapping[str, Any]
Documents = Mapping[str, tuple[str, Any]]  # path -> (kind, plain value)

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


def cause(raw: Plain, file: str) -> m.Cause:
    """A cause."""
    hosts = raw["hosts"]
    return m.Cause(
        id=raw["id"],
        name=raw["name"],
        family=raw["family"],
        kind=raw["kind"],
        status=raw["status"],
        how_common=raw["how_common"],
        hosts=m.Hosts(
            texts(hosts, "families"),
            hosts["reach"],
            texts(hosts, "crops"),
            texts(hosts, "spared"),
            hosts.get("sensitivity", ""),
            cited(hosts),
        ),
        evidence=tuple(
            m.Evidence(
                e["finding"],
                e.get("value", m.PRESENT),
                e["how_often"],
                texts(e, "crops"),
                e.get("note", ""),
                cited(e),
            )
            for e in raw["evidence"]
        ),
        standard_term=raw.get("standard_term", ""),
        also_said=texts(raw, "also_said"),
        about=raw.get("about", ""),
        how_common_sources=texts(raw, "how_common_sources"),
        regulated=raw.get("regulated", False),
        replaced_by=raw.get("replaced_by", ""),
        rules=tuple(
            m.Rule(r["id"], condition_from(r["when"]), r["effect"], r["because"], cited(r))
            for r in raw.get("rules", ())
        ),
        goes_with=tuple(
            m.GoesWith(g["cause"], g["how_often"], g.get("because", ""), cited(g))
            for g in raw.get("goes_with", ())
        ),
        lookalikes=tuple(
            m.Lookalike(x["cause"], x["finding"], x["tell_apart"], cited(x))
            for x in raw["lookalikes"]
        ),
        confirm=texts(raw, "confirm"),
        actions={key: tuple(ids) for key, ids in raw["actions"].items()},
        prospects=raw["prospects"],
        cautions=texts(raw, "cautions"),
        examples=tuple(
            m.Example(x["name"], x["answers"], x.get("expect", ""), x.get("beaten_by", ""))
            for x in raw["examples"]
        ),
        file=file,
    )


def crops(raw: Plain, file: str) -> list[m.Crop]:
    """The crops of one botanical family."""
    return [
        m.Crop(
            c["id"],
            c["name"],
            raw["family"],
            texts(c, "also_said"),
            c.get("grows_as", "vegetable"),
            {
                group: m.Grade(row["grade"], row.get("note", ""), cited(row))
                for group, row in c.get("sensitivity", {}).items()
            },
            tuple(m.Oddity(o["text"], cited(o)) for o in c.get("oddities", ())),
            file,
        )
        for c in raw["crops"]
    ]


def inputs(raw: Plain, file: str) -> list[m.Input]:
    """The inputs of one file."""
    return [
        m.Input(
            i["id"],
            i["name"],
            texts(i, "tags"),
            i["residue_risk"],
            i["why"],
            texts(i, "also_said"),
            i.get("how_residue_gets_in", ""),
            i.get("nutrients", ""),
            cited(i),
            file,
        )
        for i in raw["inputs"]
    ]


def substances(raw: Plain, file: str) -> list[m.Substance]:
    """The active ingredients of one group."""
    return [
        m.Substance(
            s["id"],
            s["name"],
            raw["group"],
            s.get("uses", ""),
            tuple(
                m.HalfLife((float(h["days"][0]), float(h["days"][-1])), h["where"], cited(h))
                for h in s.get("half_lives", ())
            ),
            tuple(
                m.HarmLevel(h["crop"], float(h["level"]), h["unit"], h.get("note", ""), cited(h))
                for h in s.get("lowest_harmful", ())
            ),
            cited(s),
            file,
        )
        for s in raw["substances"]
    ]


def actions(raw: Plain, file: str) -> list[m.Action]:
    """The actions of one theme."""
    return [
        m.Action(
            a["id"],
            raw["theme"],
            a["text"],
            a["effort"],
            a["reversible"],
            a.get("why", ""),
            a.get("always", False),
            tuple(m.Harm(h["cause"], h["because"], cited(h)) for h in a.get("harms", ())),
            texts(a, "cautions"),
            cited(a),
            file,
        )
        for a in raw["actions"]
    ]


def cautions(raw: Plain, file: str) -> list[m.Caution]:
    """The cautions of one file."""
    return [
        m.Caution(c["id"], c["text"], c["show"], condition(c, "when"), cited(c), file)
        for c in raw["cautions"]
    ]


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


def named(rows: Sequence[Plain]) -> dict[str, m.Named]:
    """Ids with names."""
    return {row["id"]: m.Named(row["id"], row["name"], texts(row, "also_said")) for row in rows}


def _mirrored(causes: dict[str, m.Cause]) -> dict[str, m.Cause]:
    """Each look-alike pair is written once; give the other cause its half."""
    from dataclasses import replace

    extra: dict[str, list[m.Lookalike]] = {}
    for c in causes.values():
        for x in c.lookalikes:
            extra.setdefault(x.cause, []).append(
                m.Lookalike(c.id, x.finding, x.tell_apart, x.cited)
            )
    return {
        id_: replace(c, lookalikes=(*c.lookalikes, *extra[id_])) if id_ in extra else c
        for id_, c in causes.items()
    }


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
        causes=_mirrored(active),
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
