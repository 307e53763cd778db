"""`diagnose kb`: look at the knowledge, check it, try it, add to it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from diagnose.cli.options import knowledge_option
from diagnose.cli.safe import safe
from diagnose.errors import ExitCode

if TYPE_CHECKING:
    from diagnose.kb.model import Knowledge

LISTS = ("causes", "findings", "crops", "inputs", "tests", "actions", "cautions", "substances")


@click.group()
def kb() -> None:
    """The knowledge: check, list, show, questions, trial, new."""


def _load(knowledge: Path | None) -> Knowledge:
    from diagnose.kb.load import load

    return load(knowledge)


@kb.command("check")
@knowledge_option
@click.option("--notes", is_flag=True, help="Show notes too, not only errors and warnings.")
def check(knowledge: Path | None, notes: bool) -> int:
    """Print all faults, each with its place and what to do."""
    from diagnose.curate.run import check_knowledge
    from diagnose.kb.locate import knowledge_root

    faults = check_knowledge(knowledge_root(knowledge))
    for fault in faults:
        if notes or fault.level != "note":
            click.echo(str(fault))
    levels = ("error", "warning", "note")
    counts = {level: sum(f.level == level for f in faults) for level in levels}
    click.echo(", ".join(f"{n} {level}{'' if n == 1 else 's'}" for level, n in counts.items()))
    return int(ExitCode.FAULTS_FOUND if counts["error"] else ExitCode.FINE)


@kb.command("list")
@knowledge_option
@click.argument("what", type=click.Choice(LISTS), required=False)
@click.option("--coverage", is_flag=True, help="Causes, sources, tests, examples by family.")
def list_(knowledge: Path | None, what: str | None, coverage: bool) -> None:
    """List what the book holds; without a name, how many of each."""
    from diagnose.curate.catalogue import LISTS as rows_of
    from diagnose.curate.catalogue import counts
    from diagnose.curate.coverage import coverage_lines

    if coverage and what is not None:
        raise click.UsageError("--coverage lists the whole book; leave the name out")
    book = _load(knowledge)
    if coverage:
        for line in coverage_lines(book):
            click.echo(line)
        return
    if what is None:
        for name, count in counts(book):
            click.echo(f"{count:5}  {name}")
        return
    for id_, name, more in rows_of[what](book):
        click.echo(f"{id_:32}  {name}  ({more})")


@kb.command("show")
@knowledge_option
@click.argument("id_", metavar="ID")
def show(knowledge: Path | None, id_: str) -> None:
    """Show one entry of the book, whatever its kind."""
    from diagnose.curate.catalogue import cause_lines, find_entry, finding_lines
    from diagnose.curate.plainly import plain_lines

    book = _load(knowledge)
    kind, item = find_entry(book, id_)
    click.echo(f"{kind} {id_}")
    if kind == "cause":
        lines = cause_lines(book, item)
    else:
        lines = finding_lines(book, item) if kind == "finding" else plain_lines(item)
    for line in lines:
        click.echo(line)


@kb.command("questions")
@knowledge_option
@click.option("--format", "format_", type=click.Choice(["text", "json"]), default="text")
def questions(knowledge: Path | None, format_: str) -> None:
    """Every question with its form, values and help."""
    from diagnose.curate.catalogue import question_rows

    rows = question_rows(_load(knowledge))
    if format_ == "json":
        click.echo(json.dumps({"format": 1, "questions": rows}, indent=1, ensure_ascii=False))
        return
    for row in rows:
        click.echo(f"{row['id']} ({row['form']}): {row['text']}")
        values = row.get("values") or row.get("finding", {}).get("values") or row.get("findings")
        for value in values or ():
            click.echo(f"    {value['id']}: {value.get('label') or value.get('name')}")


@kb.command("trial")
@knowledge_option
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--phone", is_flag=True, help="As told by phone.")
@click.option("--format", "format_", type=click.Choice(["text", "json"]), default="text")
def trial(knowledge: Path | None, file: Path, phone: bool, format_: str) -> int:
    """Interview a file of cases with known answers and say how often the cause came out right.

    Answers that do not fit are told and left out; the exit code is then 1.
    """
    from diagnose.curate.cases import read_cases
    from diagnose.curate.trial import run_trial

    book = _load(knowledge)
    cases = read_cases(file, book)
    faults = [fault for case in cases for fault in case.faults]
    for fault in faults:
        click.echo(safe(fault), err=True)
    code = int(ExitCode.FAULTS_FOUND if faults else ExitCode.FINE)
    result = run_trial(book, cases, phone=phone)
    if format_ == "json":
        click.echo(json.dumps({**result.plain(), "faults": faults}, indent=1))
        return code
    for case in result.cases:
        told = ", ".join(f"{c} {p:.2f}" for c, p in case.top)
        rank = f"rank {case.rank}" if case.rank else "open"
        click.echo(f"{case.id}: {rank}, {case.verdict}, {case.questions} questions; {told}")
    for name, value in result.figures.items():
        click.echo(f"{name}: {value:g}")
    return code


@kb.command("new")
@knowledge_option
@click.argument("kind", type=click.Choice(["cause", "question", "test"]))
@click.argument("id_", metavar="ID")
@click.option("--in", "folder", default="", help="Family of a cause, topic of a question.")
def new(knowledge: Path | None, kind: str, id_: str, folder: str) -> None:
    """Start a new cause, question or test, ready to be filled in."""
    from diagnose.curate.scaffold import scaffold
    from diagnose.kb.locate import knowledge_root

    path = scaffold(knowledge_root(knowledge), kind, id_, folder)
    click.echo(f"Started {path}. Fill it in, then run: diagnose kb check")
