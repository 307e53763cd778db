"""Tiny findings and books for examples in docstrings and tests."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.kb.model import (
    ABSENT,
    PRESENT,
    Background,
    Cause,
    Evidence,
    Finding,
    Hosts,
    Kind,
    Knowledge,
    Value,
)


def yes_no(id_: str, background: float = 0.1) -> Finding:
    """A present/absent finding.

    >>> yes_no("x", 0.2).background.rates
    (0.2, 0.8)
    """
    values = (Value(PRESENT, "Yes"), Value(ABSENT, "No"))
    rates = Background((background, 1.0 - background))
    return Finding(id_, id_, values, rates, home=id_, form="tick", normal=ABSENT)


def choice(id_: str, background: Mapping[str, float], normal: str = "") -> Finding:
    """A finding with named values."""
    values = tuple(Value(v, v) for v in background)
    return Finding(
        id_, id_, values, Background(tuple(background.values())), id_, "choice", normal=normal
    )


def measured(id_: str, edges: Sequence[float]) -> Finding:
    """A measured finding with bands band0, band1 ... split at the edges."""
    tops: list[float | None] = [*edges, None]
    values = tuple(Value(f"band{i}", f"band {i}", below=top) for i, top in enumerate(tops))
    share = 1.0 / len(values)
    return Finding(id_, id_, values, Background((share,) * len(values)), id_, "measure")


def delays(id_: str) -> Finding:
    """A finding in the five bands of a delay."""
    names = ("before", "d0_2", "d3_10", "d11_28", "d29_plus")
    return choice(id_, dict.fromkeys(names, 0.2))


def cause(
    id_: str, rates: Mapping[tuple[str, str], str], kind: str = "", how_common: str = "common"
) -> Cause:
    """A cause on every host, from {(finding, value): how often}."""
    evidence = tuple(Evidence(f, v, word) for (f, v), word in rates.items())  # type: ignore[arg-type]
    return Cause(
        id_, id_, "demo", kind or id_, "reviewed", how_common, Hosts(("all",), "patchy"), evidence
    )


def book(
    findings: Sequence[Finding],
    causes: Sequence[Cause],
    groups: Mapping[str, tuple[str, ...]] | None = None,
) -> Knowledge:
    """A knowledge of just these findings and causes.

    >>> kb = book([yes_no("x")], [cause("a", {("x", "present"): "usually"})])
    >>> list(kb.causes)
    ['a']
    """
    kinds = {c.kind: Kind(c.kind, c.kind, c.kind) for c in causes}
    empty: dict[str, object] = {}
    return Knowledge(
        version="demo",
        digest="demo",
        sources={},
        findings={f.id: f for f in findings},
        questions={},
        causes={c.id: c for c in causes},
        retired={},
        tests={},
        crops={},
        inputs={},
        substances={},
        actions={},
        cautions={},
        derived={},
        kinds=kinds,
        families={},
        botanical_families={},
        slots={},
        events={},
        sensitivity_groups={},
        groups=groups or {},
        opening=(),
        at_hand={str(k): str(v) for k, v in empty.items()},
    )
