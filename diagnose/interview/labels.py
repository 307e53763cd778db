"""Labels that fit one line of a terminal: questionary does not fold them."""

from __future__ import annotations

import shutil

# The pointer, the box and a space before a label, and a column to spare.
MARGIN = 6


def width() -> int:
    """Columns of the terminal, never fewer than 40."""
    return max(shutil.get_terminal_size().columns, 40)


def cut(label: str) -> str:
    """A label, cut with three dots where it would run over the edge.

    >>> cut("Leaf stalks"), len(cut("x" * 500)) == width() - MARGIN
    ('Leaf stalks', True)
    """
    room = width() - MARGIN
    return label if len(label) <= room else label[: room - 3] + "..."


def fitting(label: str, shorter: str) -> str:
    """The label where it fits, else the shorter one.

    >>> fitting("Downward bending (epinasty)" * 30, "Downward bending")
    'Downward bending'
    """
    return cut(label if len(label) <= width() - MARGIN else shorter)
