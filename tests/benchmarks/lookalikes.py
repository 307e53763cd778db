"""Are look-alikes told apart? python tests/benchmarks/lookalikes.py [cases] [seed].

For every look-alike pair, simulated growers have one or the other (15 % of questions unknown, 5 %
of answers wrong). The interview knows it is one of the two, either as likely, for as many cases of
either are drawn, and picks its own questions. Told apart: the true one is first after twelve steps
(the eight of the opening and four chosen ones), and after the opening and twelve chosen ones.
Prints the share over all pairs and the weakest fifteen. Two processes; 8 cases take a quarter of an
hour. With so few a pair may fall short by chance: try it anew with more before touching the book.
"""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from diagnose.curate.checks.lookalikes import pairs
from diagnose.curate.simulate import Grower, draw_case, without
from diagnose.curate.trial import interview_case
from diagnose.interview.session import Session
from diagnose.kb.load import load
from diagnose.kb.model import Knowledge
from diagnose.reasoning.book import Book
from diagnose.reasoning.rank import Ranker
from diagnose.reasoning.settings import DEFAULT

GROWER = Grower(unknown=0.15, wrong=0.05)
WANTED = 0.8
WEAKEST = 15
PROCESSES = 2
STRICT, BEYOND = 4, 12  # chosen questions


@dataclass(frozen=True, slots=True)
class Pair:
    """Share of cases of a pair that came out right, for each true cause and cap."""

    first: str
    second: str
    strict: tuple[float, float]
    wide: tuple[float, float]


def leader_after(session: Session, chosen: int) -> str:
    """The leader when only the opening and so many chosen questions are counted."""
    opening = session.opening_ids()
    kept = [q for q in session.shown if q not in opening][:chosen]
    answers = {q: a for q, a in session.answers.items() if q in opening or q in kept}
    return Session(session.ranker, answers=answers).ranking().leaders(1)[0][0]


def evenly(kb: Knowledge) -> Knowledge:
    """The same knowledge with every cause as common as any other."""
    even = {id_: replace(c, how_common="common", how_common_on=()) for id_, c in kb.causes.items()}
    return replace(kb, causes=even)


def try_pair(kb: Knowledge, first: str, second: str, cases: int, seed: int) -> Pair:
    """Interview simulated growers of either cause."""
    book_of = evenly(without(kb, [c for c in kb.causes if c not in (first, second)]))
    settings = replace(DEFAULT, cap=BEYOND, unlisted=0.02, pairs=0.0)
    ranker = Ranker(Book(book_of, settings))
    rng = np.random.default_rng(seed)
    shares: dict[int, list[float]] = {STRICT: [], BEYOND: []}
    for true in range(2):
        right = dict.fromkeys(shares, 0)
        for number in range(cases):
            case = draw_case(ranker.book, (true,), GROWER, rng, f"p{number}")
            session = interview_case(ranker, case)
            for chosen in shares:
                right[chosen] += leader_after(session, chosen) == ranker.book.causes[true]
        for chosen, found in shares.items():
            found.append(right[chosen] / cases)
    strict, beyond = ((found[0], found[1]) for found in shares.values())
    return Pair(first, second, strict, beyond)


def main(cases: int = 25, seed: int = 20261128) -> None:
    """Print the share of pairs told apart and the weakest."""
    kb = load()
    first, second = zip(*pairs(kb), strict=True)
    with ProcessPoolExecutor(PROCESSES) as pool:
        tried = list(pool.map(partial(try_pair, kb, cases=cases, seed=seed), first, second))
    for name, of in (("12 steps", lambda p: p.strict), ("12 beyond the opening", lambda p: p.wide)):
        means = [sum(of(p)) / 2 for p in tried]
        good = sum(m >= WANTED for m in means)
        worst = sum(min(of(p)) >= WANTED for p in tried)
        print(
            f"{name}: {good} of {len(tried)} pairs at {WANTED:.0%} or more over both causes;",
            end=" ",
        )
        print(f"{worst} for either cause alone; mean {np.mean(means):.3f}")
    tried.sort(key=lambda p: sum(p.strict))
    print(f"Weakest {WEAKEST} (share right for the first, the second; 12 steps | 12 beyond):")
    for p in tried[:WEAKEST]:
        (a, b), (c, d) = p.strict, p.wide
        print(f"  {p.first} / {p.second}: {a:.2f} {b:.2f} | {c:.2f} {d:.2f}")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
