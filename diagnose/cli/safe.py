"""Makes text from files safe to print: what a terminal would obey is taken out."""

from __future__ import annotations

import re

_OBEYED = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


def safe(text: object) -> str:
    r"""The text without control and direction characters; tabs and line ends stay.

    >>> safe("  file.yaml: '\x1b[2J' is not known")
    "  file.yaml: '[2J' is not known"
    """
    return _OBEYED.sub("", str(text))
