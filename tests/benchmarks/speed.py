"""How long the next question takes, on the real knowledge and on made-up ones up to 10 times it.

    python tests/benchmarks/speed.py

Whole interviews are held, each in a fresh session; the cause behind them gives its likeliest
answers, every fifth is "don't know". Timed is what a person waits for: taking an answer and
working out the next question. Made-up books get an opening of 14 questions, as the real one has.
"first" is the longest wait up to and with the first chosen question; the other columns are every
later one. Targets for both: 50 ms at real size, 250 ms at 10 times. Unit: ms.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from time import perf_counter

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from big_book import big_knowledge

from diagnose.interview.offer import Offer
from diagnose.interview.session import Session
from diagnose.interview.status import status
from diagnose.interview.step import Step
from diagnose.kb.load import load
from diagnose.kb.model import Knowledge, OpeningStep, Question
from diagnose.reasoning.book import Book
from diagnose.reasoning.likelihood import Context
from diagnose.reasoning.rank import Ranker

FIRST, REAL, TENFOLD = 500.0, 50.0, 250.0
CASES = 5
LONGEST = 60


def answer(book: Book, question: Question, cause: int, turn: int) -> object:
    """The likeliest answer under a cause; None where it is better skipped."""
    if question.form == "crops":
        return {"tomato": "hurt", "bean": "hurt", "sweetcorn": "fine_beside"}
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
    """Seconds waited for each question of one interview: the longest of the opening, then all."""
    # Answers come from a book of their own, so that the one timed is cold at the start.
    replies, session = Book(kb), Session(Ranker(Book(kb)))
    start = perf_counter()
    step = session.next_step()
    longest = perf_counter() - start
    for turn in range(LONGEST):
        if isinstance(step, Offer):
            session.pick(step.id, step.taking())
            step = session.next_step()
        if not isinstance(step, Step):
            return
        # An opening says little about the cause; made-up questions would say all at once.
        vague = step.total > 0 and turn > 2 and not kb.crops
        raw = None if vague else answer(replies, step.question, cause, turn)
        taken = session.read(step.question.id, raw)
        opening = step.total > 0
        start = perf_counter()
        session.apply(taken)
        step = session.next_step()
        status(session)  # the line under every question
        wait = perf_counter() - start
        longest = max(longest, wait)
        chosen = isinstance(step, Offer) or (isinstance(step, Step) and step.total == 0)
        if opening and chosen:
            yield longest
        elif not opening:
            yield wait


def with_opening(kb: Knowledge) -> Knowledge:
    """A made-up book with as long an opening as the real one has."""
    return replace(kb, opening=(OpeningStep("opening", tuple(kb.questions)[:14]),))


def row(name: str, kb: Knowledge, target: float | None) -> tuple[float, bool]:
    """Time some interviews and print a line: the median wait, and whether the target was met."""
    start = perf_counter()
    book = Book(kb)
    _ = book.prior
    built = 1000 * (perf_counter() - start)
    colds, later = [], []
    for cause in np.linspace(0, len(kb.causes) - 1, CASES).astype(int):
        cold, *warm = waits(kb, int(cause))
        colds.append(1000 * cold)
        later += [1000 * w for w in warm]
    later.sort()
    first, median, late = statistics.median(colds), statistics.median(later), later[-1]
    most = later[int(0.9 * len(later))]
    verdict = ""
    if target is not None:
        verdict = f"{said(late, target)} {target:.0f}, first {said(first, target)}"
    print(
        f"{name:8}{len(kb.causes):8}{len(kb.findings):10}{len(book.prior):12}{built:8.0f}"
        f"{first:8.0f}{median:9.1f}{most:8.1f}{late:8.1f}{len(later):6}  {verdict}",
        flush=True,
    )
    return median, target is None or max(first, late) <= target


def first_prompt() -> float:
    """Milliseconds from the start of the program to its first question on screen, cache warm."""
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "diagnose.cli.main", "interview", "--plain"]
        env = {**os.environ, "DIAGNOSE_CASEBOOK": folder, "DIAGNOSE_CACHE": f"{folder}/cache"}
        waited = []
        for _ in range(6):
            start = perf_counter()
            with subprocess.Popen(
                command, env=env, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
            ) as run:
                assert run.stdout is not None
                for line in run.stdout:
                    if line.startswith("[1 of"):
                        waited.append(1000 * (perf_counter() - start))
                        run.kill()
                        break
    return statistics.median(waited[1:])  # the first fills the cache


def said(wait: float, target: float) -> str:
    """Whether a wait meets its target."""
    return "meets" if wait <= target else "MISSES"


def main() -> int:
    """Print the table; 1 when a target is missed."""
    shown = first_prompt()
    print(f"first question on screen: {shown:.0f} ms, {said(shown, FIRST)} {FIRST:.0f}")
    heads = ("causes", "findings", "hypotheses", "prior", "first", "median", "90 %", "worst", "n")
    widths = (8, 10, 12, 8, 8, 9, 8, 8, 6)
    print(" " * 8 + "".join(f"{h:>{w}}" for h, w in zip(heads, widths, strict=True)))
    rows = [row("real", load(), REAL)]
    for times, target in ((1, REAL), (2, None), (5, None), (10, TENFOLD)):
        rows.append(
            row(f"{times} x", with_opening(big_knowledge(115 * times, 230 * times)), target)
        )
    print(f"10 times the causes and findings: {rows[-1][0] / rows[1][0]:.1f} times the wait")
    return 0 if all(met for _, met in rows) and shown <= FIRST else 1


if __name__ == "__main__":
    sys.exit(main())
