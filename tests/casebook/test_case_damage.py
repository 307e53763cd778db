"""Journals with a torn end, damage in the middle, or from a newer program."""

from __future__ import annotations

import pytest
from small_book import lines

from diagnose.casebook.folder import CaseFolder
from diagnose.errors import ExitCode, UnreadableError

HALF = b'{"n":4,"at":"2026-04-20T18:31:00Z","event":"answ'


@pytest.mark.parametrize(
    "tail",
    [
        HALF,
        HALF + b"\n",
        b"\x00" * 512,
        b"\x00" * 512 + b"\n",
        b'{"n":4,"at":"2026-04-20T18:31:00Z","event":"note","text":"caf\xc3',
        b'{"n":4,"at":"2026-04-20T18:31:00Z","event":"note","text":"no newline"}',
        b"[" * 200_000 + b"\n",
    ],
    ids=["half", "half-newline", "nul", "nul-newline", "half-letter", "no-newline", "deep"],
)
def test_a_torn_end_is_cut_kept_aside_and_said(begun: CaseFolder, tail: bytes) -> None:
    whole = begun.journal_path.read_bytes()
    begun.journal_path.write_bytes(whole + tail)
    with begun.writing() as open_:
        assert list(open_.case.answers) == ["speed", "light", "water"]
        assert len(open_.case.messages) == 1
        assert "journal.torn-1" in open_.case.messages[0]
        open_.journal.note("going on")
    assert (begun.path / "journal.torn-1").read_bytes() == tail
    assert begun.journal_path.read_bytes().startswith(whole)
    assert lines(begun)[-1]["n"] == 4
    assert begun.read().messages == []


def test_a_second_torn_end_does_not_overwrite_the_first(begun: CaseFolder) -> None:
    for n in (1, 2):
        with begun.journal_path.open("ab") as file:
            file.write(HALF + str(n).encode())
        with begun.writing():
            pass
    kept = [(begun.path / f"journal.torn-{n}").read_bytes() for n in (1, 2)]
    assert kept == [HALF + b"1", HALF + b"2"]


def test_only_looking_leaves_a_torn_end_alone_and_says_so(begun: CaseFolder) -> None:
    with begun.journal_path.open("ab") as file:
        file.write(HALF)
    torn = begun.journal_path.read_bytes()
    case = begun.read()
    assert len(case.answers) == 3
    assert "cut short" in case.messages[0]
    assert begun.journal_path.read_bytes() == torn


@pytest.mark.parametrize(
    "damage",
    [
        b"x",
        b"17",
        b'{"n":2}',
        b'{"n":2,"at":"t","event":"answered","question":"light"}',
        b'{"n":2,"at":"t","event":"answered","question":7,"raw":"dim","reports":[]}',
        b'{"n":2,"at":"t","event":"answered","question":"light","raw":"dim",'
        b'"reports":[{"finding":"light","likelihood":[NaN,1]}]}',
        b'{"n":2,"at":"t","event":"answered","question":"light","raw":"dim",'
        b'"reports":[{"finding":"light","likelihood":[-1,1]}]}',
        b'{"n":2,"at":"t","event":"withdrawn"}',
        b'{"n":2,"at":"t","event":"resumed","knowledge":"2026"}',
    ],
)
def test_damage_in_the_middle_is_an_error_with_its_line_and_a_way_out(
    begun: CaseFolder, damage: bytes
) -> None:
    rows = begun.journal_path.read_bytes().splitlines()
    rows[2] = damage
    broken = b"\n".join(rows) + b"\n"
    begun.journal_path.write_bytes(broken)
    for use in (begun.read, lambda: begun.writing().__enter__()):
        with pytest.raises(UnreadableError) as caught:
            use()
        assert str(caught.value.location) == f"{begun.journal_path}:3:0"
        assert "move line 3 into another file" in caught.value.hint
        assert caught.value.exit_code == ExitCode.NOT_READABLE == 4
    assert begun.journal_path.read_bytes() == broken


def test_the_way_out_works_and_the_gap_is_said(begun: CaseFolder) -> None:
    rows = begun.journal_path.read_bytes().splitlines(keepends=True)
    begun.journal_path.write_bytes(b"".join(rows[:2] + rows[3:]))
    case = begun.read()
    assert list(case.answers) == ["speed", "water"]
    assert case.messages == ["Missing from the journal, as if taken out by hand: entry 2."]


@pytest.mark.parametrize("head", [b"", b"{", b"{}", b'{"format":1}', b'{"format":true}'])
def test_a_journal_without_its_head_is_an_error(begun: CaseFolder, head: bytes) -> None:
    rows = begun.journal_path.read_bytes().splitlines()
    begun.journal_path.write_bytes(b"\n".join([head, *rows[1:]]) + b"\n")
    with pytest.raises(UnreadableError) as caught:
        begun.read()
    assert caught.value.hint


@pytest.mark.parametrize("rest", [b"", b"\n", b'{"format":1,"ca'])
def test_a_case_never_begun_is_an_error_and_not_mended(begun: CaseFolder, rest: bytes) -> None:
    begun.journal_path.write_bytes(rest)
    with pytest.raises(UnreadableError, match="never begun"), begun.writing():
        pass
    assert begun.journal_path.read_bytes() == rest


def test_a_journal_of_a_newer_program_is_refused_with_advice(begun: CaseFolder) -> None:
    text = begun.journal_path.read_text().replace('"format":1', '"format":2', 1)
    begun.journal_path.write_text(text)
    with pytest.raises(UnreadableError, match="newer program") as caught:
        begun.read()
    assert "Update the program" in caught.value.hint


def test_an_entry_of_an_unknown_kind_is_passed_over_and_said(begun: CaseFolder) -> None:
    with begun.journal_path.open("a") as file:
        file.write('{"n":4,"at":"2026-05-01T08:00:00Z","event":"photographed","file":"a"}\n')
    case = begun.read()
    assert len(case.answers) == 3
    assert "'photographed' (line 5)" in case.messages[0]
