"""Picks the screen to ask on, and prints results."""

from __future__ import annotations

import datetime as dt
import json
import os
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from diagnose.errors import NeedsTerminalError

if TYPE_CHECKING:
    from diagnose.interview.run import Screen
    from diagnose.kb.model import Knowledge


def both_terminals() -> bool:
    """Whether both ends are terminals: questionary needs that."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def pick_screen(kb: Knowledge, *, plain: bool, write: Callable[[str], None]) -> Screen:
    """The screen to ask on: plain lines when asked for or on a dumb terminal.

    Raises:
        NeedsTerminalError: neither a terminal nor --plain.
    """
    today = dt.date.today()
    if plain or (both_terminals() and os.environ.get("TERM", "dumb") == "dumb"):
        from diagnose.interview.plain import PlainScreen

        return PlainScreen(kb, _read_line, write, today)
    if not both_terminals():
        raise NeedsTerminalError(
            "there are questions left and no terminal to ask on",
            "Use --plain to answer line by line through a pipe, or give answers with "
            "--answers FILE or --answer ID=VALUE and add --no-input.",
        )
    from diagnose.interview.prompts import PromptScreen

    return PromptScreen(kb, write, today)


def _read_line() -> str:
    line = sys.stdin.readline()
    if not line:
        raise EOFError
    return line.rstrip("\n")


def print_result(
    document: dict[str, Any], format_: str, *, plain: bool = False, full: bool = False
) -> None:
    """Print a result document on standard output."""
    if format_ == "json":
        click.echo(json.dumps(document, ensure_ascii=False, indent=1))
    elif format_ == "markdown":
        from diagnose.report.markdown import render

        click.echo(render(document), nl=False)
    else:
        from rich.console import Console

        from diagnose.report.terminal import show

        console = Console(
            no_color=True if plain else None,
            force_terminal=False if plain else None,
            highlight=False,
            markup=False,
            emoji=False,
        )
        show(document, console, full=full)
