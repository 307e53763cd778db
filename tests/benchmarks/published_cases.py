"""How the interview does on published cases: python tests/benchmarks/published_cases.py.

Real cases with a named cause, encoded by somebody who did not know it. The interview asks its own
questions and hears "don't know" where a case is silent. Both halves are printed apart: the book
may be corrected by the first and never by the second.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from diagnose.curate.cases import Case
from diagnose.curate.trial import figures, try_case
from diagnose.kb import strictyaml
from diagnose.kb.load import load
from diagnose.reasoning.book import Book
from diagnose.reasoning.rank import Ranker

DATA = Path(__file__).parent.parent / "data" / "published_cases"
WEAK = ("weak", "weak_opinion")


def rows(name: str) -> list[dict[str, Any]]:
    """The cases of one of the two files."""
    found: list[dict[str, Any]] = strictyaml.read(DATA / name).value["cases"]
    return found


def main() -> None:
    """Interview every case and print the figures."""
    ranker = Ranker(Book(load()))
    answers = {row["id"]: row["answers"] for row in rows("encoded.yaml")}
    halves: dict[str, list[Any]] = {"adjust": [], "report": [], "firm, both": []}
    for row in rows("expected.yaml"):
        kinds = tuple(row.get("expect_kind", ())) or tuple(
            dict.fromkeys(ranker.book.kb.causes[c].kind for c in row["expect"])
        )
        case = Case(row["id"], answers[row["id"]], tuple(row["expect"]), kinds)
        tried = try_case(ranker, case)
        halves[row["use"]].append(tried)
        if row["strength"] not in WEAK:
            halves["firm, both"].append(tried)
    for name, tried in halves.items():
        print(name, *(f"{key} {value:g}" for key, value in figures(tried).items()), sep="  ")


if __name__ == "__main__":
    main()
