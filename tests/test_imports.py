"""Asking for help must not wait for the heavy libraries."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
HEAVY = ("numpy", "rich", "questionary", "prompt_toolkit", "jsonschema", "rapidfuzz", "scipy")
SCRIPT = f"""
import sys
from diagnose.cli.main import run
code = run(sys.argv[1:])
print("loaded:", *sorted(set({HEAVY!r}) & set(sys.modules)))
sys.exit(code)
"""


def loaded_by(*arguments: str, script: str = SCRIPT) -> tuple[str, list[str]]:
    """What a command prints, and which heavy libraries it leaves behind it."""
    done = subprocess.run(
        [sys.executable, "-c", script, *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    told, _, last = done.stdout.rpartition("loaded:")
    return told, last.split()


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--help"], "interview"),
        (["--version"], "diagnose"),
        (["kb", "--help"], "check"),
        (["interview", "--help"], "--answers"),
        (["cases", "--help"], "list"),
    ],
    ids=["help", "version", "kb help", "interview help", "cases help"],
)
def test_help_and_version_load_none_of_the_heavy_libraries(arguments: list[str], says: str) -> None:
    told, loaded = loaded_by(*arguments)
    assert says in told
    assert loaded == []


def test_the_test_itself_sees_a_library_that_is_loaded() -> None:
    assert loaded_by("--version", script="import numpy\n" + SCRIPT)[1] == ["numpy"]
