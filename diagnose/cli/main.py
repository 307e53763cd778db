"""The command `diagnose`: one boundary where errors become two lines and an exit code."""

from __future__ import annotations

import sys
from collections.abc import Sequence

import click

from diagnose import __version__
from diagnose.cli.kb import kb
from diagnose.errors import DiagnoseError, ExitCode, StoppedByUser


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="diagnose")
def cli() -> None:
    """Find out what ails your seedlings: questions, ranked causes, the test that settles it."""


cli.add_command(kb)


def main(argv: Sequence[str] | None = None) -> None:
    """Run the command and exit with a documented code."""
    sys.exit(run(argv))


def run(argv: Sequence[str] | None = None) -> int:
    """Run the command; every known error ends in two lines and its exit code."""
    try:
        result = cli.main(args=argv, prog_name="diagnose", standalone_mode=False)
        return int(result) if isinstance(result, int) else int(ExitCode.FINE)
    except click.exceptions.Abort:
        return int(ExitCode.STOPPED_BY_USER)
    except click.ClickException as error:
        error.show()
        return int(ExitCode.WRONG_USAGE)
    except StoppedByUser as stop:
        click.echo(stop.how_to_go_on, err=True)
        return int(ExitCode.STOPPED_BY_USER)
    except DiagnoseError as error:
        click.echo(f"diagnose: {error}", err=True)
        if error.hint:
            click.echo(f"  {error.hint}", err=True)
        return int(error.exit_code)


if __name__ == "__main__":
    main()
