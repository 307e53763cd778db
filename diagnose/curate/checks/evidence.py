"""Checks on evidence rows: enough of them, sourced, and saying something."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.curate.checks.base import CauseCheck
from diagnose.kb.fault import Fault
from diagnose.kb.model import UNSOURCED, Cause, Knowledge
from diagnose.kb.tree import Tree
from diagnose.reasoning.settings import HOW_OFTEN

ENOUGH_ROWS = 8
ENOUGH_SOURCES = 2
RARE = 0.10
MEMORY_SHARE = 0.5


def read_publishers(cause: Cause, kb: Knowledge) -> set[str]:
    """Publishers of the read sources behind the evidence of a cause."""
    ids = {s for row in cause.evidence if row.cited.seen == "read" for s in row.cited.sources}
    return {kb.sources[i].publisher for i in ids - UNSOURCED if i in kb.sources}


class ThinCause(CauseCheck):
    """Too few evidence rows."""

    code = "KB201"
    about = "a cause has fewer than 8 evidence rows"
    remedy = "Add rows from further sources, or keep the cause as a draft outside the book."

    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Count rows."""
        if len(cause.evidence) < ENOUGH_ROWS:
            wrong = f"'{cause.id}' has {len(cause.evidence)} evidence rows"
            yield self.fault(wrong, self.at(tree, cause, "evidence"))


class FewSources(CauseCheck):
    """Too few independent sources."""

    code = "KB202"
    about = "the evidence of a cause rests on fewer than 2 independent read sources"
    remedy = "Two publishers at least: look a row up in another one."

    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Count publishers."""
        found = read_publishers(cause, kb)
        if len(found) < ENOUGH_SOURCES:
            wrong = f"'{cause.id}' rests on {len(found)} independent read source(s)"
            yield self.fault(wrong, self.at(tree, cause, "evidence"))


class RowTwice(CauseCheck):
    """One value of a finding is rated twice for the same crops."""

    code = "KB203"
    about = "a cause rates the same value of a finding twice for the same crops"
    remedy = "Merge the two rows; keep the conflict in a note."

    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Compare rows."""
        seen = set()
        for i, row in enumerate(cause.evidence):
            key = (row.finding, row.value, row.crops)
            if key in seen:
                wrong = f"'{row.finding}={row.value}' is rated twice"
                yield self.fault(wrong, self.at(tree, cause, "evidence", i))
            seen.add(key)


class RatesOverOne(CauseCheck):
    """Stated rates of one finding add up to more than 1."""

    code = "KB204"
    about = "the rates a cause states for one finding add up to more than 1.05"
    remedy = "Lower one: the values of a finding exclude each other."

    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Add up the rows for all crops."""
        totals: dict[str, float] = {}
        for i, row in enumerate(cause.evidence):
            if row.crops:
                continue
            totals[row.finding] = totals.get(row.finding, 0.0) + HOW_OFTEN[row.how_often]
            if totals[row.finding] > 1.05:
                wrong = f"the rates of '{row.finding}' add up to {totals[row.finding]:.2f}"
                yield self.fault(wrong, self.at(tree, cause, "evidence", i))


class NeverOnRare(CauseCheck):
    """`never` on a finding that is rare anyway."""

    code = "KB205"
    level = "warning"
    about = "`never` on a value whose background is below .10, where it hardly bites"
    remedy = "Drop the row, or write a rule if it excludes the cause."

    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Compare with the background."""
        for i, row in enumerate(cause.evidence):
            finding = kb.findings[row.finding]
            rate = finding.background.rates[finding.index(row.value)]
            if row.how_often == "never" and rate < RARE:
                wrong = f"'never' on '{row.finding}={row.value}', background {rate:.2f}"
                yield self.fault(wrong, self.at(tree, cause, "evidence", i))


class RowMovesNothing(CauseCheck):
    """A row as likely as its background."""

    code = "KB206"
    level = "note"
    about = "an evidence row about as likely as its background, which moves nothing"
    remedy = "Keep it only where it separates a look-alike."

    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Compare with the background."""
        for i, row in enumerate(cause.evidence):
            finding = kb.findings[row.finding]
            rate = finding.background.rates[finding.index(row.value)]
            stated = HOW_OFTEN[row.how_often]
            if abs(stated - rate) < 0.04:
                wrong = f"'{row.finding}={row.value}' is {row.how_often}, background {rate:.2f}"
                yield self.fault(wrong, self.at(tree, cause, "evidence", i))


class MostlyMemory(CauseCheck):
    """Half or more of a cause's rows have no read source."""

    code = "KB208"
    level = "note"
    about = "half or more of the evidence rows of a cause rest on memory"
    remedy = "Look the rows up; drop those that move little."

    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Count rows from memory."""
        memory = sum(row.cited.from_memory for row in cause.evidence)
        if memory >= MEMORY_SHARE * len(cause.evidence):
            wrong = f"'{cause.id}': {memory} of {len(cause.evidence)} rows rest on memory"
            yield self.fault(wrong, self.at(tree, cause, "evidence"))
