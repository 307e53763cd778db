"""`diagnose interview` and `diagnose resume`: ask, rank, save, show."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

import click

from diagnose.cli.options import casebook_option, format_option, knowledge_option, plain_option
from diagnose.cli.safe import safe
from diagnose.errors import DiagnoseError, StoppedByUser

if TYPE_CHECKING:
    from diagnose.casebook.folder import CaseFolder
    from diagnose.interview.journal import Journal
    from diagnose.interview.run import Screen
    from diagnose.interview.session import Session

phone_option = click.option("--phone", is_flag=True, help="Told by phone: fewer questions.")
no_input_option = click.option("--no-input", is_flag=True, help="Ask nothing; rank what is given.")


@click.command()
@click.option(
    "--answers",
    "answers_file",
    type=click.Path(path_type=Path),
    help="File of answers: question id to value.",
)
@click.option("--answer", "words", multiple=True, metavar="ID=VALUE", help="One answer.")
@no_input_option
@plain_option
@phone_option
@click.option("--alias", default="", help="A word to know the case by; no names.")
@click.option("--no-case", is_flag=True, help="Keep no case.")
@format_option
@casebook_option
@knowledge_option
def interview(
    answers_file: Path | None,
    words: tuple[str, ...],
    no_input: bool,
    plain: bool,
    phone: bool,
    alias: str,
    no_case: bool,
    format_: str,
    casebook: Path | None,
    knowledge: Path | None,
) -> None:
    """Ask about sick plants, rank the causes, and save the case."""
    from diagnose.casebook.record import clean_alias
    from diagnose.casebook.store import Casebook
    from diagnose.interview.given import read_answers_file, read_words
    from diagnose.interview.session import new_session
    from diagnose.kb.load import load

    kb, today, alias = load(knowledge), dt.date.today(), clean_alias(alias)
    given = read_answers_file(kb, answers_file, today=today, phone=phone) if answers_file else []
    given += read_words(kb, words, today, phone=phone)
    session = new_session(kb, phone=phone)
    for answer in given:
        session.apply(answer)
    # Nobody to ask is found out before a case is begun, so that no empty ones pile up.
    screen = _screen(session, no_input, plain, format_)
    if no_case:
        _sit(session, screen, None, None, plain, format_, alias)
        return
    folder = Casebook(casebook).new_case(kb, alias=alias, phone=phone)
    with folder.writing() as open_case:
        for answer in given:
            test = answer.question in kb.tests
            (open_case.journal.result if test else open_case.journal.answered)(answer)
        _sit(session, screen, open_case.journal, folder, plain, format_, alias)


@click.command()
@click.argument("case")
@no_input_option
@plain_option
@phone_option
@format_option
@casebook_option
@knowledge_option
def resume(
    case: str,
    no_input: bool,
    plain: bool,
    phone: bool,
    format_: str,
    casebook: Path | None,
    knowledge: Path | None,
) -> None:
    """Go on with a saved case where it was left."""
    from diagnose.casebook.store import Casebook
    from diagnose.kb.load import load

    kb = load(knowledge)
    folder = Casebook(casebook).open_case(case)
    with folder.writing() as open_case:
        session, lost = open_case.resume(kb, phone=phone or None)
        for message in [*open_case.case.messages, *lost]:
            click.echo(safe(message), err=True)
        if not no_input:
            session.reopen()
        alias = open_case.case.header.alias
        screen = _screen(session, no_input, plain, format_)
        _sit(session, screen, open_case.journal, folder, plain, format_, alias)


def _screen(session: Session, no_input: bool, plain: bool, format_: str) -> Screen | None:
    """The screen to ask on; None when nothing is to be asked."""
    from diagnose.cli.screens import pick_screen
    from diagnose.interview.step import Done

    if no_input or isinstance(session.next_step(), Done):
        return None
    return pick_screen(
        session.kb, plain=plain, write=lambda line: click.echo(safe(line), err=format_ != "text")
    )


def _sit(
    session: Session,
    screen: Screen | None,
    journal: Journal | None,
    folder: CaseFolder | None,
    plain: bool,
    format_: str,
    alias: str,
) -> None:
    """One sitting: ask where there is a screen, then keep and show the result."""
    from diagnose.cli.screens import print_result
    from diagnose.interview.journal import NoJournal
    from diagnose.interview.run import run
    from diagnose.report.keep import keep_result

    reason = ""
    if screen is not None:
        try:
            if folder is not None:
                click.echo(
                    f"This is case {folder.number}. Every answer is saved at once.",
                    err=format_ != "text",
                )
            reason = run(session, screen, journal or NoJournal()).stop.reason
        except (StoppedByUser, KeyboardInterrupt):
            raise StoppedByUser(_how_to_go_on(folder)) from None
        except DiagnoseError as error:
            if folder is not None:
                error.hint = f"{error.hint} {_how_to_go_on(folder)}".strip()
            raise
    session.restore()
    document = keep_result(folder, session, reason=reason, alias=alias)
    print_result(document, format_, plain=plain)
    if folder is not None:
        click.echo(
            f"Saved as case {folder.number}. See it again with: diagnose show {folder.number}",
            err=True,
        )


def _how_to_go_on(folder: CaseFolder | None) -> str:
    if folder is None:
        return "Stopped. No case was kept."
    return f"Saved as case {folder.number}. Go on with: diagnose resume {folder.number}"
