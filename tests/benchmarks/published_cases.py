"""How the interview does on published cases: python tests/benchmarks/published_cases.py [--each].

Real cases with a named cause, encoded by somebody who did not know it. The interview asks its own
questions and hears "don't know" where a case is silent. Both halves are printed apart, with 95 %
intervals: the book may be corrected by the first and never by the second. A third set, collected
for correcting the book, is printed by itself. Firm cases are those not marked weak. Also told: the
same with all answers given at once, and how often what was first suspected outranks the answer.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from dataclasses import dataclass
from math import sqrt
from pathlib import Path
from typing import Any

from diagnose.curate.cases import Case
from diagnose.curate.examples import rank_answers
from diagnose.curate.trial import Tried, figures, try_case
from diagnose.kb import strictyaml
from diagnose.kb.load import load
from diagnose.kb.model import Knowledge
from diagnose.reasoning.book import Book
from diagnose.reasoning.rank import Ranker, Ranking

DATA = Path(__file__).parent.parent / "data" / "published_cases"
WEAK = ("weak", "weak_opinion")
COLLECTED = "collected"
SHARES = ("top1", "top3", "kind1", "sure_right", "undetermined_right")


@dataclass(frozen=True, slots=True)
class Outcome:
    """One case: its row, how the interview went, its rank with all answers at once.

    `suspect_first`: whether a first suspicion outranked the answer; None where none is on record.
    """

    row: dict[str, Any]
    tried: Tried
    rank_all: int
    suspect_first: bool | None


def rows(name: str) -> list[dict[str, Any]]:
    """The cases of one of the two files."""
    found: list[dict[str, Any]] = strictyaml.read(DATA / name).value["cases"]
    return found


def all_rows() -> list[tuple[dict[str, Any], dict[str, Any]]]:
    """Every case as its row (what is expected) and its answers; the collected ones last."""
    answers = {row["id"]: row["answers"] for row in rows("encoded.yaml")}
    given = [(row, answers[row["id"]]) for row in rows("expected.yaml")]
    own = [({**row, "use": COLLECTED}, row["answers"]) for row in rows("collected.yaml")]
    return given + own


def case_of(kb: Knowledge, row: dict[str, Any], answers: dict[str, Any]) -> Case:
    """A case for the trial; a cause the book lacks counts as missed."""
    expect = tuple(row["expect"]) or (("not_in_this_book",) if row.get("lacks") else ())
    kinds = tuple(row.get("expect_kind", ())) or tuple(
        dict.fromkeys(kb.causes[c].kind for c in row["expect"])
    )
    return Case(row["id"], answers, expect, kinds)


def suspects(kb: Knowledge, row: dict[str, Any]) -> set[str]:
    """Causes first suspected, the answer itself left out."""
    kinds, families = row.get("suspected_kind", ()), row.get("suspected_family", ())
    wide = {c.id for c in kb.causes.values() if c.kind in kinds or c.family in families}
    return (wide | set(row.get("suspected", ()))) - set(row["expect"])


def _suspect_first(kb: Knowledge, row: dict[str, Any], ranking: Ranking) -> bool | None:
    named = suspects(kb, row)
    if not named or not row["expect"]:
        return None
    best = max(ranking.probability(c) for c in row["expect"])
    return max(ranking.probability(c) for c in named) > best


def outcomes(*, collected: bool = True) -> list[Outcome]:
    """Interview every case, the collected ones only when asked for."""
    ranker = Ranker(Book(load()))
    kb = ranker.book.kb
    found = []
    for row, given in all_rows():
        if row["use"] == COLLECTED and not collected:
            continue
        tried = try_case(ranker, case_of(kb, row, given))
        ranking = rank_answers(ranker, given)
        order = [c for c, _ in ranking.leaders()]
        ranks = [order.index(c) + 1 for c in row["expect"]]
        lost = len(order) + 1 if row.get("lacks") else 0
        suspected = _suspect_first(kb, row, ranking)
        found.append(Outcome(row, tried, min(ranks, default=lost), suspected))
    return found


def halves(found: Iterable[Outcome]) -> dict[str, list[Outcome]]:
    """The outcomes by half, firm ones apart."""
    groups: dict[str, list[Outcome]] = {}
    for outcome in found:
        use = outcome.row["use"]
        firm = outcome.row["strength"] not in WEAK
        names = (use, "all") if use != COLLECTED else (use,)
        for name in (*names, *(f"{n}, firm" for n in names)):
            if firm or "firm" not in name:
                groups.setdefault(name, []).append(outcome)
    return dict(sorted(groups.items()))


def interval(share: float, count: int) -> tuple[float, float]:
    """Wilson's 95 % interval of a share of `count`.

    >>> [round(x, 3) for x in interval(0.2, 10)]  # 2 of 10: Newcombe 1998, table I gives .057-.510
    [0.057, 0.51]
    """
    z = 1.959964
    middle = (share + z * z / (2 * count)) / (1 + z * z / count)
    reach = z * sqrt(share * (1 - share) / count + z * z / (4 * count**2)) / (1 + z * z / count)
    return middle - reach, middle + reach


def main() -> None:
    """Interview every case and print the figures."""
    found = outcomes()
    if "--each" in sys.argv:
        for o in found:
            top = ", ".join(f"{c} {p:.2f}" for c, p in o.tried.top)
            told = (
                f"rank {o.tried.rank} (all {o.rank_all}), {o.tried.verdict}, {o.tried.questions} q"
            )
            print(
                o.row["id"], o.row["use"], o.row["strength"], o.row["expect"], told, top, sep="  "
            )
    for name, group in halves(found).items():
        told = figures([o.tried for o in group])
        known = int(told["cases_known"])
        all_given = [o.rank_all for o in group if o.rank_all]
        print(f"{name}: {len(group)} cases, {known} with an answer")
        for key in SHARES:
            count = int(told["sure_count"]) if key == "sure_right" else known
            if key == "undetermined_right":
                count = len(group) - known
            low, high = interval(told[key], count) if count else (0.0, 1.0)
            print(f"  {key} {told[key]:.2f} ({low:.2f}-{high:.2f}, n {count})")
        first = sum(r == 1 for r in all_given) / len(all_given)
        third = sum(r <= 3 for r in all_given) / len(all_given)
        print(f"  all answers at once: first {first:.2f}, in three {third:.2f}")
        asked = told["questions_median"], told["questions_p90"]
        print(f"  questions median {asked[0]:g}, p90 {asked[1]:g}")
        print(f"  brier {told['brier']}, ece {told['ece']}")
        on_record = [o.suspect_first for o in group if o.suspect_first is not None]
        print(f"  first suspicion outranks the answer in {sum(on_record)} of {len(on_record)}")


if __name__ == "__main__":
    main()
