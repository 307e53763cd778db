from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from diagnose.kb.locate import knowledge_root

TINY = Path(__file__).parent / "tiny"


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keeps compiled knowledge out of the user's cache."""
    folder = tmp_path / "cache"
    monkeypatch.setenv("DIAGNOSE_CACHE", str(folder))
    return folder


@pytest.fixture
def tiny(tmp_path: Path) -> Path:
    """A copy of the tiny knowledge, held to the real schemas."""
    root = tmp_path / "knowledge"
    shutil.copytree(TINY, root)
    shutil.copytree(knowledge_root() / "schema", root / "schema")
    return root
