"""Matches what people type to names in the book: crops, inputs, events, findings.

Exact names and synonyms win; else rapidfuzz scores them, so that "tomatos" finds tomato. Nothing
is taken without the caller's say: below the score of `SURE` the caller should ask.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from diagnose.kb.model import Knowledge

SURE = 88.0
NEAR = 62.0


@dataclass(frozen=True, slots=True)
class Match:
    """A name found: its id, how well it fits (0 to 100), and the wording that fitted."""

    id: str
    score: float
    wording: str


def plain(text: str) -> str:
    """Lower case, single spaces, no punctuation.

    >>> plain("  Butter-head  LETTUCE! ")
    'butter head lettuce'
    """
    return re.sub(r"[^\w%]+", " ", text.casefold().replace("_", " ")).strip()


def crop_names(kb: Knowledge) -> dict[str, tuple[str, ...]]:
    """Every wording for every crop."""
    return {c.id: (c.id, c.name, *c.also_said) for c in kb.crops.values()}


def input_names(kb: Knowledge) -> dict[str, tuple[str, ...]]:
    """Every wording for every input."""
    return {i.id: (i.id, i.name, *i.also_said) for i in kb.inputs.values()}


def event_names(kb: Knowledge) -> dict[str, tuple[str, ...]]:
    """Every wording for every event."""
    return {e.id: (e.id, e.name, *e.also_said) for e in kb.events.values()}


def cause_names(kb: Knowledge) -> dict[str, tuple[str, ...]]:
    """Every wording for every cause."""
    return {
        c.id: tuple(filter(None, (c.id, c.name, c.standard_term, *c.also_said)))
        for c in kb.causes.values()
    }


def find(text: str, names: Mapping[str, Sequence[str]], limit: int = 5) -> list[Match]:
    """The ids whose wording fits a typed name best, best first.

    >>> names = {"tomato": ("tomato", "tomatoes"), "potato": ("potato", "spuds")}
    >>> [m.id for m in find("tomatos", names, 1)]
    ['tomato']
    >>> find("Spuds", names)[0].score
    100.0
    """
    wanted = plain(text)
    if not wanted:
        return []
    exact = [id_ for id_, words in names.items() if wanted in map(plain, words)]
    if exact:
        return [Match(id_, 100.0, text) for id_ in exact[:limit]]
    from rapidfuzz import fuzz, process

    flat = [(id_, w) for id_, words in names.items() for w in words]
    scored = process.extract(
        wanted, [plain(w) for _, w in flat], scorer=fuzz.WRatio, limit=limit * 4, score_cutoff=NEAR
    )
    best: dict[str, Match] = {}
    for _, score, index in scored:
        id_, wording = flat[index]
        # WRatio forgives a short word inside a long one too freely: hold it to length.
        ratio = fuzz.ratio(wanted, plain(wording))
        fair = 0.5 * float(score) + 0.5 * ratio
        if fair >= NEAR and (id_ not in best or best[id_].score < fair):
            best[id_] = Match(id_, fair, wording)
    return sorted(best.values(), key=lambda m: (-m.score, m.id))[:limit]


def nearest(text: str, known: Iterable[str], limit: int = 3) -> list[str]:
    """Ids near a mistyped id, best first, for error messages.

    >>> nearest("sesaon", ["season", "stage", "place"])
    ['season']
    """
    import difflib

    return difflib.get_close_matches(text, list(known), limit, cutoff=0.6)


@dataclass(frozen=True, slots=True)
class Sign:
    """A finding, with one of its values, recognised in a story."""

    finding: str
    value: str
    label: str
    score: float


_CLAUSE = re.compile(r"[.;,!?\n]|\band\b|\bbut\b|\bwith\b|\bwhile\b")
_NOT = re.compile(r"\b(no|not|never|without|isn t|aren t|none)\b")


def signs(kb: Knowledge, text: str, limit: int = 10) -> list[Sign]:
    """Findings a story seems to speak of, to be confirmed by the one who told it.

    Each wording is looked for in each clause; clauses with a denial are passed over.

    >>> from diagnose.kb.load import load
    >>> found = signs(load(), "My tomatoes are twisted, leaf stalks turn down. No aphids.")
    >>> "aphids_seen" in [s.finding for s in found]
    False
    """
    from rapidfuzz import fuzz

    clauses = [c for c in (plain(part) for part in _CLAUSE.split(text)) if c]
    clauses = [c for c in clauses if not _NOT.search(c)]
    best: dict[tuple[str, str], Sign] = {}
    for finding in kb.findings.values():
        if finding.form not in ("tick", "choice"):
            continue
        wordings: list[tuple[str, str, str]] = []
        if finding.form == "tick":
            words = (finding.name, finding.standard_term, *finding.also_said)
            wordings += [("present", finding.name, w) for w in words if w]
        else:
            for value in finding.values:
                if value.id != finding.normal:
                    label = f"{finding.name}: {value.label}"
                    wordings += [(value.id, label, w) for w in (value.label, *value.also_said)]
        for value_id, label, wording in wordings:
            w = plain(wording)
            if len(w) < 4:
                continue
            for clause in clauses:
                score = _in_clause(w, clause, fuzz)
                key = (finding.id, value_id)
                if score >= SURE and (key not in best or best[key].score < score):
                    best[key] = Sign(finding.id, value_id, label, score)
    return sorted(best.values(), key=lambda s: (-s.score, s.finding))[:limit]


def _in_clause(wording: str, clause: str, fuzz: object) -> float:
    if f" {wording} " in f" {clause} ":
        return 100.0 + min(len(wording), 30) / 10
    if len(wording) < 7 or len(wording) > len(clause) + 2:
        return 0.0
    return float(fuzz.partial_ratio(wording, clause)) - 2.0  # type: ignore[attr-defined]
