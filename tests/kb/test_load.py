from __future__ import annotations

import json
import shutil
from dataclasses import fields
from pathlib import Path

import pytest

from diagnose.errors import ExitCode, UnreadableError
from diagnose.kb import cache
from diagnose.kb import load as load_module
from diagnose.kb.fault import KnowledgeError
from diagnose.kb.load import load, load_fully
from diagnose.kb.locate import knowledge_root
from diagnose.kb.model import Knowledge
from diagnose.kb.tree import digest

TINY_FILES = sorted(
    path.relative_to(Path(__file__).parent / "tiny").as_posix()
    for path in (Path(__file__).parent / "tiny").rglob("*.yaml")
)


CAUTION = "{id: wear_gloves, text: Wear gloves., show: beside, sources: [memory]}"


def cached_files(folder: Path) -> list[Path]:
    return sorted(folder.glob("knowledge-*.json"))


def assert_same(one: Knowledge, other: Knowledge) -> None:
    for field in fields(Knowledge):
        mine, its = getattr(one, field.name), getattr(other, field.name)
        if isinstance(mine, dict):
            assert list(mine) == list(its), f"{field.name}: ids or their order"
            for id_, item in mine.items():
                assert item == its[id_], f"{field.name}: {id_}"
        else:
            assert mine == its, field.name


def forbid_full_load(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(root: Path) -> None:
        raise AssertionError("the files were read though the cache holds them")

    monkeypatch.setattr(load_module, "load_fully", full)


def test_cache_hit_equals_a_fresh_load_object_by_object(
    tiny: Path, own_cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = load(tiny)
    assert len(cached_files(own_cache)) == 1
    fresh = load_fully(tiny).knowledge
    assert fresh is not None
    forbid_full_load(monkeypatch)
    assert_same(load(tiny), fresh)
    assert_same(first, fresh)


def test_the_whole_book_comes_out_of_the_cache_unchanged(
    own_cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = load()
    forbid_full_load(monkeypatch)
    assert_same(load(), first)


@pytest.mark.parametrize(
    "broken",
    [b"", b"{", b"\xff\xfe", b"[]", b"{}", b"null", b'{"a": 1}', b'{"a.yaml": ["cause", {}]}'],
    ids=str,
)
def test_broken_cache_is_passed_over_and_put_right(
    broken: bytes, tiny: Path, own_cache: Path
) -> None:
    whole = load(tiny)
    (file,) = cached_files(own_cache)
    sound = file.read_bytes()
    file.write_bytes(broken)
    assert_same(load(tiny), whole)
    assert file.read_bytes() == sound


def test_cache_that_cannot_be_written_is_passed_over(
    tiny: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("not a folder")
    monkeypatch.setenv("DIAGNOSE_CACHE", str(in_the_way / "below"))
    assert load(tiny).version == "tiny"
    assert in_the_way.read_text() == "not a folder"


def test_folder_in_place_of_the_cached_file_is_passed_over(tiny: Path, own_cache: Path) -> None:
    load(tiny)
    (file,) = cached_files(own_cache)
    file.unlink()
    file.mkdir()
    assert load(tiny).version == "tiny"


def test_cache_keeps_only_the_newest_few_and_no_half_written_file(
    tiny: Path, own_cache: Path
) -> None:
    for number in range(cache.KEEP + 2):
        (tiny / "cautions" / "more.yaml").write_text(f"# {number}\ncautions: [{CAUTION}]\n")
        load(tiny)
    assert len(cached_files(own_cache)) == cache.KEEP
    assert cached_files(own_cache) == sorted(own_cache.iterdir())


def test_faulty_knowledge_is_never_cached(tiny: Path, own_cache: Path) -> None:
    (tiny / "derived.yaml").unlink()
    with pytest.raises(KnowledgeError) as caught:
        load(tiny)
    assert caught.value.exit_code is ExitCode.KNOWLEDGE_NOT_VALID
    assert "kb check" in caught.value.hint
    assert not own_cache.exists()


def test_changed_knowledge_is_not_taken_from_the_cache(tiny: Path) -> None:
    load(tiny)
    file = tiny / "crops" / "brassicaceae.yaml"
    file.write_text(file.read_text().replace("name: kale", "name: curly kale"))
    assert load(tiny).crops["kale"].name == "curly kale"


@pytest.mark.parametrize("file", [*TINY_FILES, "schema/cause.json", "schema/manifest.json"])
def test_digest_changes_with_any_file(file: str, tiny: Path) -> None:
    before, path = digest(tiny), tiny / file
    content = path.read_bytes()
    path.write_bytes(content + b"\n")
    assert digest(tiny) != before
    path.write_bytes(content)
    assert digest(tiny) == before
    path.rename(path.with_name(f"a_{path.name}"))
    assert digest(tiny) != before


def test_digest_changes_with_a_file_more_or_less_but_not_with_notes_beside(tiny: Path) -> None:
    before = digest(tiny)
    (tiny / "notes.txt").write_text("mine")
    assert digest(tiny) == before
    (tiny / "cautions" / "more.yaml").write_text("")
    more = digest(tiny)
    (tiny / "derived.yaml").unlink()
    assert len({before, more, digest(tiny)}) == 3


def test_digest_does_not_depend_on_where_the_folder_lies(tiny: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    shutil.copytree(tiny, elsewhere)
    assert digest(elsewhere) == digest(tiny)


def test_what_is_cached_is_plain_data(tiny: Path, own_cache: Path) -> None:
    load(tiny)
    (file,) = cached_files(own_cache)
    assert {kind for kind, _ in json.loads(file.read_bytes()).values()} == {
        *("manifest", "sources", "derived", "cause", "question", "test"),
        *("crops", "inputs", "substances", "actions", "cautions"),
    }


def test_environment_names_the_knowledge_and_the_option_goes_before_it(
    tiny: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DIAGNOSE_KNOWLEDGE", str(tiny))
    assert load().version == "tiny"
    other = tmp_path / "other"
    shutil.copytree(tiny, other)
    assert knowledge_root(other) == other


def test_folder_without_knowledge_says_so_and_names_the_way_out(tmp_path: Path) -> None:
    with pytest.raises(UnreadableError) as caught:
        load(tmp_path)
    assert str(tmp_path) in str(caught.value)
    assert "--knowledge" in caught.value.hint


def test_a_look_alike_written_once_is_known_to_both_causes(tiny: Path) -> None:
    causes = load(tiny).causes
    assert [pair.cause for pair in causes["thirst"].lookalikes] == ["wet_roots", "cold_injury"]
    assert [pair.cause for pair in causes["wet_roots"].lookalikes] == ["thirst"]


def test_retired_cause_leaves_the_book_and_stays_readable(tiny: Path) -> None:
    file = tiny / "causes" / "cold" / "cold_injury.yaml"
    retired = "status: retired\nreplaced_by: thirst"
    file.write_text(file.read_text().replace("status: reviewed", retired))
    kb = load(tiny)
    assert "cold_injury" not in kb.causes
    assert kb.retired["cold_injury"].replaced_by == "thirst"


def test_background_rates_not_named_share_what_is_left(tiny: Path) -> None:
    kb = load(tiny)
    assert kb.findings["wilting"].background.rates == (0.3, 0.7)
    assert kb.findings["barrel_water_used"].value_ids == ("present", "absent")
