"""Builds crops, inputs, substances, actions and cautions from plain documents."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.kb import model as m
from diagnose.kb.build_finding import Plain, cited, condition, texts


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
            texts(c, "stands_for"),
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
            texts(a, "excludes"),
            texts(a, "cautions"),
            cited(a),
            file,
        )
        for a in raw["actions"]
    ]


def cautions(raw: Plain, file: str) -> list[m.Caution]:
    """The cautions of one file."""
    return [
        m.Caution(
            c["id"],
            c["text"],
            c["show"],
            condition(c, "when"),
            c.get("beside", ""),
            cited(c),
            file,
        )
        for c in raw["cautions"]
    ]


def named(rows: Sequence[Plain]) -> dict[str, m.Named]:
    """Ids with names."""
    return {row["id"]: m.Named(row["id"], row["name"], texts(row, "also_said")) for row in rows}
