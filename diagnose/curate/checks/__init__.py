"""Checks on the quality of the knowledge, a small class each.

To add one: write a class in the file of its subject, and name it in `ALL` here.
"""

from __future__ import annotations

from diagnose.curate.checks.base import Check
from diagnose.curate.checks.crops import CommonOnIdle
from diagnose.curate.checks.evidence import (
    FewSources,
    MostlyMemory,
    NeverOnRare,
    RatesOverOne,
    RowMovesNothing,
    RowTwice,
    ThinCause,
)
from diagnose.curate.checks.examples import ExampleFails, ExampleMissing
from diagnose.curate.checks.figures import LevelsClash, SourceReadTwoWays
from diagnose.curate.checks.lookalikes import NoLookalike, PairNotToldApart, PairTwice
from diagnose.curate.checks.reach import CauseNeverFirst, PairNeverApart, QuestionNeverWorth
from diagnose.curate.checks.rules import CountedTwice, ExcludesOnMemory
from diagnose.curate.checks.told import FewComplaints
from diagnose.curate.checks.unused import MovesNothing, UnlinkedItem, UnusedFinding, UnusedSource

ALL: tuple[type[Check], ...] = (
    ThinCause,
    FewSources,
    RowTwice,
    RatesOverOne,
    NeverOnRare,
    RowMovesNothing,
    SourceReadTwoWays,
    MostlyMemory,
    CommonOnIdle,
    FewComplaints,
    NoLookalike,
    PairTwice,
    PairNotToldApart,
    ExcludesOnMemory,
    CountedTwice,
    ExampleMissing,
    ExampleFails,
    UnusedFinding,
    UnlinkedItem,
    UnusedSource,
    MovesNothing,
    PairNeverApart,
    CauseNeverFirst,
    QuestionNeverWorth,
    LevelsClash,
)
