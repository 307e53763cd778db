"""Checks on rules: sourced where they exclude, and never counted twice with evidence."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.curate.checks.base import CauseCheck
from diagnose.kb.fault import Fault
from diagnose.kb.model import Cause, Knowledge
from diagnose.kb.tree import Tree


class ExcludesOnMemory(CauseCheck):
    """A rule excludes a cause on memory alone."""

    code = "KB221"
    about = "a rule with `rules_out` rests on memory alone"
    remedy = "Find a source that was read, or use strongly_against."

    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Look at the sources of excluding rules."""
        for i, rule in enumerate(cause.rules):
            if rule.effect == "rules_out" and rule.cited.from_memory:
                yield self.fault(
                    f"'{rule.id}' rules out on memory", self.at(tree, cause, "rules", i)
                )


class CountedTwice(CauseCheck):
    """A derived finding serves both evidence and a rule of one cause."""

    code = "KB222"
    about = "a derived finding serves both evidence and a rule of the same cause"
    remedy = "Keep one of the two: the same fact must not count twice."

    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Compare evidence and rules."""
        in_evidence = {row.finding for row in cause.evidence if row.finding in kb.derived}
        for i, rule in enumerate(cause.rules):
            for id_ in sorted(in_evidence.intersection(rule.when.findings())):
                wrong = f"'{id_}' serves evidence and the rule '{rule.id}'"
                yield self.fault(wrong, self.at(tree, cause, "rules", i))
