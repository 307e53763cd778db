"""Checks on figures that clash."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.curate.checks.base import Check
from diagnose.kb.fault import Fault
from diagnose.kb.model import UNSOURCED, Knowledge
from diagnose.kb.tree import Tree
from diagnose.reasoning.settings import HOW_OFTEN

WORDS = tuple(HOW_OFTEN)
TENFOLD = 10.0


class SourceReadTwoWays(Check):
    """One source is quoted with distant words for the same sign in causes of one kind."""

    code = "KB207"
    level = "note"
    about = "one source is quoted with distant frequencies for one sign in causes that look alike"
    remedy = "Read the source again: keep one word, or say in a note why the two differ."

    def run(self, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Compare rows by source, kind, finding, value and crops."""
        first: dict[tuple[object, ...], tuple[str, int]] = {}
        for cause in kb.causes.values():
            for i, row in enumerate(cause.evidence):
                if row.note:
                    continue
                step = WORDS.index(row.how_often)
                for source in set(row.cited.sources) - UNSOURCED:
                    key = (source, cause.kind, row.finding, row.value, row.crops)
                    other, there = first.setdefault(key, (cause.id, step))
                    if abs(there - step) >= 3:
                        wrong = f"'{source}' gives '{row.finding}={row.value}' as {row.how_often}"
                        wrong += f" here and as {WORDS[there]} in '{other}'"
                        yield self.fault(wrong, tree.place(cause.file, "evidence", i))


class LevelsClash(Check):
    """Two sources put the harm level of a substance for a crop more than ten times apart."""

    code = "KB261"
    level = "note"
    about = "published harm levels of a substance for one crop lie more than tenfold apart"
    remedy = "Keep both, and say in a note what differs: soil, stage, what was counted as harm."

    def run(self, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Compare levels of the same unit."""
        for substance in kb.substances.values():
            levels: dict[tuple[str, str], list[float]] = {}
            noted: dict[tuple[str, str], bool] = {}
            for harm in substance.lowest_harmful:
                key = (harm.crop, harm.unit)
                levels.setdefault(key, []).append(harm.level)
                noted[key] = noted.get(key, False) or bool(harm.note)
            for (crop, unit), found in levels.items():
                if max(found) > TENFOLD * min(found) and not noted[crop, unit]:
                    wrong = f"'{substance.id}' on {crop}: {min(found):g} to {max(found):g} {unit}"
                    yield self.fault(wrong, tree.place(substance.file))
