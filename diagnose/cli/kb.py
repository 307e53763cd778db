"""`diagnose kb`: look at the knowledge, check it, try it."""

from __future__ import annotations

from pathlib import Path

import click

from diagnose.errors import ExitCode

knowledge_option = click.option(
    "--knowledge", type=click.Path(path_type=Path), help="Folder of the knowledge to use."
)


@click.group()
def kb() -> None:
    """The knowledge: check, list, show, questions, trial, new."""


@kb.command("check")
@knowledge_option
@click.option("--notes", is_flag=True, help="Show notes too, not only errors and warnings.")
def check(knowledge: Path | None, notes: bool) -> int:
    """Print all faults, each with its place and what to do."""
    from diagnose.curate.run import check_knowledge
    from diagnose.kb.locate import knowledge_root

    faults = check_knowledge(knowledge_root(knowledge))
    shown = [f for f in faults if notes or f.level != "note"]
    for fault in shown:
        click.echo(f"{fault}")
    counts = {
        level: sum(f.level == level for f in faults) for level in ("error", "warning", "note")
    }
    click.echo(", ".join(f"{n} {level}{'' if n == 1 else 's'}" for level, n in counts.items()))
    return int(ExitCode.FAULTS_FOUND if counts["error"] else ExitCode.FINE)
