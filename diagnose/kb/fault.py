"""Faults found in knowledge, and the small classes that find them.

A check has a code, a level, one line on what is wrong and one on what to do. All faults are
collected and shown together, each with its place; nobody has to fix one to see the next.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar, Literal

from diagnose.errors import DiagnoseError, ExitCode, Location

Level = Literal["error", "warning", "note"]


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: `file:line:col code what is wrong`, then what to do.

    >>> fault = Fault("KB101", "error", "unknown key 'nme'", "Did you mean 'name'?",
    ...               Location("crops/solanaceae.yaml", 4, 3))
    >>> print(fault)
    crops/solanaceae.yaml:4:3 KB101 unknown key 'nme'
        Did you mean 'name'?
    """

    code: str
    level: Level
    wrong: str
    remedy: str
    location: Location

    def __str__(self) -> str:
        return f"{self.location} {self.code} {self.wrong}\n    {self.remedy}"


class FaultKind:
    """What every check has in common: its code, level and the line the docs show for it.

    The table of checks in DEVELOPERS.md is compared with these classes by a test.
    """

    code: ClassVar[str]
    level: ClassVar[Level] = "error"
    about: ClassVar[str]
    remedy: ClassVar[str]

    @classmethod
    def fault(cls, wrong: str, location: Location, remedy: str = "") -> Fault:
        """Make a fault of this kind."""
        return Fault(cls.code, cls.level, wrong, remedy or cls.remedy, location)


class KnowledgeError(DiagnoseError):
    """The knowledge cannot be used; carries every fault found."""

    exit_code = ExitCode.KNOWLEDGE_NOT_VALID

    def __init__(self, faults: Iterable[Fault], where: str) -> None:
        self.faults = tuple(faults)
        super().__init__(
            f"the knowledge in {where} has {len(self.faults)} fault"
            f"{'' if len(self.faults) == 1 else 's'}",
            "Run `diagnose kb check` to see every fault with its place and remedy.",
        )
