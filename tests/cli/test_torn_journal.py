"""A journal cut short by a crash: what stood before it is kept, and the user is told."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from diagnose.casebook.store import Casebook

Cli = Callable[..., Any]
HALF = b'{"n": 3, "at": "2026-05-20T10:00:00Z", "event": "answ'


@pytest.fixture
def torn(cli: Cli) -> str:
    """A case of two answers with half a third."""
    given = ("--answer", "season=spring", "--answer", "onset=gradual")
    assert cli("interview", "--no-input", *given).code == 0
    case = Casebook().numbers()[-1]
    with Casebook().open_case(case).journal_path.open("ab") as journal:
        journal.write(HALF)
    return case


def test_resume_says_so_and_goes_on(cli: Cli, torn: str) -> None:
    ran = cli("resume", torn, "--no-input")
    assert ran.code == 0
    assert "cut short" in ran.err
    path = Casebook().open_case(torn).journal_path
    assert HALF not in path.read_bytes()
    assert list(Casebook().open_case(torn).read().answers) == ["season", "onset"]


def test_it_is_said_once(cli: Cli, torn: str) -> None:
    cli("resume", torn, "--no-input")
    assert "cut short" not in cli("resume", torn, "--no-input").err


def test_add_says_so_too(cli: Cli, torn: str) -> None:
    ran = cli("add", torn, "bean_pot_test=no_injury")
    assert ran.code == 0
    assert "cut short" in ran.err
    assert list(Casebook().open_case(torn).read().results) == ["bean_pot_test"]


def test_listing_and_rechecking_change_nothing(cli: Cli, torn: str) -> None:
    path = Casebook().open_case(torn).journal_path
    before = path.read_bytes()
    assert cli("cases", "list").code == 0
    assert cli("recheck", torn).code == 0
    assert path.read_bytes() == before
