"""The command `diagnose`: one boundary where errors become two lines and an exit code."""

from __future__ import annotations

import sys
import traceback
from collections.abc import Sequence
from pathlib import Path

import click

from diagnose import __version__
from diagnose.cli.cases import add, cases, recheck, show
from diagnose.cli.interview import interview, resume
from diagnose.cli.kb import kb
from diagnose.cli.safe import safe
from diagnose.errors import DiagnoseError, ExitCode, StoppedByUser

MOST_FAULTS = 40


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="diagnose")
def cli() -> None:
    """Find out what ails your seedlings: questions, ranked causes, the test that settles it."""


for command in (interview, resume, add, show, recheck, cases, kb):
    cli.add_command(command)


def main(argv: Sequence[str] | None = None) -> None:
    """Run the command and exit with a documented code."""
    sys.exit(run(argv))


def run(argv: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code; no error leaves this function."""
    try:
        result = cli.main(args=argv, prog_name="diagnose", standalone_mode=False)
        return int(result) if isinstance(result, int) else int(ExitCode.FINE)
    except click.exceptions.Abort:
        return int(ExitCode.STOPPED_BY_USER)
    except click.ClickException as error:
        error.show()
        return int(ExitCode.WRONG_USAGE)
    except StoppedByUser as stop:
        click.echo(f"\n{stop.how_to_go_on}", err=True)
        return int(ExitCode.STOPPED_BY_USER)
    except DiagnoseError as error:
        for fault in getattr(error, "faults", ())[:MOST_FAULTS]:
            click.echo(safe(fault), err=True)
        click.echo(safe(f"diagnose: {error}"), err=True)
        if error.hint:
            click.echo(safe(f"  {error.hint}"), err=True)
        return int(error.exit_code)
    except SystemExit:
        # So click ends when whoever read our output has gone; nothing is left to be said to them.
        return int(ExitCode.FINE)
    except Exception:
        place = _keep_crash(traceback.format_exc())
        click.echo("diagnose: this is a fault in the program, not in what you did.", err=True)
        click.echo(f"  Your answers are safe. What happened is written in {place}", err=True)
        return int(ExitCode.PROGRAM_FAULT)


def _keep_crash(told: str) -> Path | str:
    """Write a crash log beside the user's logs; on failure print it, so that it is not lost."""
    try:
        from platformdirs import user_log_path

        folder = user_log_path("seedling-diagnose", appauthor=False)
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / "crash.log"
        with path.open("a", encoding="utf-8") as log:
            log.write(f"diagnose {__version__}\n{told}\n")
        return path
    except OSError:
        click.echo(told, err=True)
        return "the lines above."


if __name__ == "__main__":
    main()
