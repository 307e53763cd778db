from __future__ import annotations

import datetime as dt
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from small_book import small_kb

import diagnose
from diagnose.casebook.folder import CaseFolder
from diagnose.casebook.store import Casebook
from diagnose.interview.answers import read_answer
from diagnose.kb.model import Knowledge

SPRING = dt.datetime(2026, 4, 20, 18, 30, tzinfo=dt.UTC)


@pytest.fixture
def kb() -> Knowledge:
    return small_kb()


@pytest.fixture
def casebook(tmp_path: Path) -> Casebook:
    return Casebook(tmp_path / "casebook", clock=lambda: SPRING)


@pytest.fixture
def begun(casebook: Casebook, kb: Knowledge) -> CaseFolder:
    """A case with three answers: entries 1 to 3 on lines 2 to 4."""
    case = casebook.new_case(kb, alias="plot 7")
    with case.writing() as open_:
        for id_, raw in (("speed", "weeks"), ("light", "dim"), ("water", "wet")):
            open_.journal.answered(read_answer(kb, id_, raw))
    return case


@pytest.fixture
def start_python(tmp_path: Path) -> Callable[[str], subprocess.Popen[str]]:
    """Runs a script in another process, with the package and the small book at hand."""
    root = Path(diagnose.__file__).resolve().parent.parent
    paths = [str(root), str(Path(__file__).parent)]
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(paths)}
    head = (
        "from small_book import small_kb; from diagnose.casebook.store import Casebook\n"
        "kb = small_kb()\n"
    )

    def start(script: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "-c", head + script],
            env=env,
            cwd=tmp_path,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    return start
