"""What a story names: its crops, the subjects it brings up, what its teller suspects."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from diagnose.kb.match import DENIAL, FILLERS, clauses, crop_names, plain, stem
from diagnose.kb.model import Knowledge

_SENTENCE = re.compile(r"[.;:!?\n]|\b(?:but|while|whereas|though)\b")
_PART = re.compile(r",|\band\b")
_SOUND = re.compile(
    r"\b(fine|ok|okay|sound|healthy|unhurt|unharmed|"
    r"(look|looks|doing|do|growing|grow) (well|good))\b"
)


def crops_named(kb: Knowledge, text: str) -> list[str]:
    """Crops a story names by a wording of the book, in its order, but for those called sound.

    Of wordings within one another the longest counts; one that several crops share is left out.

    >>> from diagnose.kb.load import load
    >>> crops_named(load(), "The sweet potatoes and tomatoes twist. The lettuce is fine.")
    ['sweet_potato', 'tomato']
    """
    owners: dict[str, set[str]] = {}
    for id_, words in crop_names(kb).items():
        for word in words:
            owners.setdefault(_unsplit(plain(word)), set()).add(id_)
    text = text.casefold()
    for name in (w.casefold() for ws in crop_names(kb).values() for w in ws if " and " in w):
        text = text.replace(name, _unsplit(name))
    found: dict[str, None] = {}
    for sentence in _SENTENCE.split(text):
        for clause in _clauses(sentence, owners):
            # What is "not healthy" is hurt.
            if _SOUND.search(clause) and not DENIAL.search(clause):
                continue
            words_ = clause.split()
            for start, end in _longest(words_, owners):
                crops = owners[" ".join(words_[start:end])]
                if len(crops) == 1:
                    found.setdefault(next(iter(crops)))
    return list(found)


def _unsplit(name: str) -> str:
    return name.replace(" and ", " ")


def _clauses(sentence: str, names: Mapping[str, object]) -> Iterator[str]:
    """Parts between commas and "and"; a part of names alone belongs to what follows it."""
    carried: list[str] = []
    for part in _PART.split(sentence):
        words = plain(part).split()
        carried += words
        in_names = sum(end - start for start, end in _longest(words, names))
        if in_names + sum(word in FILLERS for word in words) < len(words):
            yield " ".join(carried)
            carried = []
    yield " ".join(carried)


def _longest(words: Sequence[str], known: Mapping[str, object]) -> Iterator[tuple[int, int]]:
    most = max((len(k.split()) for k in known), default=0)
    start = 0
    while start < len(words):
        ends = range(min(start + most, len(words)), start, -1)
        end = next((e for e in ends if " ".join(words[start:e]) in known), 0)
        if end:
            yield start, end
        start = end or start + 1


def brought_up(kb: Knowledge, text: str) -> frozenset[str]:
    """Questions whose subject a story brings up, said or denied.

    A wording of `brought_up_by` is met in a clause that holds all its words, with any ending.

    >>> from diagnose.kb.load import load
    >>> sorted(brought_up(load(), "I sprayed them with soap. The roots have lumps."))
    ['on_the_leaves', 'roots', 'roots_lumps', 'sprays']
    """
    told = [{stem(w) for w in c.split()} for c in clauses(text)]
    return frozenset(
        q.id
        for q in kb.questions.values()
        if any({stem(w) for w in plain(p).split()} <= c for p in q.brought_up_by for c in told)
    )


_SUSPECTS = re.compile(
    r"\b(?:i (?:think|suspect|guess|fear|believe|bet)|(?:is|was) it|it must be|probably|perhaps|"
    r"maybe|could (?:it )?be|looks like)(?: (?:it s|it is|that it s|this is|its))? "
    r"(?P<what>[^.;:!?\n]{3,80})"
)


def _apostrophes(text: str) -> str:
    return re.sub(r"['\u2019]", " ", text.casefold())


def suspicion(text: str) -> str:
    """What the teller suspects, in their own words; empty when they do not say.

    It is kept for the tally and weighs nothing.

    >>> suspicion("Leaves curl. I think it's a virus. My neighbour has it.")
    'a virus'
    >>> suspicion("Leaves curl.")
    ''
    """
    hit = _SUSPECTS.search(_apostrophes(text))
    return hit["what"].strip(" ,") if hit else ""


def unsuspecting(text: str) -> str:
    """A story without what its teller suspects.

    >>> unsuspecting("Leaves curl. I think it's a virus. My neighbour has it.")
    'leaves curl.  . my neighbour has it.'
    """
    return _SUSPECTS.sub(" ", _apostrophes(text))
