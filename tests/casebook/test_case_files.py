from __future__ import annotations

import os
import stat
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.casebook.files import atomic_write, locked
from diagnose.errors import CaseInUseError, ExitCode, UnreadableError


def test_a_file_is_forced_to_disk_before_it_takes_its_name_and_the_name_after(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps: list[str] = []
    sync, replace = os.fsync, os.replace

    def note_sync(file: int) -> None:
        folder = stat.S_ISDIR(os.fstat(file).st_mode)
        steps.append("sync folder" if folder else "sync file")
        sync(file)

    def note_replace(old: str, new: str) -> None:
        steps.append("replace")
        replace(old, new)

    monkeypatch.setattr(os, "fsync", note_sync)
    monkeypatch.setattr(os, "replace", note_replace)
    atomic_write(tmp_path / "a.txt", "leaf")
    assert steps == ["sync file", "replace", "sync folder"]


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_failed_write_leaves_the_old_text_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    target = tmp_path / "a.txt"
    atomic_write(target, "old")

    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, step, fail)
        with pytest.raises(UnreadableError, match="No space left"):
            atomic_write(target, "new")
    assert target.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


def test_writing_over_a_link_leaves_what_it_points_to_alone(tmp_path: Path) -> None:
    outside = tmp_path / "outside.txt"
    outside.write_text("mine")
    link = tmp_path / "report.md"
    link.symlink_to(outside)
    atomic_write(link, "report")
    assert outside.read_text() == "mine"
    assert not link.is_symlink()
    assert link.read_text() == "report"


def test_text_with_half_a_character_is_still_written(tmp_path: Path) -> None:
    atomic_write(tmp_path / "a.txt", "bad \udce9 name")
    assert (tmp_path / "a.txt").read_text(encoding="utf-8") == "bad ? name"


def test_a_second_writer_in_another_process_is_told_the_case_is_in_use(
    tmp_path: Path, start_python: Callable[..., object]
) -> None:
    case = tmp_path / "26-001"
    case.mkdir()
    child = start_python(
        "from pathlib import Path; from diagnose.casebook.files import locked\n"
        "with locked(Path('26-001')):\n"
        "    print('held', flush=True); input()\n"
    )
    assert child.stdout.readline() == "held\n"  # type: ignore[attr-defined]
    words = "26-001 is open in another window"
    with pytest.raises(CaseInUseError, match=words) as caught, locked(case, timeout=0.1):
        pass
    assert caught.value.exit_code == ExitCode.CASE_IN_USE == 6
    assert "close it there" in caught.value.hint
    child.communicate("\n", timeout=20)  # type: ignore[attr-defined]
    with locked(case, timeout=0.1):
        assert case.is_dir()


def test_the_lock_of_a_killed_writer_is_free_again(
    tmp_path: Path, start_python: Callable[..., object]
) -> None:
    case = tmp_path / "26-001"
    case.mkdir()
    child = start_python(
        "from pathlib import Path; from diagnose.casebook.files import locked\n"
        "with locked(Path('26-001')):\n"
        "    print('held', flush=True); input()\n"
    )
    child.stdout.readline()  # type: ignore[attr-defined]
    child.kill()  # type: ignore[attr-defined]
    child.communicate(timeout=20)  # type: ignore[attr-defined]
    with locked(case, timeout=0.1):
        assert case.is_dir()


def test_a_lock_file_that_is_a_link_is_refused(tmp_path: Path) -> None:
    case = tmp_path / "26-001"
    case.mkdir()
    outside = tmp_path / "outside"
    outside.write_text("mine")
    (case / "journal.lock").symlink_to(outside)
    with pytest.raises(UnreadableError, match="link"), locked(case):
        pass
    assert outside.read_text() == "mine"
