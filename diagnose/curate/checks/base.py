"""What a check on the quality of the knowledge is."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterator

from diagnose.errors import Location
from diagnose.kb.fault import Fault, FaultKind
from diagnose.kb.model import Cause, Knowledge
from diagnose.kb.tree import Tree


class Check(FaultKind):
    """A check: run it over the knowledge, get faults. One job each."""

    @abstractmethod
    def run(self, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Yield every fault of this kind."""


class CauseCheck(Check):
    """A check that looks at one cause at a time."""

    def run(self, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Run over every active cause."""
        for cause in kb.causes.values():
            yield from self.look(cause, kb, tree)

    @abstractmethod
    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Yield the faults of one cause."""

    def at(self, tree: Tree, cause: Cause, *keys: str | int) -> Location:
        """The place of something in the file of a cause."""
        return tree.place(cause.file, *keys)
