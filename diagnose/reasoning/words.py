"""What the words of a story say about a cause, however they are answered elsewhere.

Every cause has complaints as growers make them (`told_as`), and what the book says of it: its
`about`, its examples, the wordings of the signs it often shows, the notes beside them. Counted by
word stem they make a smoothed unigram model: P(w | cause) = (n_w + mu P(w)) / (n + mu), P(w) the
share of the word over all causes. A story weighs

    power x sum over its different words of log P(w | cause) - log P(w)

The words of a story repeat one another and the answers given, so the power is far below 1. It was
set by the published cases that may be tuned to (mean log probability of the right cause over 381
cases: -1.54 without words, -1.35 at .15, -1.28 at .25, -1.26 at .35). In a story of more than
`words_enough` different words each weighs less, by the square root of the excess (with all
facts of a case for its story: -1.34 without, -1.27 with). What the teller suspects weighs nothing;
what a clause denies counts as denied.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from diagnose.kb.match import clauses, stem
from diagnose.kb.model import Cause, Finding, Knowledge
from diagnose.kb.named import unsuspecting
from diagnose.reasoning.likelihood import Array, Index
from diagnose.reasoning.settings import HOW_OFTEN, Settings

# Words that carry no sign of a trouble, beside those too short to be one.
_IDLE = frozenset(
    re.findall(
        r"\w+",
        """a about after all also although am an and any anyone anything are as at bad
    badly be because been before being between bit both but by can could day days did do
    does doing done each either else even ever few for from get gets getting going got
    had has have having he help her here his how i if in into is it its just know last
    like look looking looks lot lots made make many me month more most much my myself
    next now of off on one only or other our ours out over own please put quite really
    right same see seem seems seen she since so some something still such sure than that
    the their them then there these they thing things think this those though three
    through to too two up us very was way we week weeks well went were what when where
    which while who whole why will with would year yet you your""",
    )
)
# As they are left when punctuation is gone: "didn't" is "didn t".
_DENIALS = frozenset(
    re.findall(
        r"\w+",
        """aren barely cannot couldn didn doesn don hadn hardly hasn haven isn neither never no
    none nor not nothing wasn weren without won wouldn""",
    )
)
Stems = tuple[str, ...]


@lru_cache(maxsize=20000)
def _stem(word: str) -> str:
    return stem(word)


@lru_cache(maxsize=20000)
def _stems(text: str) -> Stems:
    """Stems of a text, in order; what a clause denies is marked, so that it counts as denied."""
    found = []
    for clause in clauses(text):
        denied = False
        for word in clause.split():
            if word in _DENIALS:
                denied = True
            elif len(word) > 2 and word.isalpha() and word not in _IDLE:
                found.append(f"not {_stem(word)}" if denied else _stem(word))
    return tuple(found)


def smoothed(counts: Array, share: Array, mu: float) -> Array:
    """Shares of words by cause, mu words of the whole book mixed in (Dirichlet smoothing).

    Args:
        counts: shape (causes, words).
        share: P(word) over all causes, shape (words,).
        mu: how many words are mixed in.
    """
    result: Array = (counts + mu * share) / (counts.sum(axis=1, keepdims=True) + mu)
    return result


class WordModel:
    """Word stems by cause, for one knowledge under one set of settings.

    Fields:
        place: column of every known stem.
        table: log P(stem | cause) - log P(stem), shape (causes, stems), in nat.
    """

    def __init__(self, kb: Knowledge, settings: Settings) -> None:
        self.kb = kb
        self.settings = settings
        documents = [self._document(cause) for cause in kb.causes.values()]
        known = sorted({s for d in documents for s in d})
        self.place = {s: i for i, s in enumerate(known)}
        counts = np.zeros((len(documents), len(known)))
        for row, document in enumerate(documents):
            for s, n in document.items():
                counts[row, self.place[s]] = n
        total = counts.sum()
        share = counts.sum(axis=0) / total if total else counts.sum(axis=0)
        each = smoothed(counts, share, settings.words_smoothing)
        self.table: Array = np.log(each / share) if total else counts

    def _document(self, cause: Cause) -> dict[str, float]:
        """Weighted counts of the stems said of a cause."""
        result: dict[str, float] = defaultdict(float)

        def add(text: str, weight: float) -> None:
            for s in _stems(text):
                result[s] += weight

        for complaint in cause.told_as:
            add(complaint, 1.0)
        add(cause.about, 1.0)
        for example in cause.examples:
            if example.expect:
                add(example.name, 1.0)
        for row in cause.evidence:
            rate = HOW_OFTEN[row.how_often]
            if rate >= HOW_OFTEN["sometimes"]:
                for text in _wordings(self.kb.findings[row.finding], row.value):
                    add(text, rate / 2)
                add(row.note, rate)
        return result

    def heard(self, text: str) -> Stems:
        """The different stems of a story that count, sorted.

        >>> from diagnose.kb.load import load
        >>> from diagnose.reasoning.settings import DEFAULT
        >>> WordModel(load(), DEFAULT).heard("Twisted leaves. No aphids. I think it is a virus.")
        ('leav', 'twist')
        """
        found = set(_stems(unsuspecting(text)))
        return tuple(sorted(s for s in found if s in self.place))

    def _rows(self, heard: Stems) -> Array:
        rows: Array = self.table[:, [self.place[s] for s in heard]]
        return rows

    def _power(self, heard: Stems) -> float:
        """What each word weighs: the longer a story, the more its words repeat one another."""
        longer = min(1.0, self.settings.words_enough / len(heard)) if heard else 1.0
        return float(self.settings.words_power * longer**0.5)

    def single(self, heard: Stems) -> Array:
        """Weight of a story for every cause, in nat."""
        result: Array = self._power(heard) * self._rows(heard).sum(axis=1)
        return result

    def pairs(self, heard: Stems, first: Index, second: Index) -> Array:
        """For pairs: each word was said of the one or of the other, evenly."""
        ratios = np.exp(self._rows(heard))
        result = np.zeros(len(first))
        for column in ratios.T:
            result += np.log((column[first] + column[second]) / 2)
        return self._power(heard) * result

    def unlisted(self, single: Array, common: Array) -> float:
        """For a cause not in the book: half any story at all, half that of the average cause."""
        return float(np.log(0.5 + 0.5 * (common @ np.exp(single))))

    def telling(
        self, text: str, position: int, *, against: bool = False, count: int = 4
    ) -> list[str]:
        """The words of a story that speak most for a cause, or against it, as they were told."""
        heard = self.heard(text)
        rows = self._rows(heard)[position] * (-1.0 if against else 1.0)
        best = [heard[i] for i in np.argsort(-rows, kind="stable")[:count] if rows[i] > 0]
        words = re.findall(r"\w+", text.casefold())
        return [next((w for w in words if _stem(w) == s), s) for s in best]


def _wordings(finding: Finding, value: str) -> Sequence[str]:
    if finding.form == "tick":
        return (finding.name, *finding.also_said)
    if finding.form == "choice":
        return (finding.label(value), *finding.values[finding.index(value)].also_said)
    return ()
