"""When to stop asking, and what may be said.

settled      only with a test, laboratory or response result that speaks for the cause
likely       one cause at .8 or more
kind_only    a kind at .8 or more, the cause within it open
two_fit      two causes together cover .8, each with a real share
official_check  a regulated disease leads: never likely from an interview
nothing_fits the book does not hold it
open         several still fit; never a forced winner
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from diagnose.reasoning.explain import Weights
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.question import Gain
from diagnose.reasoning.rank import Ranking

State = Literal[
    "settled", "likely", "kind_only", "two_fit", "official_check", "nothing_fits", "open"
]
TWO_FIT_SHARE = 0.25
NOTHING_FITS = 0.5


@dataclass(frozen=True, slots=True)
class Verdict:
    """What may be said. `causes` are the one or two named, `kind` the kind named."""

    state: State
    probability: float
    causes: tuple[str, ...] = ()
    kind: str = ""


def verdict(ranking: Ranking, seen: Observations, weights: Weights) -> Verdict:
    """The verdict of a ranking."""
    settings = ranking.book.settings
    kb = ranking.book.kb
    leaders = ranking.leaders(2)
    if not leaders:
        return Verdict("nothing_fits", ranking.unlisted)
    first, p = leaders[0]
    kind = kb.causes[first].kind
    if ranking.unlisted >= NOTHING_FITS:
        return Verdict("nothing_fits", ranking.unlisted)
    tested = _proof(ranking, seen, weights, first)
    if p >= settings.settled and tested:
        return Verdict("settled", p, (first,), kind)
    if p >= settings.sure:
        state: State = "official_check" if kb.causes[first].regulated else "likely"
        return Verdict(state, p, (first,), kind)
    top_kind, p_kind = ranking.kind_leaders()[0]
    if p_kind >= settings.sure:
        members = [c for c, _ in ranking.leaders() if kb.causes[c].kind == top_kind]
        return Verdict("kind_only", p_kind, tuple(members[:1]), top_kind)
    if len(leaders) > 1:
        second, q = leaders[1]
        either = p + q - _both(ranking, first, second)
        if either >= settings.sure and min(p, q) >= TWO_FIT_SHARE:
            return Verdict("two_fit", either, (first, second), kind)
    return Verdict("open", p, (first,), kind)


def _proof(ranking: Ranking, seen: Observations, weights: Weights, cause: str) -> bool:
    """Whether the result of a settling test points at the cause itself.

    A clean result never settles anything: it speaks against one cause, not for another.
    """
    i = ranking.book.position[cause]
    rows = {(r.finding, r.value) for r in ranking.book.kb.causes[cause].evidence}
    for id_, test in ranking.book.kb.tests.items():
        fact = seen.known(id_)
        if not test.settles or fact is None or (id_, fact[0]) not in rows:
            continue
        clean = fact[0] == ranking.book.kb.findings[id_].normal
        weight = float(weights.table[id_][i]) if id_ in weights.table else 0.0
        if not clean and weight >= ranking.book.settings.settled_weight:
            return True
    return False


def _both(ranking: Ranking, first: str, second: str) -> float:
    book = ranking.book
    a, b = sorted((book.position[first], book.position[second]))
    hit = (book.first == a) & (book.second == b)
    return float(ranking.posterior[len(book.causes) + 1 :][hit].sum())


def word(probability: float, state: str = "") -> str:
    """The word for a probability: settled, likely, possible or open.

    >>> word(0.85), word(0.3), word(0.05)
    ('likely', 'possible', 'open')
    """
    if state == "settled":
        return "settled"
    if state == "official_check":  # never likely before the office has looked
        return "possible"
    if probability >= 0.8:
        return "likely"
    return "possible" if probability >= 0.15 else "open"


def percent(p: float) -> str:
    """A probability as a figure that claims no more than it knows.

    >>> percent(0.8649), percent(0.996), percent(0.004)
    ('86 %', 'over 99 %', 'under 1 %')
    """
    if p > 0.99:
        return "over 99 %"
    return "under 1 %" if p < 0.01 else f"{p:.0%}".replace("%", " %")


def confident(ranking: Ranking) -> bool:
    """P(cause) or P(kind) high enough to say, a kind only when its members act alike at first."""
    settings = ranking.book.settings
    kb = ranking.book.kb
    leaders = ranking.leaders(1)
    if not leaders:
        return True
    if leaders[0][1] >= settings.sure:
        return True
    kind, p = ranking.kind_leaders()[0]
    if p < settings.sure:
        return False
    members = [c for c in kb.causes.values() if c.kind == kind]
    live = [c for c in members if ranking.probability(c.id) >= settings.harm_floor]
    return len({c.actions.get("now", ())[:1] for c in live}) <= 1


@dataclass(frozen=True, slots=True)
class Stop:
    """Why the interview stops."""

    reason: Literal["clear", "nothing_more", "cap", "many_unknown", "enough"]


def stop(
    ranking: Ranking, best: Gain | None, asked: int, unknown_in_a_row: int, phone: bool
) -> Stop | None:
    """Whether to stop before asking `best`.

    Args:
        ranking: where the case stands.
        best: the best question left, or None.
        asked: questions shown so far beyond the opening.
        unknown_in_a_row: don't-knows since the last real answer.
        phone: told by phone, with its lower cap.
    """
    settings = ranking.book.settings
    if best is None or best.per_effort < settings.worth_asking:
        return Stop("nothing_more")
    if asked >= (settings.phone_cap if phone else settings.cap):
        return Stop("cap")
    if unknown_in_a_row >= settings.patience:
        return Stop("many_unknown")
    if confident(ranking) and best.per_effort < settings.keep_asking:
        return Stop("clear")
    return None
