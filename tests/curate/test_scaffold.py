from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from diagnose.curate.run import check_knowledge
from diagnose.curate.scaffold import scaffold
from diagnose.errors import UnreadableError, UsageError
from diagnose.kb.load import load_fully
from diagnose.kb.locate import knowledge_root
from diagnose.kb.schema import PLACEHOLDER

NEW = {
    "cause": ("cause", "black_rot", "water", "causes/water/black_rot.yaml"),
    "question": ("question", "stem_smell", "care", "questions/care/stem_smell.yaml"),
    "test": ("test", "lime_drop", "", "tests/lime_drop.yaml"),
}
each_kind = pytest.mark.parametrize(("kind", "id_", "folder", "file"), NEW.values(), ids=list(NEW))


@each_kind
def test_new_file_lacks_nothing_but_what_is_to_be_filled_in_and_check_finds_each_place(
    kind: str, id_: str, folder: str, file: str, tiny: Path
) -> None:
    path = scaffold(tiny, kind, id_, folder)
    assert path == tiny / file
    faults = check_knowledge(tiny)
    assert {(fault.location.path, fault.code) for fault in faults} == {(file, "KB013")}
    open_lines = [
        number
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if PLACEHOLDER in line
    ]
    assert sorted({fault.location.line for fault in faults}) == open_lines


FILLED = {
    "cause": {
        "kind: CHANGE_ME ": "kind: root_drowning ",
        "{finding: CHANGE_ME,": "{finding: trouble_wilting,",
        "cause: CHANGE_ME, finding: CHANGE_ME,": "cause: damping_off, finding: trouble_wilting,",
        "beaten_by: CHANGE_ME": "beaten_by: damping_off",
        "[CHANGE_ME]": "[trouble_wilting]",
        "CHANGE_ME": "Text.",
    },
    "question": {"id: CHANGE_ME": "id: sour_smell", "CHANGE_ME": "Text"},
    "test": {"CHANGE_ME": "Text."},
}


@each_kind
def test_new_file_once_filled_in_fits_the_book(
    kind: str, id_: str, folder: str, file: str, tmp_path: Path
) -> None:
    root = tmp_path / "knowledge"
    shutil.copytree(knowledge_root(), root)
    path = scaffold(root, kind, id_, folder)
    text = path.read_text("utf-8")
    for old, new in FILLED[kind].items():
        assert old in text
        text = text.replace(old, new)
    path.write_text(text, "utf-8")
    assert [fault for fault in load_fully(root).faults if fault.location.path == file] == []


def test_file_that_exists_is_refused_and_left_alone(tiny: Path) -> None:
    file = tiny / "tests" / "water_half.yaml"
    before = file.read_bytes()
    with pytest.raises(UnreadableError, match="exists already") as caught:
        scaffold(tiny, "test", "water_half")
    assert caught.value.location is not None
    assert caught.value.location.path == str(file)
    assert caught.value.hint
    assert file.read_bytes() == before


@pytest.mark.parametrize(
    ("id_", "folder"),
    [
        ("Black_rot", "water"),
        ("black rot", "water"),
        ("../black_rot", "water"),
        ("1_rot", "water"),
        ("", "water"),
        ("rot\n", "water"),
        ("black_rot", "../water"),
        ("black_rot", "Water"),
    ],
)
def test_what_is_no_id_is_refused_and_nothing_is_written(id_: str, folder: str, tiny: Path) -> None:
    before = sorted(tiny.rglob("*"))
    with pytest.raises(UsageError, match="is no id"):
        scaffold(tiny, "cause", id_, folder)
    assert sorted(tiny.rglob("*")) == before


@pytest.mark.parametrize(("kind", "word"), [("cause", "family"), ("question", "topic")])
def test_cause_and_question_need_a_folder(kind: str, word: str, tiny: Path) -> None:
    with pytest.raises(UsageError) as caught:
        scaffold(tiny, kind, "black_rot")
    assert f"{word} with --in" in caught.value.hint


def test_first_of_a_new_family_makes_its_folder(tiny: Path) -> None:
    assert scaffold(tiny, "cause", "sun_scorch", "light").is_file()


def test_folder_that_cannot_be_made_is_refused(tiny: Path) -> None:
    (tiny / "causes" / "light").write_text("in the way")
    with pytest.raises(UnreadableError):
        scaffold(tiny, "cause", "sun_scorch", "light")
