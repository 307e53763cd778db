"""Builds causes from plain documents."""

from __future__ import annotations

from dataclasses import replace

from diagnose.kb import model as m
from diagnose.kb.build_finding import Plain, cited, texts
from diagnose.kb.condition import condition_from


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
        told_as=texts(raw, "told_as"),
        how_common_sources=texts(raw, "how_common_sources"),
        how_common_on=tuple(
            m.CommonOn(texts(c, "crops"), c["how_common"], cited(c))
            for c in raw.get("how_common_on", ())
        ),
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


def mirrored(causes: dict[str, m.Cause]) -> dict[str, m.Cause]:
    """Each look-alike pair is written once; give the other cause its half."""
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
