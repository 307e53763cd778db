from __future__ import annotations

import io
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

import diagnose
from diagnose.cli.main import run

Lines = list[str]


@dataclass(frozen=True)
class Ran:
    """How a command ended."""

    code: int
    out: str
    err: str


@pytest.fixture
def cli(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Callable[..., Ran]:
    """Runs a command in this process, its input a pipe with the given text."""

    def command(*argv: object, stdin: str = "") -> Ran:
        monkeypatch.setattr(sys, "stdin", io.StringIO(stdin))
        capfd.readouterr()
        code = run([str(a) for a in argv])
        out, err = capfd.readouterr()
        return Ran(code, out, err)

    return command


@pytest.fixture
def start(tmp_path: Path) -> Callable[..., subprocess.Popen[str]]:
    """Starts a command, or a script with -c, in another process."""
    root = str(Path(diagnose.__file__).resolve().parent.parent)
    env = {**os.environ, "PYTHONPATH": root}

    def begin(*argv: object) -> subprocess.Popen[str]:
        if argv[0] != "-c":
            argv = ("-m", "diagnose.cli.main", *argv)
        return subprocess.Popen(
            [sys.executable, *map(str, argv)],
            env=env,
            cwd=tmp_path,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    return begin
