"""Checks on what a cause says of single crops."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.curate.checks.base import CauseCheck
from diagnose.kb.fault import Fault
from diagnose.kb.model import Cause, Knowledge
from diagnose.kb.tree import Tree
from diagnose.reasoning.hosts import lives_on


class CommonOnIdle(CauseCheck):
    """How common it is on a crop is said of no host, said twice, or the same as on all."""

    code = "KB209"
    about = "`how_common_on` names a crop twice, one that is no host, or repeats `how_common`"
    remedy = "Take the crop out of the row, or list it among the hosts."

    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Go through the crops of each row."""
        met: set[str] = set()
        for i, row in enumerate(cause.how_common_on):
            place = self.at(tree, cause, "how_common_on", i)
            if row.how_common == cause.how_common:
                yield self.fault(f"'{row.how_common}' is how common it is on all crops", place)
            for id_ in row.crops:
                if id_ in met:
                    yield self.fault(f"'{id_}' is named twice", place)
                met.add(id_)
                if id_ in kb.crops and not lives_on(cause, kb.crops[id_]):
                    yield self.fault(f"'{id_}' is no host", place)
