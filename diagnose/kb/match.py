"""Matches what people type to names in the book: crops, inputs, events, findings.

Exact names and synonyms win; else rapidfuzz scores them, so that "tomatos" finds tomato. Nothing
is taken without the caller's say: below the score of `SURE` the caller should ask.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from diagnose.kb.model import Finding, Knowledge

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


# A shorter word is as near to many names as to one: "what" to wheat, "hard" to biochar.
LEAST = 5
FILLERS = frozenset(
    re.findall(r"\w+", "a an the my our your their some any all both is are was were it its i we")
    + re.findall(r"\w+", "with used put had got just only also mostly maybe plant plants")
)


def without_fillers(words: str) -> str:
    """A plain wording without the small words at its ends; as it is when it has no other.

    >>> without_fillers("the sweetcorn is"), without_fillers("some")
    ('sweetcorn', 'some')
    """
    kept = words.split()
    while kept and kept[-1] in FILLERS:
        kept.pop()
    while kept and kept[0] in FILLERS:
        kept.pop(0)
    return " ".join(kept) or words


def _one(word: str) -> str:
    """The word for one of them, near enough to compare two: beans and bean, potatoes and potato."""
    if word.endswith(("oes", "shes", "ches")):
        return word[:-2]
    return word[:-1] if word.endswith("s") and len(word) > 3 else word


def _exact(wanted: str, names: Mapping[str, Sequence[str]]) -> list[str]:
    def joined(words: str) -> str:
        return _one(words).replace(" ", "")

    for same in (str, joined):
        target = same(wanted)
        hits = [i for i, ws in names.items() if any(same(plain(w)) == target for w in ws)]
        if hits:
            return hits
    return []


def find(text: str, names: Mapping[str, Sequence[str]], limit: int = 5) -> list[Match]:
    """The ids whose wording fits a typed name best, best first.

    Small words at the ends do not count. A name is guessed at only when it has a word of 5 letters.

    >>> names = {"tomato": ("tomato", "tomatoes"), "potato": ("potato", "spuds")}
    >>> [m.id for m in find("tomatos", names, 1)]
    ['tomato']
    >>> find("Spuds", names)[0].score
    100.0
    """
    wanted = plain(text)
    if not wanted:
        return []
    exact = _exact(wanted, names) or _exact(without_fillers(wanted), names)
    if exact:
        return [Match(id_, 100.0, text) for id_ in exact[:limit]]
    wanted = without_fillers(wanted)
    if max(map(len, wanted.split())) < LEAST:
        return []
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
    words = set(wanted.split())
    if len({id_ for id_, wording in flat if words <= set(plain(wording).split())}) > 1:
        # A word several names share ("compost") is no name yet: the caller must ask.
        best = {i: replace(m, score=min(m.score, SURE - 1)) for i, m in best.items()}
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


_CLAUSE = re.compile(r"[.;,!?\n]|\b(?:and|but|with|while|since|then)\b")
DENIAL = re.compile(r"\b(no|not|never|without|isn t|aren t|none)\b")
_EMPTY = frozenset(
    re.findall(r"\w+", "a an the is are of at on in it its my they them to too has have")
)
_ENDINGS = re.compile(r"(ings?|ed|ly|ies|es|s|y)$")
# One short word as the wording of a value in a choice ("few", "patches") fits too many stories.
LONE_WORD = 8
# Single words from here on are long enough to bear a slip of spelling.
LONGER = 6


def stem(word: str) -> str:
    """A word without its common endings, so that twisted, twisting and twists agree.

    >>> stem("twisted"), stem("twists"), stem("leaves"), stem("sprayed") == stem("spray")
    ('twist', 'twist', 'leav', True)
    """
    for _ in range(2):  # "sprayed" is "spray" and so "spra", as "spray" is
        cut = _ENDINGS.sub("", word)
        word = cut if len(cut) >= 3 else word
    return word


def clauses(text: str) -> list[str]:
    """The clauses of a story, in plain form.

    >>> clauses("Leaves curl, and the tips are brown.")
    ['leaves curl', 'the tips are brown']
    """
    return [c for c in (plain(part) for part in _CLAUSE.split(text.casefold())) if c]


def signs(kb: Knowledge, text: str, limit: int = 10) -> list[Sign]:
    """Findings a story seems to speak of, to be confirmed by the one who told it.

    A wording fits a clause that holds all its words, in any order and with any ending; longer
    wordings also fit with a slip of spelling. A clause with a denial fits only wordings that hold
    one themselves ("not growing").

    >>> from diagnose.kb.load import load
    >>> found = signs(load(), "My tomatoes are twisted, leaf stalks turn down. No aphids.")
    >>> "aphids_seen" in [s.finding for s in found]
    False
    """
    told = clauses(text)
    denied = [bool(DENIAL.search(c)) for c in told]
    stems = [{stem(w) for w in c.split()} for c in told]
    best: dict[tuple[str, str], Sign] = {}
    for finding in kb.findings.values():
        for value, label, wording in _wordings(finding):
            lone = len(wording.split()) == 1
            if len(wording) < (LONE_WORD if lone and finding.form == "choice" else 4):
                continue
            for clause, words, no in zip(told, stems, denied, strict=True):
                if no and not DENIAL.search(wording):
                    continue
                score = _in_clause(wording, clause, words)
                key = (finding.id, value)
                if score >= SURE and (key not in best or best[key].score < score):
                    best[key] = Sign(finding.id, value, label, score)
    ranked = sorted(best.values(), key=lambda s: (-s.score, s.finding, s.value))
    # One value a finding: two that exclude each other are no help to who must confirm them.
    chosen: dict[str, Sign] = {}
    for sign in ranked:
        chosen.setdefault(sign.finding, sign)
    return list(chosen.values())[:limit]


def _wordings(finding: Finding) -> Iterator[tuple[str, str, str]]:
    """Value, label and wording of everything a finding may be called in a story."""
    if finding.form == "tick":
        for words in (finding.name, finding.standard_term, *finding.also_said):
            yield "present", finding.name, plain(words)
    elif finding.form == "choice":
        for value in finding.values:
            if value.id != finding.normal:
                label = f"{finding.name}: {value.label}"
                for words in (value.label, *value.also_said):
                    yield value.id, label, plain(words)


def _in_clause(wording: str, clause: str, words: set[str]) -> float:
    if f" {wording} " in f" {clause} ":
        return 100.0 + min(len(wording), 30) / 10
    if " " not in wording:
        return _word_in(wording, clause.split())
    wanted = {stem(w) for w in wording.split() if w not in _EMPTY}
    if wanted and wanted <= words:
        return 92.0 + len(wanted)
    if len(wording) < 9 or len(wording) > len(clause) + 2:
        return 0.0
    from rapidfuzz import fuzz

    return float(fuzz.partial_ratio(wording, clause)) - 4.0


_INFLECTED = re.compile(r"(ings?|ed|ly|y)$")


def _word_in(wording: str, words: Sequence[str]) -> float:
    """How well a single word fits: its plural, another ending of it, or one slip of spelling."""
    if any(_one(word) == _one(wording) for word in words):
        return 93.0
    # "Twisted" is meant by "twisting"; the noun "heat" is not by "heated".
    if _INFLECTED.search(wording) and stem(wording) in {stem(word) for word in words}:
        return 93.0
    if len(wording) < LONGER:
        return 0.0
    from rapidfuzz.distance import OSA

    near = (w for w in words if len(w) >= LONGER and w[0] == wording[0])
    return 89.0 if any(OSA.distance(wording, w, score_cutoff=1) <= 1 for w in near) else 0.0
