"""The compiled knowledge in the user's cache: one JSON file a content hash, safe to delete.

The cache can only make things quicker: a missing, broken or unwritable one is passed over.
"""

from __future__ import annotations

import contextlib
import json
import os
import tempfile
from pathlib import Path

from diagnose import __version__
from diagnose.kb.assemble import Documents

KEEP = 4
FORM = 1


def folder() -> Path:
    """The cache folder; `DIAGNOSE_CACHE` names another."""
    if given := os.environ.get("DIAGNOSE_CACHE"):
        return Path(given)
    from platformdirs import user_cache_path

    return user_cache_path("seedling-diagnose", appauthor=False)


def _file(mark: str) -> Path:
    return folder() / f"knowledge-{__version__}-{FORM}-{mark}.json"


def fetch(mark: str) -> Documents | None:
    """The compiled documents for a content hash, or None."""
    try:
        raw = json.loads(_file(mark).read_bytes())
        return {path: (kind, value) for path, (kind, value) in raw.items()}
    except (OSError, ValueError, TypeError, AttributeError):
        return None


def keep(mark: str, documents: Documents) -> None:
    """Write the compiled documents, and drop all but the newest few."""
    with contextlib.suppress(OSError):
        target = _file(mark)
        target.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(
            "w", encoding="utf-8", dir=target.parent, delete=False, suffix=".part"
        ) as part:
            json.dump(documents, part, ensure_ascii=False)
        Path(part.name).replace(target)
        old = sorted(target.parent.glob("knowledge-*.json"), key=lambda p: p.stat().st_mtime)
        for path in old[:-KEEP]:
            path.unlink(missing_ok=True)
