from __future__ import annotations

import datetime as dt
import os
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from diagnose.casebook.store import Casebook, casebook_folder
from diagnose.errors import CaseInUseError, DiagnoseError, ExitCode, UnreadableError, UsageError
from diagnose.interview.answers import read_answer
from diagnose.kb.model import Knowledge

NOBODY = 65534


def at(year: int) -> Callable[[], dt.datetime]:
    return lambda: dt.datetime(year, 6, 15, 12, tzinfo=dt.UTC)


def with_cases(folder: Path, *names: str, year: int = 2026) -> Casebook:
    for name in names:
        (folder / name).mkdir(parents=True)
    return Casebook(folder, clock=at(year))


def test_the_casebook_is_where_it_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("DIAGNOSE_CASEBOOK", str(tmp_path / "club"))
    assert casebook_folder() == tmp_path / "club"
    assert casebook_folder(tmp_path / "mine") == tmp_path / "mine"
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("DIAGNOSE_CASEBOOK", "~/club")
    assert casebook_folder() == tmp_path / "club"
    monkeypatch.delenv("DIAGNOSE_CASEBOOK")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert "seedling-diagnose" in casebook_folder().parts


def test_numbers_run_on_within_a_year_and_begin_anew_with_the_next(
    tmp_path: Path, kb: Knowledge
) -> None:
    made = [Casebook(tmp_path, clock=at(y)).new_case(kb).number for y in (2026, 2026, 2027, 2026)]
    assert made == ["26-001", "26-002", "27-001", "26-003"]


def test_a_number_taken_by_something_else_is_passed_over(tmp_path: Path, kb: Knowledge) -> None:
    (tmp_path / "26-001").write_text("a stray file")
    (tmp_path / "26-002").symlink_to(tmp_path / "nowhere")
    assert Casebook(tmp_path, clock=at(2026)).new_case(kb).number == "26-003"
    assert (tmp_path / "26-001").read_text() == "a stray file"


def test_cases_begun_at_once_by_several_processes_get_different_numbers(
    tmp_path: Path, start_python: Callable[[str], subprocess.Popen[str]]
) -> None:
    script = (
        'print("ready", flush=True); input()\n'
        "for _ in range(10): print(Casebook('casebook').new_case(kb).number)\n"
    )
    children = [start_python(script) for _ in range(5)]
    for child in children:
        assert child.stdout is not None
        child.stdout.readline()
    for child in children:
        assert child.stdin is not None
        child.stdin.write("\n")
        child.stdin.flush()
    made = [n for child in children for n in child.communicate(timeout=60)[0].split()]
    assert len(made) == len(set(made)) == 50
    assert Casebook(tmp_path / "casebook").numbers() == sorted(made)


@pytest.mark.parametrize("typed", ["26-014", " 26-014 ", "26-14", "014", "14", "26-01", "26-0"])
def test_a_case_is_found_by_what_people_say(tmp_path: Path, typed: str) -> None:
    book = with_cases(tmp_path, "25-014", "25-015", "26-014", "26-114")
    assert book.open_case(typed).number == "26-014"


@pytest.mark.parametrize(("typed", "number"), [("15", "25-015"), ("24-", "24-001")])
def test_another_year_is_meant_when_this_one_has_no_such_case(
    tmp_path: Path, typed: str, number: str
) -> None:
    book = with_cases(tmp_path, "24-001", "25-014", "25-015", "26-014")
    assert book.open_case(typed).number == number


@pytest.mark.parametrize("typed", ["26-", "9", "26-1"])
def test_what_fits_several_cases_is_never_guessed(tmp_path: Path, typed: str) -> None:
    book = with_cases(tmp_path, "24-009", "25-009", "26-114", "26-120")
    with pytest.raises(UsageError, match="fits 2 cases") as caught:
        book.open_case(typed)
    assert caught.value.exit_code == ExitCode.WRONG_USAGE


