"""How well each family is covered: causes, causes that count, sourced rows, tests, examples."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.curate.checks.evidence import ENOUGH_ROWS, ENOUGH_SOURCES, read_publishers
from diagnose.curate.checks.lookalikes import ENOUGH, separating
from diagnose.curate.examples import run_examples
from diagnose.kb.model import Cause, Knowledge


@dataclass(frozen=True, slots=True)
class Coverage:
    """One family, or the whole book.

    Fields:
        name: of the family.
        causes, counting: how many causes, and how many of them count (see `counting`).
        rows, read: evidence rows, and those with a read source.
        tests: different tests its causes name.
        examples, borne_out: examples, and those the ranking bears out.
    """

    name: str
    causes: int
    counting: int
    rows: int
    read: int
    tests: int
    examples: int
    borne_out: int

    def cells(self) -> tuple[str, ...]:
        """The row of the table."""
        share = f"{100 * self.read / self.rows:.0f} %" if self.rows else "-"
        examples = f"{self.borne_out} of {self.examples}"
        counts = (self.causes, self.counting, self.rows)
        return (self.name, *(str(n) for n in counts), share, str(self.tests), examples)


HEADINGS = ("Family", "Causes", "Count", "Rows", "Read", "Tests", "Examples right")


def counting(cause: Cause, kb: Knowledge, borne_out: bool) -> bool:
    """Whether a cause counts.

    It needs 8 evidence rows, 2 independent read publishers, 2 findings that separate it from each
    of its look-alikes, a case it wins and a near miss it loses.
    """
    both = any(x.expect for x in cause.examples) and any(x.beaten_by for x in cause.examples)
    others = [kb.causes[x.cause] for x in cause.lookalikes if x.cause in kb.causes]
    return (
        len(cause.evidence) >= ENOUGH_ROWS
        and len(read_publishers(cause, kb)) >= ENOUGH_SOURCES
        and bool(others)
        and all(len(separating(cause, other, kb)) >= ENOUGH for other in others)
        and both
        and borne_out
    )


def coverage(kb: Knowledge) -> list[Coverage]:
    """A row for each family with causes, then one for the whole book."""
    right: dict[str, list[bool]] = {id_: [] for id_ in kb.causes}
    for outcome in run_examples(kb):
        right[outcome.cause].append(outcome.passed)
    rows = []
    for family in kb.families.values():
        causes = [c for c in kb.causes.values() if c.family == family.id]
        if causes:
            rows.append(_covered(family.name, causes, kb, right))
    return [*rows, _covered("The whole book", list(kb.causes.values()), kb, right)]


def coverage_lines(kb: Knowledge) -> list[str]:
    """The table as aligned lines, headings first."""
    table = [HEADINGS, *(row.cells() for row in coverage(kb))]
    name, *rest = (max(map(len, column)) for column in zip(*table, strict=True))
    return ["  ".join([cells[0].ljust(name), *map(str.rjust, cells[1:], rest)]) for cells in table]


def _covered(
    name: str, causes: Sequence[Cause], kb: Knowledge, right: dict[str, list[bool]]
) -> Coverage:
    evidence = [row for c in causes for row in c.evidence]
    return Coverage(
        name,
        len(causes),
        sum(counting(c, kb, all(right[c.id])) for c in causes),
        len(evidence),
        sum(not row.cited.from_memory for row in evidence),
        len({t for c in causes for t in c.confirm}),
        sum(len(right[c.id]) for c in causes),
        sum(sum(right[c.id]) for c in causes),
    )
