"""Every command ends with a documented code, and every failure with a way out."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from diagnose.casebook.store import Casebook
from diagnose.errors import EXIT_CODE_MEANINGS, ExitCode
from diagnose.kb.locate import knowledge_root

Cli = Callable[..., Any]
GIVEN = ("--answer", "season=spring", "--answer", "onset=gradual")


@pytest.fixture
def case(cli: Cli) -> str:
    """A saved case with two answers."""
    assert cli("interview", "--no-input", *GIVEN).code == 0
    return Casebook().numbers()[-1]


@pytest.fixture
def broken(tmp_path: Path) -> Path:
    """A copy of the knowledge with two faults in two files."""
    root = tmp_path / "broken"
    shutil.copytree(knowledge_root(), root)
    season = root / "questions/opening/season.yaml"
    season.write_text(season.read_text(encoding="utf-8") + "colour: blue\n", encoding="utf-8")
    stage = root / "questions/opening/stage.yaml"
    text = stage.read_text(encoding="utf-8").replace("form: choice", "form: guess")
    stage.write_text(text, encoding="utf-8")
    return root


class TestFine:
    @pytest.mark.parametrize(
        "argv",
        [
            ["--version"],
            ["--help"],
            ["interview", "--help"],
            ["interview", "--no-case", "--no-input"],
            ["interview", "--no-case", "--no-input", "--format", "markdown"],
            ["cases", "list"],
            ["kb", "list"],
            ["kb", "list", "crops"],
            ["kb", "show", "tomato"],
            ["kb", "questions"],
        ],
    )
    def test_commands_without_a_case(self, cli: Cli, argv: list[str]) -> None:
        ran = cli(*argv)
        assert (ran.code, ran.err) == (0, "")
        assert ran.out

    def test_commands_on_a_case(self, cli: Cli, case: str) -> None:
        for argv in (
            ["show", case],
            ["show", case, "--format", "markdown"],
            ["recheck", case],
            ["recheck", case, "--format", "json"],
            ["add", case, "bean_pot_test=hormone_injury"],
            ["add", case, "season=summer"],
            ["resume", case, "--no-input"],
            ["cases", "list"],
        ):
            assert cli(*argv).code == 0, argv

    def test_a_case_is_named_when_it_is_saved(self, cli: Cli) -> None:
        ran = cli("interview", "--no-input", "--alias", "plot 7", *GIVEN)
        assert "Saved as case" in ran.err
        assert "CASE" in ran.out
        assert "PLOT 7" in ran.out
        assert "plot 7" in cli("cases", "list").out

    def test_an_added_result_is_kept(self, cli: Cli, case: str) -> None:
        cli("add", case, "bean_pot_test=hormone_injury")
        saved = json.loads(cli("show", case, "--format", "json").out)
        assert saved["questions_asked"][-1]["id"] == "bean_pot_test"
        line = cli("cases", "list").out
        assert "2 answers, 1 test results" in line

    def test_the_report_says_how_to_tell_a_result(self, cli: Cli, case: str) -> None:
        out = cli("show", case).out
        told = re.search(rf"diagnose add {case} (\w+=\w+)", out)
        assert told is not None
        assert cli("add", case, told[1]).code == 0


class TestFaultsFound:
    def test_a_check_prints_all_faults_with_place_and_remedy(self, cli: Cli, broken: Path) -> None:
        ran = cli("kb", "check", "--knowledge", broken)
        assert ran.code == ExitCode.FAULTS_FOUND
        for file in ("questions/opening/season.yaml", "questions/opening/stage.yaml"):
            assert re.search(rf"{file}:\d+:\d+ KB\d+ .+\n    \S", ran.out), file


class TestWrongUsage:
    @pytest.mark.parametrize(
        ("argv", "told"),
        [
            (["intervew"], "interview"),
            (["interview", "--plane"], "--plain"),
            (["interview", "--format", "pdf"], "markdown"),
            (["interview", "--no-input", "--answer", "spring"], "ID=VALUE"),
            (["interview", "--no-input", "--answer", "sesaon=spring"], "season"),
            (["interview", "--no-input", "--answer", "season=sprung"], "spring"),
            (["interview", "--no-input", "--answer", "crops=mandrake hurt"], "mandrake"),
            (["interview", "--no-input", "--answer", "ec_mix=2 furlongs"], "mS/cm"),
            (["interview", "--no-input", "--answer", "ec_mix=900 mS/cm"], "Check the unit"),
            (["interview", "--no-input", "--answer", "when=right until 2999-01-01"], "future"),
            (["interview", "--no-input", "--answer", "when=right until 2026-02-30"], "no date"),
            (["show", "elephant"], "26-014"),
            (["add", "1"], "TEST=RESULT"),
            (["kb", "list", "dragons"], "causes"),
        ],
    )
    def test_says_what_would_be_right(self, cli: Cli, argv: list[str], told: str) -> None:
        ran = cli(*argv)
        assert ran.code == ExitCode.WRONG_USAGE
        assert told in ran.err
        assert "Traceback" not in ran.err

    def test_begins_no_case(self, cli: Cli) -> None:
        cli("interview", "--no-input", "--answer", "season=sprung")
        assert Casebook().numbers() == []

    def test_a_bad_result_changes_nothing(self, cli: Cli, case: str) -> None:
        before = (Casebook().open_case(case).journal_path).read_bytes()
        ran = cli("add", case, "bean_pot_test=wobbly")
        assert ran.code == ExitCode.WRONG_USAGE
        assert "hormone_injury" in ran.err
        assert (Casebook().open_case(case).journal_path).read_bytes() == before

    def test_a_bad_answer_in_a_file_is_named_by_line(self, cli: Cli, tmp_path: Path) -> None:
        path = tmp_path / "tray.yaml"
        path.write_text("season: spring\nonset: purple\n", encoding="utf-8")
        ran = cli("interview", "--no-input", "--answers", path)
        assert ran.code == ExitCode.WRONG_USAGE
        assert "tray.yaml:2" in ran.err


class TestKnowledgeNotValid:
    @pytest.mark.parametrize("argv", [["interview", "--no-input"], ["kb", "list"]])
    def test_names_every_fault_with_its_remedy(
        self, cli: Cli, broken: Path, argv: list[str]
    ) -> None:
        ran = cli(*argv, "--knowledge", broken)
        assert ran.code == ExitCode.KNOWLEDGE_NOT_VALID
        for file in ("season.yaml", "stage.yaml"):
            assert re.search(rf"opening/{file}:\d+:\d+ KB\d+ .+\n    \S", ran.err), file
        assert "kb check" in ran.err

    def test_begins_no_case(self, cli: Cli, broken: Path) -> None:
        cli("interview", "--no-input", "--knowledge", broken)
        assert Casebook().numbers() == []


class TestNotReadable:
    def test_a_file_where_the_casebook_should_be(self, cli: Cli, tmp_path: Path) -> None:
        path = tmp_path / "book"
        path.write_text("not a folder", encoding="utf-8")
        for argv in (["interview", "--no-input"], ["cases", "list"], ["show", "1"]):
            ran = cli(*argv, "--casebook", path)
            assert ran.code == ExitCode.NOT_READABLE, argv
            assert str(path) in ran.err
        assert path.read_text(encoding="utf-8") == "not a folder"

    def test_no_such_case(self, cli: Cli, case: str) -> None:
        ran = cli("show", "99")
        assert ran.code == ExitCode.NOT_READABLE
        assert case in ran.err

    def test_a_damaged_journal(self, cli: Cli, case: str) -> None:
        path = Casebook().open_case(case).journal_path
        lines = path.read_bytes().splitlines(keepends=True)
        path.write_bytes(lines[0] + b"{nonsense}\n" + lines[1])
        ran = cli("resume", case, "--no-input")
        assert ran.code == ExitCode.NOT_READABLE
        assert "journal.jsonl:2" in ran.err

    @pytest.mark.parametrize("text", [None, "- a list", "a: [", "\x00"])
    def test_answers_that_cannot_be_read(self, cli: Cli, tmp_path: Path, text: str | None) -> None:
        path = tmp_path / "tray.yaml"
        if text is not None:
            path.write_text(text, encoding="utf-8")
        ran = cli("interview", "--no-input", "--answers", path)
        assert ran.code == ExitCode.NOT_READABLE
        assert "tray.yaml" in ran.err

    def test_no_knowledge_there(self, cli: Cli, tmp_path: Path) -> None:
        ran = cli("kb", "list", "--knowledge", tmp_path)
        assert ran.code == ExitCode.NOT_READABLE
        assert "--knowledge" in ran.err


class TestNeedsTerminal:
    def test_names_the_flags_and_begins_no_case(self, cli: Cli) -> None:
        ran = cli("interview")
        assert ran.code == ExitCode.NEEDS_TERMINAL
        for flag in ("--plain", "--answers", "--answer", "--no-input"):
            assert flag in ran.err
        assert Casebook().numbers() == []

    def test_answers_that_leave_questions_open_need_one_too(self, cli: Cli) -> None:
        assert cli("interview", *GIVEN).code == ExitCode.NEEDS_TERMINAL

    def test_resume_does_too(self, cli: Cli, case: str) -> None:
        assert cli("resume", case).code == ExitCode.NEEDS_TERMINAL

    def test_a_pipe_that_ends_early_saves_and_says_how_to_go_on(self, cli: Cli) -> None:
        ran = cli("interview", "--plain", stdin="none\nall pale\n")
        assert ran.code == ExitCode.NEEDS_TERMINAL
        (number,) = Casebook().numbers()
        assert f"diagnose resume {number}" in ran.err
        assert list(Casebook().open_case(number).read().answers) == ["danger_now", "own_words"]


class TestCaseInUse:
    def test_a_second_window_is_turned_away_with_advice(
        self, cli: Cli, case: str, start: Callable[..., subprocess.Popen[str]]
    ) -> None:
        first = start("resume", case, "--plain")
        try:
            assert first.stdout is not None
            while "This is case" not in first.stdout.readline():
                pass
            for argv in (["resume", case, "--no-input"], ["add", case, "season=summer"]):
                ran = cli(*argv)
                assert ran.code == ExitCode.CASE_IN_USE
                assert case in ran.err
            assert cli("show", case).code == 0
        finally:
            first.kill()
            first.communicate()
        assert cli("resume", case, "--no-input").code == 0


class TestProgramFault:
    def test_is_a_short_line_and_a_crash_log(
        self, cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def boom(*_: object) -> None:
            raise RuntimeError("the inside broke")

        monkeypatch.setattr("diagnose.kb.load.load", boom)
        ran = cli("kb", "list")
        assert ran.code == ExitCode.PROGRAM_FAULT
        assert "fault in the program" in ran.err
        assert "Traceback" not in ran.err
        (log,) = (tmp_path / "state").rglob("crash.log")
        assert "the inside broke" in log.read_text(encoding="utf-8")
        assert str(log) in ran.err

    def test_is_printed_when_no_log_can_be_kept(
        self, cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def boom(*_: object) -> None:
            raise RuntimeError("the inside broke")

        (tmp_path / "state").write_text("in the way", encoding="utf-8")
        monkeypatch.setattr("diagnose.kb.load.load", boom)
        ran = cli("kb", "list")
        assert ran.code == ExitCode.PROGRAM_FAULT
        assert "the inside broke" in ran.err


class TestStoppedByUser:
    def test_leaving_says_how_to_go_on(self, cli: Cli) -> None:
        ran = cli("interview", "--plain", stdin="none\nleave\n")
        assert ran.code == ExitCode.STOPPED_BY_USER
        (number,) = Casebook().numbers()
        assert f"Saved as case {number}. Go on with: diagnose resume {number}" in ran.err

    def test_leaving_without_a_case_says_so(self, cli: Cli) -> None:
        ran = cli("interview", "--plain", "--no-case", stdin="leave\n")
        assert ran.code == ExitCode.STOPPED_BY_USER
        assert "No case was kept" in ran.err


def test_the_readme_lists_every_code_with_its_meaning() -> None:
    readme = Path(__file__).parents[2] / "README.md"
    rows = re.findall(r"^\| (\d+) \| (.+?) \|$", readme.read_text(encoding="utf-8"), re.M)
    assert {int(code): told for code, told in rows} == {
        int(code): told for code, told in EXIT_CODE_MEANINGS.items()
    }
    assert len(EXIT_CODE_MEANINGS) == len(ExitCode)
