"""Where figures come from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Seen = Literal["read", "memory"]
UNSOURCED = frozenset({"memory", "common_practice"})


@dataclass(frozen=True, slots=True)
class Cited:
    """Where a figure or statement comes from: source ids, and whether the text was seen."""

    sources: tuple[str, ...] = ()
    seen: Seen = "read"

    @property
    def from_memory(self) -> bool:
        """True when no published text stands behind it."""
        return self.seen == "memory" or set(self.sources) <= UNSOURCED


UNCITED = Cited()


@dataclass(frozen=True, slots=True)
class Source:
    """A published source."""

    id: str
    publisher: str
    title: str
    year: str = ""
    url: str = ""