def test_a_short_number_never_opens_a_case_it_only_ends_like(tmp_path: Path) -> None:
    book = with_cases(tmp_path, "26-114")
    with pytest.raises(UnreadableError, match="no case '14'") as caught:
        book.open_case("14")
    assert "26-114" in caught.value.hint


def test_an_unknown_case_names_the_nearest(tmp_path: Path) -> None:
    with pytest.raises(UnreadableError, match="no case '26-041'") as caught:
        with_cases(tmp_path, "26-014", "25-900").open_case("26-041")
    assert "26-014" in caught.value.hint
    assert caught.value.exit_code == ExitCode.NOT_READABLE


def test_an_empty_casebook_says_how_to_begin(tmp_path: Path) -> None:
    book = Casebook(tmp_path / "none")
    assert book.cases() == []
    with pytest.raises(UnreadableError) as caught:
        book.open_case("14")
    assert "diagnose interview" in caught.value.hint
    assert not book.folder.exists()


@pytest.mark.parametrize(
    "trick",
    [
        "../26-001",
        "..",
        ".",
        "",
        "/",
        "26-001/..",
        "26-001/journal.jsonl",
        "..\\26-001",
        "C:26-001",
        "26-001\x00",
        "26-*",
        "~",
        "\u0662\u0666-\u0660\u0660\u0661",
        "26-0000000000001",
        "26-001\n26-002",
        "-1",
    ],
)
def test_nothing_typed_leads_out_of_the_casebook(tmp_path: Path, trick: str) -> None:
    with_cases(tmp_path, "26-001")
    book = with_cases(tmp_path / "casebook", "26-002")
    with pytest.raises(UsageError, match="no case number"):
        book.open_case(trick)


def test_a_case_that_is_a_link_is_refused_and_listed_as_such(
    tmp_path: Path, casebook: Casebook, kb: Knowledge
) -> None:
    elsewhere = Casebook(tmp_path / "elsewhere", clock=at(2026)).new_case(kb)
    casebook.new_case(kb)
    (casebook.folder / "26-002").symlink_to(elsewhere.path)
    with pytest.raises(UnreadableError, match="link"):
        casebook.open_case("26-002")
    assert ["link" in line.fault for line in casebook.cases()] == [False, True]


def test_a_file_in_place_of_the_casebook_is_an_error_with_path_and_remedy(
    tmp_path: Path, kb: Knowledge
) -> None:
    place = tmp_path / "casebook"
    place.write_text("not a folder")
    book = Casebook(place)
    for use in (lambda: book.new_case(kb), book.cases, lambda: book.open_case("14")):
        with pytest.raises(UnreadableError) as caught:
            use()
        assert str(caught.value.location) == str(place)
        assert "--casebook" in caught.value.hint
        assert caught.value.exit_code == ExitCode.NOT_READABLE


@contextmanager
def bound_by_permissions(folder: Path) -> Iterator[None]:
    """Permissions do not bind root: root hands the folder over and goes on as nobody."""
    if not hasattr(os, "geteuid") or os.geteuid() != 0:
        yield
        return
    for path in (folder, *folder.rglob("*")):
        os.chown(path, NOBODY, NOBODY)
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


def test_a_read_only_casebook_can_be_read_but_not_written(kb: Knowledge) -> None:
    # The folders above pytest's own are open to their owner alone.
    with tempfile.TemporaryDirectory() as outer:
        Path(outer).chmod(0o755)
        casebook = Casebook(Path(outer) / "casebook", clock=at(2026))
        case = casebook.new_case(kb)
        case.path.chmod(0o500)
        casebook.folder.chmod(0o500)
        try:
            with bound_by_permissions(casebook.folder):
                assert case.read().answers == {}
                assert [line.number for line in casebook.cases()] == [case.number]
                with pytest.raises(UnreadableError, match="Permission denied"):
                    casebook.new_case(kb)
                with pytest.raises(UnreadableError, match="Permission denied"), case.writing():
                    pass
                with pytest.raises(UnreadableError, match="Permission denied"):
                    case.save_report("report.md", "text")
        finally:
            casebook.folder.chmod(0o700)
            case.path.chmod(0o700)


