from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from small_book import lines

from diagnose.casebook.folder import CaseFolder
from diagnose.errors import UnreadableError
from diagnose.interview.answers import read_answer
from diagnose.kb.model import Knowledge


def test_the_first_line_says_what_the_case_was_begun_with(begun: CaseFolder) -> None:
    head = lines(begun)[0]
    assert head["format"] == 1
    assert head["case"] == "26-001"
    assert head["knowledge"] == {"version": "2026.01", "digest": "first"}
    assert head["alias"] == "plot 7"
    assert head["at"] == "2026-04-20T18:30:00Z"


def test_an_answer_is_kept_with_all_it_says(begun: CaseFolder, kb: Knowledge) -> None:
    entry = lines(begun)[1]
    report = read_answer(kb, "speed", "weeks").reports[0]
    assert entry == {
        "n": 1,
        "at": "2026-04-20T18:30:00Z",
        "event": "answered",
        "question": "speed",
        "raw": "weeks",
        "unknown": False,
        "reports": [
            {
                "finding": "speed",
                "likelihood": list(report.likelihood),
                "value": "weeks",
                "number": None,
                "spoken": True,
            }
        ],
    }


def test_each_entry_is_one_write_then_one_sync(
    begun: CaseFolder, kb: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps: list[str] = []
    write, sync = os.write, os.fsync
    with begun.writing() as open_:
        file = open_.journal._file
        before = begun.journal_path.stat().st_size

        def note_write(to: int, data: bytes) -> int:
            if to == file:
                steps.append("write")
            return write(to, data)

        def note_sync(to: int) -> None:
            if to == file:
                steps.append(f"sync {begun.journal_path.stat().st_size > before}")
            sync(to)

        with monkeypatch.context() as patch:
            patch.setattr(os, "write", note_write)
            patch.setattr(os, "fsync", note_sync)
            open_.journal.answered(read_answer(kb, "leaves", "none"))
    assert steps == ["write", "sync True"]


def test_a_full_disk_takes_the_half_written_entry_back(
    begun: CaseFolder, start_python: Callable[..., object]
) -> None:
    """The limit on file size makes the system itself write only part of the line."""
    if sys.platform == "win32":
        pytest.skip("no limit on file size there")
    whole = begun.journal_path.read_bytes()
    child = start_python(
        "import resource; from diagnose.errors import UnreadableError\n"
        "from pathlib import Path\n"
        "case = Casebook('casebook').open_case('26-001')\n"
        "with case.writing() as open_:\n"
        "    size = case.journal_path.stat().st_size\n"
        "    hard = resource.getrlimit(resource.RLIMIT_FSIZE)[1]\n"
        "    resource.setrlimit(resource.RLIMIT_FSIZE, (size + 20, hard))\n"
        "    try: open_.journal.note('one more')\n"
        "    except UnreadableError as error: print(error.message)\n"
        "    resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard))\n"
        "    print(case.journal_path.stat().st_size - size)\n"
        "    open_.journal.note('there is room again')\n"
    )
    told, _ = child.communicate(timeout=20)  # type: ignore[attr-defined]
    assert told.splitlines() == ["could not be written: No space left on device", "0"]
    assert begun.journal_path.read_bytes().startswith(whole)
    case = begun.read()
    assert [n.text for n in case.notes] == ["there is room again"]
    assert case.messages == []


def test_a_failed_sync_takes_the_entry_back(
    begun: CaseFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = begun.journal_path.read_bytes()
    with begun.writing() as open_, monkeypatch.context() as patch:
        patch.setattr(os, "fsync", _fail)
        with pytest.raises(UnreadableError, match="could not be written"):
            open_.journal.note("lost")
    assert begun.journal_path.read_bytes() == whole


def test_when_not_even_that_works_nothing_more_is_glued_to_the_broken_end(
    begun: CaseFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    write = os.write
    with begun.writing() as open_:
        with monkeypatch.context() as patch:
            patch.setattr(os, "write", lambda to, data: write(to, data[: len(data) // 2]))
            patch.setattr(os, "ftruncate", _fail)
            with pytest.raises(UnreadableError, match="could not be written"):
                open_.journal.note("half")
        with pytest.raises(UnreadableError, match="takes no more entries"):
            open_.journal.note("after")
    with begun.writing() as open_:
        assert list(open_.case.answers) == ["speed", "light", "water"]
        assert "journal.torn-1" in open_.case.messages[0]


def _fail(*_: object) -> None:
    raise OSError(5, "Input/output error")


def test_control_and_direction_characters_never_reach_the_journal(
    begun: CaseFolder, kb: Knowledge
) -> None:
    rude = "red\x1b[31m\u202e leaf\x7f\x9b"
    row = {"input": "manure", "when": rude}
    with begun.writing() as open_:
        open_.journal.note(rude)
        open_.journal.answered(read_answer(kb, "added", {"mix": [row]}))
        open_.journal.settled("residue", by=rude, note=rude)
    kept = begun.journal_path.read_text(encoding="utf-8")
    assert not {"\x1b", "\u202e", "\x7f", "\x9b", "\\u001b"} & set(kept)
    assert "\\u001b" not in kept
    assert begun.read().notes[0].text == "red[31m leaf"


def test_line_ends_and_strange_letters_inside_a_text_stay_one_entry(begun: CaseFolder) -> None:
    odd = "first\nsecond\u2028third\u0085 Blätter 🌱 \udce9"
    with begun.writing() as open_:
        open_.journal.note(odd)
        open_.journal.note("next")
    texts = [n.text for n in begun.read().notes]
    assert texts == ["first\nsecond\u2028third Blätter 🌱 ?", "next"]


def test_a_journal_saved_by_an_editor_with_other_line_ends_is_read(begun: CaseFolder) -> None:
    text = begun.journal_path.read_bytes().replace(b"\n", b"\r\n")
    begun.journal_path.write_bytes(b"\xef\xbb\xbf" + text)
    assert list(begun.read().answers) == ["speed", "light", "water"]


def test_a_journal_that_is_a_link_is_refused(begun: CaseFolder, tmp_path: Path) -> None:
    outside = tmp_path / "outside.jsonl"
    begun.journal_path.rename(outside)
    begun.journal_path.symlink_to(outside)
    whole = outside.read_bytes()
    with pytest.raises(UnreadableError, match="link"):
        begun.read()
    with pytest.raises(UnreadableError, match="link"), begun.writing():
        pass
    assert outside.read_bytes() == whole
