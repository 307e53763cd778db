from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def own_folders(
    tmp_path: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No test reads or writes the user's own cases, cache or crash log."""
    monkeypatch.setenv("DIAGNOSE_CASEBOOK", str(tmp_path / "casebook"))
    # Shared by all tests, so that the book is compiled once.
    monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path_factory.getbasetemp() / "cache"))
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.delenv("DIAGNOSE_KNOWLEDGE", raising=False)