def test_a_case_whose_first_line_cannot_be_written_leaves_no_folder(
    casebook: Casebook, kb: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", fail)
        with pytest.raises(UnreadableError, match="No space left"):
            casebook.new_case(kb)
    assert casebook.numbers() == []


def test_an_alias_is_one_short_line_and_the_only_personal_field(
    casebook: Casebook, kb: Knowledge
) -> None:
    case = casebook.new_case(kb, alias="  Ann\n\x1b[31m  of plot 7 " + "x" * 100)
    alias = case.read().header.alias
    assert alias.startswith("Ann [31m of plot 7 xxx")
    assert len(alias) == 60
    assert "alias" not in casebook.new_case(kb).journal_path.read_text()


def test_the_list_shows_what_matters_and_one_bad_case_hides_no_other(
    casebook: Casebook, kb: Knowledge
) -> None:
    first, second = casebook.new_case(kb, alias="plot 7"), casebook.new_case(kb)
    with first.writing() as open_:
        open_.journal.answered(read_answer(kb, "speed", "weeks"))
        open_.journal.answered(read_answer(kb, "light", "dont_know"))
        open_.journal.result(read_answer(kb, "pot_test", "injury"))
        open_.journal.settled("residue", by="pot_test")
    second.journal_path.write_text("nonsense\n{}\n")
    one, two = casebook.cases()
    assert (one.number, one.alias, one.answered, one.results) == ("26-001", "plot 7", 1, 1)
    assert (one.settled, one.begun, one.fault) == ("residue", "2026-04-20T18:30:00Z", "")
    assert two.number == "26-002"
    assert "damaged" in two.fault


def test_a_case_open_for_writing_can_be_looked_at_but_not_written_by_a_second(
    casebook: Casebook, kb: Knowledge
) -> None:
    case = casebook.new_case(kb)
    with case.writing() as first:
        first.journal.note("first")
        with pytest.raises(CaseInUseError) as caught, case.writing(timeout=0.05):
            pass
        assert f"diagnose show {case.number}" in caught.value.hint
        assert [n.text for n in casebook.open_case("1").read().notes] == ["first"]
    with case.writing(timeout=0.05) as second:
        second.journal.note("second")
    assert [n.text for n in case.read().notes] == ["first", "second"]


def test_a_result_is_kept_as_plain_json_and_read_back(casebook: Casebook, kb: Knowledge) -> None:
    case = casebook.new_case(kb)
    assert case.result() is None
    document = {"format": 1, "verdict": {"state": "likely", "text": "Blätter"}, "causes": []}
    case.save_result(document)
    assert case.result() == document
    case.save_result({"format": 1})
    assert case.result() == {"format": 1}


def test_a_damaged_result_is_an_error_with_a_way_out(casebook: Casebook, kb: Knowledge) -> None:
    case = casebook.new_case(kb)
    case.save_result({"format": 1}).write_text("[1")
    with pytest.raises(UnreadableError, match="damaged") as caught:
        case.result()
    assert f"diagnose resume {case.number}" in caught.value.hint


@pytest.mark.parametrize(
    "name", ["../report.md", "a/b.md", ".hidden.md", "journal.jsonl", "result.json", "x", "A B.md"]
)
def test_a_report_cannot_be_put_elsewhere_or_over_the_journal(
    casebook: Casebook, kb: Knowledge, name: str
) -> None:
    case = casebook.new_case(kb)
    before = case.journal_path.read_bytes()
    with pytest.raises(DiagnoseError, match="cannot be the name of a report"):
        case.save_report(name, "text")
    assert case.journal_path.read_bytes() == before


def test_a_report_is_kept_beside_the_journal(casebook: Casebook, kb: Knowledge) -> None:
    case = casebook.new_case(kb)
    path = case.save_report("handout.html", "<p>Blätter</p>")
    assert path == case.path / "handout.html"
    assert path.read_text(encoding="utf-8") == "<p>Blätter</p>"
