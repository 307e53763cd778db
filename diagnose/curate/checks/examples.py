"""Checks on examples: both kinds are there, and the ranking bears them out."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.curate.checks.base import CauseCheck, Check
from diagnose.curate.examples import run_examples
from diagnose.kb.fault import Fault
from diagnose.kb.model import Cause, Knowledge
from diagnose.kb.tree import Tree


class ExampleMissing(CauseCheck):
    """A cause lacks an example to win or one to lose."""

    code = "KB231"
    about = "a cause lacks a case it must win or a near miss it must lose"
    remedy = "Add one with `expect: first` and one with `beaten_by`."

    def look(self, cause: Cause, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Count both kinds."""
        place = self.at(tree, cause, "examples")
        if not any(x.expect for x in cause.examples):
            yield self.fault(f"'{cause.id}' has no case to win", place)
        if not any(x.beaten_by for x in cause.examples):
            yield self.fault(f"'{cause.id}' has no near miss to lose", place)


class ExampleFails(Check):
    """The ranking does not bear an example out."""

    code = "KB232"
    about = "an example is not borne out by the ranking, or its answers cannot be read"
    remedy = "Ask what the trade knows: is the example odd, a rate wrong, or a row missing?"

    def run(self, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Rank every example."""
        for outcome in run_examples(kb):
            if outcome.passed:
                continue
            place = tree.place(kb.causes[outcome.cause].file, "examples", outcome.index)
            wanted = outcome.example.beaten_by or outcome.cause
            wrong = outcome.error or f"'{wanted}' should lead '{outcome.example.name}'"
            yield self.fault(wrong, place, f"Ranked: {outcome.told}." if outcome.told else "")
