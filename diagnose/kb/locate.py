"""Where the knowledge lies: a checkout's own folder, or the copy inside an installed package."""

from __future__ import annotations

import os
from pathlib import Path

from diagnose.errors import Location, UnreadableError

ENVIRONMENT_VARIABLE = "DIAGNOSE_KNOWLEDGE"


def knowledge_root(given: str | Path | None = None) -> Path:
    """Find the knowledge folder.

    Args:
        given: a folder named by the user; else the environment variable DIAGNOSE_KNOWLEDGE; else
            the folder beside the package (a checkout); else the one inside it (an install).

    Raises:
        UnreadableError: when no folder with a manifest is found.

    >>> (knowledge_root() / "manifest.yaml").is_file()
    True
    """
    package = Path(__file__).resolve().parent.parent
    wanted = given or os.environ.get(ENVIRONMENT_VARIABLE)
    places = [Path(wanted)] if wanted else [package.parent / "knowledge", package / "_knowledge"]
    for place in places:
        if (place / "manifest.yaml").is_file():
            return place
    raise UnreadableError(
        "no knowledge found here: manifest.yaml is missing",
        "Name the folder with --knowledge, or install the program again.",
        Location(str(places[-1])),
    )
