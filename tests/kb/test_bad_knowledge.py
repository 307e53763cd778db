"""Every kind of fault is found where it stands.

Each file of `bad/` is named `<CODE>_<what is wrong>.yaml` and spoils one file of a copy of `tiny/`:

    file: the file that is spoilt, made or removed
    old, new: a piece of it, standing there once, and what is put in its place; or
    text: its whole content (nothing: the file is removed), with an optional encoding
    fault_in: the file the fault is shown in, where that is another one
    at: a piece of the line the fault must point at
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
import yaml

from diagnose.curate.run import check_knowledge, fault_kinds
from diagnose.kb.fault import KnowledgeError
from diagnose.kb.load import load

HERE = Path(__file__).parent
BAD = sorted((HERE / "bad").glob("*.yaml"))
TINY_FILES = sorted(
    path.relative_to(HERE / "tiny").as_posix() for path in (HERE / "tiny").rglob("*.yaml")
)
# From here on faults are of quality: shown by `kb check`, no reason to refuse to work.
QUALITY = "KB200"


def case(path: Path) -> dict[str, Any]:
    read: dict[str, Any] = yaml.safe_load(path.read_text("utf-8"))
    return read


def spoil(root: Path, told: dict[str, Any]) -> None:
    target = root / told["file"]
    if "old" in told:
        sound = target.read_text("utf-8")
        assert sound.count(told["old"]) == 1, "the piece to replace must stand there once"
        target.write_text(sound.replace(told["old"], told["new"]), "utf-8")
    elif told["text"] is None:
        target.unlink()
    else:
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(told["text"].encode(told.get("encoding", "utf-8")))


def test_the_tiny_knowledge_has_no_fault_so_that_a_bad_case_has_only_its_own(tiny: Path) -> None:
    assert check_knowledge(tiny) == []


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_fault_is_found_with_its_place_and_remedy(path: Path, tiny: Path) -> None:
    told, code = case(path), path.name[:5]
    spoil(tiny, told)
    faults = check_knowledge(tiny)
    # Of twins one can never lead: a case may name what follows from its own fault.
    assert {fault.code for fault in faults} == {code, *told.get("also", ())}
    file = told.get("fault_in", told["file"])
    fault = next(f for f in faults if f.location.path == file and f.code == code)
    assert fault.location.line > 0
    assert fault.location.column > 0
    assert fault.remedy
    assert re.match(rf"{re.escape(file)}:\d+:\d+ {code} \S.*\n    \S", str(fault))
    if (tiny / file).exists():
        lines = (tiny / file).read_bytes().split(b"\n")
        assert told["at"].encode() in lines[fault.location.line - 1]


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_knowledge_is_refused_for_what_is_broken_and_used_for_what_is_only_poor(
    path: Path, tiny: Path
) -> None:
    spoil(tiny, case(path))
    if path.name < QUALITY:
        with pytest.raises(KnowledgeError) as refused:
            load(tiny)
        assert {fault.code for fault in refused.value.faults} == {path.name[:5]}
    else:
        assert load(tiny).version == "tiny"


@pytest.mark.parametrize("kind", fault_kinds(), ids=lambda kind: str(kind.code))
def test_every_kind_of_fault_has_a_bad_case(kind: Any) -> None:
    assert [path for path in BAD if path.name.startswith(f"{kind.code}_")]


def test_codes_are_unique_and_every_kind_says_what_is_wrong_and_what_to_do() -> None:
    kinds = fault_kinds()
    assert len({kind.code for kind in kinds}) == len(kinds)
    for kind in kinds:
        assert re.fullmatch(r"KB\d{3}", kind.code)
        assert kind.level in ("error", "warning", "note")
        assert kind.about
        assert kind.remedy


def test_all_faults_are_shown_at_once_sorted_by_place(tiny: Path) -> None:
    for name in ("KB103_unknown_kind", "KB104_unknown_value_in_rule", "KB106_rates_over_one"):
        spoil(tiny, case(HERE / "bad" / f"{name}.yaml"))
    assert [(fault.location.path, fault.code) for fault in check_knowledge(tiny)] == [
        ("causes/cold/cold_injury.yaml", "KB104"),
        ("causes/water/thirst.yaml", "KB103"),
        ("questions/care/onset.yaml", "KB106"),
    ]


def test_schema_that_is_no_json_is_a_fault_with_its_line(tiny: Path) -> None:
    schema = tiny / "schema" / "cause.json"
    schema.write_text('{\n "type": object\n}', "utf-8")
    (fault,) = check_knowledge(tiny)
    assert (fault.code, str(fault.location)) == ("KB010", "schema/cause.json:2:10")


@pytest.mark.parametrize("file", ["causes/water/thirst.yaml", "derived.yaml"])
def test_folder_or_broken_link_in_place_of_a_file_is_a_fault_not_a_crash(
    file: str, tiny: Path
) -> None:
    (tiny / file).unlink()
    (tiny / file).symlink_to("nowhere")
    assert {fault.code for fault in check_knowledge(tiny)} <= {"KB001", "KB006"}
    (tiny / file).unlink()
    (tiny / file).mkdir()
    assert "KB001" in {fault.code for fault in check_knowledge(tiny)}


@pytest.mark.parametrize("file", TINY_FILES)
def test_loss_of_any_line_is_survived_and_what_it_breaks_has_a_place(file: str, tiny: Path) -> None:
    path = tiny / file
    lines = path.read_text("utf-8").splitlines(keepends=True)
    for lost in range(len(lines)):
        path.write_text("".join(lines[:lost] + lines[lost + 1 :]), "utf-8")
        for fault in check_knowledge(tiny):
            assert fault.location.line > 0, (lost + 1, fault)
            assert fault.remedy
