"""`diagnose add`, `show`, `recheck` and `cases`: what is done with saved cases."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import click

from diagnose.cli.options import casebook_option, format_option, knowledge_option, plain_option
from diagnose.cli.safe import safe


@click.command()
@click.argument("case")
@click.argument("results", nargs=-1, required=True, metavar="TEST=RESULT...")
@format_option
@plain_option
@casebook_option
@knowledge_option
def add(
    case: str,
    results: tuple[str, ...],
    format_: str,
    plain: bool,
    casebook: Path | None,
    knowledge: Path | None,
) -> None:
    """Add test results to a case, or put an answer right (QUESTION=VALUE)."""
    from diagnose.casebook.store import Casebook
    from diagnose.cli.screens import print_result
    from diagnose.interview.given import read_words
    from diagnose.kb.load import load
    from diagnose.report.keep import keep_result

    kb = load(knowledge)
    folder = Casebook(casebook).open_case(case)
    with folder.writing() as open_case:
        phone = open_case.case.phone
        answers = read_words(kb, results, dt.date.today(), phone=phone)
        session, lost = open_case.resume(kb)
        for message in [*open_case.case.messages, *lost]:
            click.echo(safe(message), err=True)
        for answer in answers:
            test = answer.question in kb.tests
            (open_case.journal.result if test else open_case.journal.answered)(answer)
            session.apply(answer)
        document = keep_result(folder, session, alias=open_case.case.header.alias)
    print_result(document, format_, plain=plain)


@click.command()
@click.argument("case")
@click.option("--full", is_flag=True, help="Every step, reason and caution whole.")
@format_option
@plain_option
@casebook_option
@knowledge_option
def show(
    case: str, full: bool, format_: str, plain: bool, casebook: Path | None, knowledge: Path | None
) -> None:
    """Show the saved result of a case, without computing it again."""
    from diagnose.casebook.store import Casebook
    from diagnose.cli.screens import print_result
    from diagnose.kb.load import load
    from diagnose.report.keep import saved_result

    document, messages = saved_result(Casebook(casebook), case, lambda: load(knowledge))
    for message in messages:
        click.echo(safe(message), err=True)
    print_result(document, format_, plain=plain, full=full)


@click.command()
@click.argument("cases", nargs=-1, required=True, metavar="CASE...")
@click.option("--format", "format_", type=click.Choice(["text", "json"]), default="text")
@casebook_option
@knowledge_option
def recheck(
    cases: tuple[str, ...], format_: str, casebook: Path | None, knowledge: Path | None
) -> None:
    """Rank old cases under today's knowledge and say what moved."""
    from diagnose.casebook.store import Casebook
    from diagnose.kb.load import load
    from diagnose.reasoning.book import Book
    from diagnose.reasoning.rank import Ranker
    from diagnose.report.recheck import moves
    from diagnose.report.recheck import recheck as recheck_one

    kb = load(knowledge)
    ranker, book = Ranker(Book(kb)), Casebook(casebook)
    rows = []
    for case in cases:
        again = recheck_one(book, case, kb, ranker)
        if format_ == "text":
            for line in again.lines():
                click.echo(line)
            continue
        moved = moves(again.kept, again.fresh) if again.kept else []
        rows.append({"result": again.fresh, "moved": moved, "not_carried_over": again.messages})
    if format_ == "json":
        click.echo(json.dumps({"format": 1, "cases": rows}, ensure_ascii=False, indent=1))


@click.group()
def cases() -> None:
    """The casebook: list."""


@cases.command("list")
@casebook_option
def list_(casebook: Path | None) -> None:
    """List the saved cases, oldest first."""
    from diagnose.casebook.store import Casebook

    book = Casebook(casebook)
    lines = book.cases()
    if not lines:
        click.echo(f"No cases yet in {book.folder}. Begin one with: diagnose interview")
    for line in lines:
        state = line.fault or (f"settled: {line.settled}" if line.settled else "open")
        told = f"{line.answered} answers, {line.results} test results"
        alias = line.alias or "-"
        click.echo(safe(f"{line.number}  {line.begun[:10]}  {alias:16}  {told}  {state}"))
