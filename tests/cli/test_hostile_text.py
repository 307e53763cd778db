"""What people write is text: no terminal obeys it, no markup is read in it."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from answers_given import write_file

from diagnose.casebook.store import Casebook
from diagnose.cli.safe import safe

Cli = Callable[..., Any]
ESCAPES = "\x1b[2J\x1b]0;owned\x07\x9b31m\u202e"
MARKUP = "[bold red]loud[/bold red] [link=http://x.example]y[/link] :skull: [/]"
MARKDOWN = "| cell | <script>alert(1)</script> *star* `code` [a](b) # head\n# line"
NASTY = f"{ESCAPES}{MARKUP}{MARKDOWN}"
OBEYED = [chr(n) for n in (*range(9), *range(11, 32), *range(127, 160), 0x202E)]
FORMATS = ["text", "json", "markdown"]


def obeyed_in(text: str) -> set[str]:
    return {c for c in OBEYED if c in text}


@pytest.fixture
def nasty(cli: Cli, tmp_path: Path) -> str:
    """A case whose every free text is nasty."""
    # A file may not even hold what a terminal obeys; a command line may.
    answers = {
        "inputs": {"mix": [{"input": "straw", "when": MARKUP, "on": MARKUP}]},
        "season": "spring",
    }
    path = write_file(tmp_path / "nasty.json", answers)
    words = f"own_words={NASTY}"
    alias = f"plot {NASTY}"
    ran = cli("interview", "--answers", path, "--no-input", "--alias", alias, "--answer", words)
    assert ran.code == 0, ran.err
    assert not obeyed_in(ran.out + ran.err)
    return Casebook().numbers()[-1]


@pytest.mark.parametrize("format_", FORMATS)
def test_nothing_a_terminal_obeys_comes_out(cli: Cli, nasty: str, format_: str) -> None:
    for argv in (["show", nasty, "--format", format_], ["cases", "list"], ["recheck", nasty]):
        ran = cli(*argv)
        assert ran.code == 0
        assert not obeyed_in(ran.out + ran.err), argv


def test_square_brackets_stay_as_they_are_in_the_terminal(cli: Cli, nasty: str) -> None:
    shown = cli("show", nasty).out.casefold()
    assert "plot [2j]0;owned31m[bold red]loud[/bold red]" in " ".join(shown.split())


def test_json_holds_the_text_as_it_was_typed(cli: Cli, nasty: str) -> None:
    document = json.loads(cli("show", nasty, "--format", "json").out)
    asked = {q["id"]: q["answer"] for q in document["questions_asked"]}
    assert MARKUP in asked["own_words"]
    assert "<script>alert(1)</script>" in asked["own_words"]
    assert "[bold red]" in document["alias"]


def test_markdown_has_every_sign_escaped(cli: Cli, nasty: str) -> None:
    text = cli("show", nasty, "--format", "markdown").out
    (row,) = [line for line in text.splitlines() if "alert" in line]
    # Two cells and no more: the bars of the text are escaped, and its line end is gone.
    assert row.replace("\\|", "").count("|") == 4
    for sign in ("\\<script\\>", "\\*star\\*", "\\`code\\`", "\\[a\\]", "\\# line"):
        assert sign in row


def test_a_suspicion_weighs_nothing(cli: Cli, tmp_path: Path) -> None:
    results = []
    for words in ({"text": "x"}, {"text": "x", "suspects": "weedkiller in the manure"}):
        path = write_file(tmp_path / "a.json", {"season": "spring", "own_words": words})
        ran = cli("interview", "--answers", path, "--no-input", "--no-case", "--format", "json")
        results.append(json.loads(ran.out)["causes"])
    assert results[0] == results[1]


@pytest.mark.parametrize("word", ["season={}", "{}=x", "crops={} hurt", "ec_mix=2 {}", "{}"])
def test_an_error_message_holds_nothing_a_terminal_obeys(cli: Cli, word: str) -> None:
    ran = cli("interview", "--no-input", "--answer", word.format(f"{ESCAPES}[bold]x[/bold]"))
    assert ran.code == 2
    assert "[2J" in ran.err
    assert not obeyed_in(ran.err)


def test_a_file_with_what_a_terminal_obeys_is_refused_clean(cli: Cli, tmp_path: Path) -> None:
    path = write_file(tmp_path / "nasty.json", {"own_words": NASTY})
    ran = cli("interview", "--answers", path, "--no-input")
    assert ran.code == 4
    assert "nasty.json:1" in ran.err
    assert not obeyed_in(ran.err)


def test_nasty_words_typed_in_the_interview_are_read_back_clean(cli: Cli) -> None:
    words = f"{ESCAPES}twisted {MARKUP}"
    ran = cli("interview", "--plain", stdin=f"none\n{words}\nnone\nenough\n")
    assert ran.code == 0
    assert not obeyed_in(ran.out + ran.err)


def test_nasty_lines_in_lists_and_names_are_refused_clean(cli: Cli) -> None:
    lines = ["none", "pale", "none", f"{ESCAPES}x", "don't know", f"{ESCAPES}y", "none", "enough"]
    ran = cli("interview", "--plain", stdin="\n".join(lines) + "\n")
    assert ran.code == 0
    assert "That does not fit" in ran.out
    assert not obeyed_in(ran.out + ran.err)


def test_a_tampered_alias_is_shown_clean(cli: Cli, nasty: str) -> None:
    path = Casebook().open_case(nasty).journal_path
    lines = path.read_text(encoding="utf-8").splitlines()
    header = json.loads(lines[0])
    header["alias"] = f"plot {ESCAPES}"
    path.write_text("\n".join([json.dumps(header), *lines[1:]]) + "\n", encoding="utf-8")
    ran = cli("cases", "list")
    assert ran.code == 0
    assert not obeyed_in(ran.out)


def test_safe_keeps_lines_and_letters() -> None:
    assert safe("a\tb\né [x] 漢") == "a\tb\né [x] 漢"
    assert safe(ESCAPES) == "[2J]0;owned31m"
