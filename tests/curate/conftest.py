from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from diagnose.kb.load import load
from diagnose.kb.locate import knowledge_root
from diagnose.kb.model import Knowledge

TINY = Path(__file__).parent.parent / "kb" / "tiny"


@pytest.fixture(scope="session")
def cache_of_session(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(autouse=True)
def own_cache(cache_of_session: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keeps compiled knowledge out of the user's cache."""
    monkeypatch.setenv("DIAGNOSE_CACHE", str(cache_of_session))


@pytest.fixture
def tiny(tmp_path: Path) -> Path:
    """A copy of the tiny knowledge, held to the real schemas."""
    root = tmp_path / "knowledge"
    shutil.copytree(TINY, root)
    shutil.copytree(knowledge_root() / "schema", root / "schema")
    return root


@pytest.fixture
def tiny_book(tiny: Path) -> Knowledge:
    return load(tiny)


@pytest.fixture
def whole_book() -> Knowledge:
    return load()
