"""How long the next question takes, on the real knowledge and on made-up ones up to 10 times it.

    python tests/benchmarks/speed.py

Whole interviews are held, each in a fresh session; the cause behind them gives its likeliest
answers, every fifth is "don't know". Timed is what a person waits for: taking an answer and
working out the next question. "first" is the first chosen question of a session, when nothing is
worked out yet. Targets: 50 ms at real size, 250 ms at 10 times. Unit: ms.
"""

from __future__ import annotations

import statistics
import sys
from collections.abc import Iterator
from pathlib import Path
from time import perf_counter

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from big_book import big_knowledge

from diagnose.interview.session import Session, Step
from diagnose.kb.load import load
from diagnose.kb.model import Knowledge, Question
from diagnose.reasoning.book import Book
from diagnose.reasoning.likelihood import Context
from diagnose.reasoning.rank import Ranker

REAL, TENFOLD = 50.0, 250.0
CASES = 5
LONGEST = 60


def answer(book: Book, question: Question, cause: int, turn: int) -> object:
    """The likeliest answer under a cause; None where it is better skipped."""
    if turn % 5 == 4 or question.form not in ("tick", "choice"):
        return None
    likeliest = {}
    for id_ in question.findings:
        finding = book.kb.findings[id_]
        rates = book.rates(finding, Context()).single[cause]
        likeliest[id_] = finding.value_ids[int(rates.argmax())]
    if question.form == "choice":
        return likeliest[question.findings[0]]
    return {"ticked": [f for f, v in likeliest.items() if v == "present"], "looked_for": "all"}


def waits(kb: Knowledge, cause: int) -> Iterator[float]:
    """Seconds waited for each chosen question of one interview; the first is cold."""
    # Answers come from a book of their own, so that the one timed is cold at the start.
    replies, session = Book(kb), Session(Ranker(Book(kb)))
    start = perf_counter()
    step = session.next_step()
    if isinstance(step, Step) and step.total == 0:  # no opening
        yield perf_counter() - start
    for turn in range(LONGEST):
        if not isinstance(step, Step):
            return
        raw = answer(replies, step.question, cause, turn)
        taken = session.read(step.question.id, raw)
        opening = step.total > 0
        start = perf_counter()
        session.apply(taken)
        step = session.next_step()
        wait = perf_counter() - start
        chosen = isinstance(step, Step) and step.total == 0
        if chosen or not opening:
            yield wait


def row(name: str, kb: Knowledge, target: float | None) -> bool:
    """Time some interviews and print a line; whether the target was met."""
    start = perf_counter()
    book = Book(kb)
    _ = book.prior
    built = perf_counter() - start
    first, later = [], []
    for cause in np.linspace(0, len(kb.causes) - 1, CASES).astype(int):
        cold, *warm = waits(kb, int(cause))
        first.append(1000 * cold)
        later += [1000 * w for w in warm]
    later.sort()
    median, late = statistics.median(later), later[int(0.9 * len(later))]
    met = target is None or later[-1] <= target
    sizes = f"{len(kb.causes):7}{len(kb.findings):10}{len(book.prior):12}"
    print(
        f"{name:12}{sizes}{1000 * built:9.0f}{statistics.median(first):8.0f}{median:9.1f}"
        f"{late:8.1f}{later[-1]:8.1f}{len(later):7}  "
        + ("" if target is None else f"{'meets' if met else 'MISSES'} {target:.0f}"),
        flush=True,
    )
    return met


def main() -> int:
    """Print the table; 1 when a target is missed."""
    heads = ("causes", "findings", "hypotheses", "prior", "first", "median", "90 %", "worst", "n")
    widths = (7, 10, 12, 9, 8, 9, 8, 8, 7)
    print(" " * 12 + "".join(f"{h:>{w}}" for h, w in zip(heads, widths, strict=True)))
    met = [row("real", load(), REAL)]
    for times, target in ((1, REAL), (2, None), (5, None), (10, TENFOLD)):
        met.append(row(f"{times} x", big_knowledge(115 * times, 230 * times), target))
    return 0 if all(met) else 1


if __name__ == "__main__":
    sys.exit(main())
