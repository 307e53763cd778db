"""Checks on look-alikes: every cause has some, each pair once, each pair told apart."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.curate.checks.base import CauseCheck
from diagnose.kb.fault import Fault
from diagnose.kb.model import Cause, Knowledge
from diagnose.kb.tree import Tree
from diagnose.reasoning.hosts import chance_hurt
from diagnose.reasoning.likelihood import Context, background_of, distribution, stated_rates
from diagnose.reasoning.settings import DEFAULT

ENOUGH = 2
CLEAR = 0.25


def separating(first: Cause, second: Cause, kb: Knowledge) -> list[str]:
    """Findings whose rates differ by .25 or more between two causes, on some value.

    "crops" stands for hosts: a crop one of them hurts and the other hardly ever does.
    """
    result = []
    for id_ in sorted({row.finding for c in (first, second) for row in c.evidence}):
        finding = kb.findings[id_]
        background = background_of(finding, Context())
        rates = []
        for cause in (first, second):
            rows = [row for row in cause.evidence if row.finding == id_]
            stated = stated_rates(rows, Context())
            rates.append(distribution(stated, finding, background) if stated else background)
        if abs(rates[0] - rates[1]).max() >= CLEAR:
            result.append(id_)
    for crop in kb.crops.values():
        gap = chance_hurt(first, crop, DEFAULT) - chance_hurt(second, crop, DEFAULT)
        if abs(gap) >= 0.4:
            return [*result, "crops"]
    return result


def pairs(kb: Knowledge) -> list[tuple[str, str]]:
    """Every look-alike pair of the book once, each and all in order of their ids."""
    return sorted(
        {(c.id, x.cause) for c in kb.causes.values() for x in c.lookalikes if c.id < x.cause}
    )


class NoLookalike(CauseCheck):
    """A cause without look-alikes."""

    code = "KB211"
    about = "a cause names no look-alike"
    remedy = "Something always looks alike: name it, and the finding that separates."

    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Count, mirrored halves included."""
        if not cause.lookalikes:
            yield self.fault(f"'{cause.id}' has no look-alike", self.at(tree, cause, "lookalikes"))


class PairTwice(CauseCheck):
    """A look-alike pair written in both files."""

    code = "KB212"
    about = "a look-alike pair is written in both causes"
    remedy = "Keep it in one; the loader mirrors it."

    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Look for repeats among own and mirrored pairs."""
        seen = set()
        for pair in cause.lookalikes:
            if pair.cause in seen:
                wrong = f"the pair '{cause.id}' and '{pair.cause}' is written twice"
                yield self.fault(wrong, self.at(tree, cause, "lookalikes"))
            seen.add(pair.cause)


class PairNotToldApart(CauseCheck):
    """A look-alike pair with fewer than two separating findings."""

    code = "KB213"
    about = "fewer than 2 findings separate a look-alike pair by .25 or more"
    remedy = "Add evidence on what differs between the two, in either cause."

    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Compare rates."""
        for pair in cause.lookalikes:
            other = kb.causes.get(pair.cause)
            if other is None or other.id < cause.id:
                continue
            found = separating(cause, other, kb)
            if len(found) < ENOUGH:
                wrong = f"'{cause.id}' and '{other.id}' differ on {len(found)}: {', '.join(found)}"
                yield self.fault(wrong, self.at(tree, cause, "lookalikes"))
