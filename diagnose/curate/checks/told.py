"""Checks on how growers tell of a cause."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.curate.checks.base import CauseCheck
from diagnose.kb.fault import Fault
from diagnose.kb.model import Cause, Knowledge
from diagnose.kb.tree import Tree

ENOUGH = 6


class FewComplaints(CauseCheck):
    """Too few complaints to compare a story with."""

    code = "KB210"
    level = "warning"
    about = "a cause has fewer than 6 complaints (`told_as`) to compare a grower's words with"
    remedy = "Write how growers tell of it: other crops, stages and first impressions each time."

    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Count complaints."""
        if len(cause.told_as) < ENOUGH:
            key = ("told_as",) if cause.told_as else ()
            wrong = f"'{cause.id}' has {len(cause.told_as)} complaints"
            yield self.fault(wrong, self.at(tree, cause, *key))
