"""Simulated growers on the real book: python tests/benchmarks/simulate.py [cases] [seed].

Cases are drawn from the book's own rates, so the figures show what questions and settings can do
if the book is right. With 200 cases a row takes one to three minutes.
"""

from __future__ import annotations

import sys
import time

from diagnose.curate.simulate import Grower, Plan, Shuffled, simulate
from diagnose.kb.load import load

SHOWN = (
    "top1",
    "top3",
    "kind1",
    "both",
    "undetermined_right",
    "questions_median",
    "questions_p90",
    "brier",
    "ece",
)


def main(cases: int = 200, seed: int = 20261125) -> None:
    """Print a table, one row a plan."""
    kb = load()
    rows = [
        (f"one cause, {unknown:.0%} unknown", Plan(cases, 1, grower=Grower(unknown), seed=seed))
        for unknown in (0.15, 0.5, 0.75)
    ]
    rows += [
        (f"two causes, {unknown:.0%} unknown", Plan(cases, 2, grower=Grower(unknown), seed=seed))
        for unknown in (0.15, 0.5, 0.75)
    ]
    rows += [
        (
            f"cause not in the book, {unknown:.0%} unknown",
            Plan(cases // 2, 1, deleted=True, grower=Grower(unknown), seed=seed),
        )
        for unknown in (0.15, 0.5, 0.75)
    ]
    rows += [
        ("file order, 15% unknown", Plan(cases, 1, order=Shuffled.FILE, seed=seed)),
        ("random order, 15% unknown", Plan(cases, 1, order=Shuffled.RANDOM, seed=seed)),
    ]
    print(f"{'':36}" + "".join(f"{name[:12]:>13}" for name in SHOWN) + f"{'seconds':>9}")
    for name, plan in rows:
        start = time.perf_counter()
        found = simulate(kb, plan)
        cells = "".join(f"{found.get(key, 0.0):13.3f}" for key in SHOWN)
        print(f"{name:36}{cells}{time.perf_counter() - start:9.1f}", flush=True)


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
