from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from diagnose.kb import match
from diagnose.kb.load import load
from diagnose.kb.model import Knowledge


@pytest.fixture(scope="module")
def kb(tmp_path_factory: pytest.TempPathFactory) -> Knowledge:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DIAGNOSE_CACHE", str(tmp_path_factory.mktemp("cache")))
        return load()


TYPED_BADLY = {
    "tomatos": "tomato",
    "tommatoes": "tomato",
    "TOMATO!": "tomato",
    "cucmber": "cucumber",
    "brocoli": "broccoli",
    "letuce": "lettuce",
    "pepers": "pepper",
    "potatos": "potato",
    "pumkin": "pumpkin",
    "parsly": "parsley",
    "sun-flower": "sunflower",
    "brusels sprouts": "brussels_sprouts",
    " sweet  corn ": "sweetcorn",
}
# Names of one plant in British and American English.
SYNONYMS = {
    "aubergine": "eggplant",
    "eggplants": "eggplant",
    "zucchini": "courgette",
    "courgettes": "courgette",
    "cilantro": "coriander",
    "arugula": "rocket",
    "fava beans": "broad_bean",
    "rutabaga": "swede",
    "beets": "beetroot",
    "corn": "sweetcorn",
    "maize": "sweetcorn",
    "bell pepper": "pepper",
    "swiss chard": "chard",
    "bok choy": "pak_choi",
}
INPUTS = {
    "hores manure": "horse_manure",
    "horse muck": "horse_manure",
    "cow manure": "cattle_manure",
    "chicken manure": "poultry_manure",
    "lawn clippings": "grass_clippings",
    "grass cuttings": "grass_clippings",
    "worm castings": "worm_casts",
    "leaf mold": "leaf_mould",
    "potting soil": "bought_potting_mix",
    "tap water": "mains_water",
    "rain barrel": "barrel_water",
    "saw dust": "sawdust_bark",
    "wood ashes": "wood_ash",
}


@pytest.mark.parametrize(("typed", "id_"), TYPED_BADLY.items())
def test_crop_typed_badly_is_found_for_sure(kb: Knowledge, typed: str, id_: str) -> None:
    best = match.find(typed, match.crop_names(kb))[0]
    assert (best.id, best.score >= match.SURE) == (id_, True)


@pytest.mark.parametrize(("typed", "id_"), SYNONYMS.items())
def test_british_and_american_names_mean_one_crop(kb: Knowledge, typed: str, id_: str) -> None:
    found = match.find(typed, match.crop_names(kb))
    assert [(m.id, m.score) for m in found] == [(id_, 100.0)]


@pytest.mark.parametrize(("typed", "id_"), INPUTS.items())
def test_input_typed_badly_or_in_other_words_is_found_for_sure(
    kb: Knowledge, typed: str, id_: str
) -> None:
    best = match.find(typed, match.input_names(kb))[0]
    assert (best.id, best.score >= match.SURE) == (id_, True)


@pytest.mark.parametrize("word", ["xyzzy", "car", "stone", "tree", "vinegar", "concrete", "sick"])
def test_what_is_neither_crop_nor_input_is_never_sure(kb: Knowledge, word: str) -> None:
    for names in (match.crop_names(kb), match.input_names(kb)):
        assert all(m.score < match.SURE for m in match.find(word, names))


@pytest.mark.parametrize("word", ["compost", "bagged", "water"])
def test_word_that_several_inputs_share_is_not_sure(kb: Knowledge, word: str) -> None:
    found = match.find(word, match.input_names(kb))
    assert len(found) > 1
    assert all(m.score < match.SURE for m in found)


def test_nothing_that_does_not_come_near_is_offered(kb: Knowledge) -> None:
    for word in ("tomatos", "car", "kale", "q"):
        found = match.find(word, match.crop_names(kb))
        assert all(m.score >= match.NEAR for m in found)
        assert found == sorted(found, key=lambda m: (-m.score, m.id))


@pytest.mark.parametrize("text", ["", "   ", "!?", "_"])
def test_empty_text_finds_nothing(kb: Knowledge, text: str) -> None:
    assert match.find(text, match.crop_names(kb)) == []


def test_every_name_and_synonym_in_the_book_finds_its_own_crop_and_input(kb: Knowledge) -> None:
    for names in (match.crop_names(kb), match.input_names(kb)):
        for id_, wordings in names.items():
            for wording in wordings:
                assert id_ in [m.id for m in match.find(wording, names)], wording


def test_no_more_than_asked_for_is_offered(kb: Knowledge) -> None:
    assert len(match.find("manur", match.input_names(kb), limit=2)) == 2


def test_signs_in_a_story_are_offered_and_what_is_denied_is_not(tiny: Path) -> None:
    book = load(tiny)
    assert [s.finding for s in match.signs(book, "They are wilting; no pale leaves")] == ["wilting"]
    assert match.signs(book, "no wilting") == []
    assert match.signs(book, "") == []


def test_sign_in_other_form_of_the_word_is_offered(tiny: Path) -> None:
    (sign,) = match.signs(load(tiny), "My tomatoes wilted at noon")
    assert (sign.finding, sign.value) == ("wilting", "present")


def test_mistyped_id_has_its_neighbours_named() -> None:
    assert match.nearest("crosp", ["crops", "inputs", "stage"]) == ["crops"]
    assert match.nearest("zzz", ["crops", "inputs"]) == []


@pytest.mark.parametrize("word", ["what", "hard", "mint?x", "the", "iron"])
def test_short_word_is_no_guess_at_a_name(kb: Knowledge, word: str) -> None:
    for names in (match.crop_names(kb), match.input_names(kb), match.event_names(kb)):
        assert all(m.score == 100 for m in match.find(word, names))


@pytest.mark.parametrize(
    ("typed", "id_"),
    [
        ("the sweetcorn is", "sweetcorn"),
        ("my tomatoes", "tomato"),
        ("tomato plants", "tomato"),
        ("leeks", "leek"),
        ("the leek", "leek"),
        ("our tomatos are", "tomato"),
    ],
)
def test_small_words_and_plurals_do_not_stand_in_the_way(
    kb: Knowledge, typed: str, id_: str
) -> None:
    best = match.find(typed, match.crop_names(kb))[0]
    assert (best.id, best.score >= match.SURE) == (id_, True)


def found_in(kb: Knowledge, story: str) -> set[str]:
    return {s.finding for s in match.signs(kb, story, limit=99)}


def test_noun_is_not_read_out_of_another_form_of_it(kb: Knowledge) -> None:
    hot = replace(kb.findings["hot_days"], standard_term="heat")
    named = replace(kb, findings={**kb.findings, "hot_days": hot})
    assert "hot_days" not in found_in(named, "They stand in a heated greenhouse")
    assert "hot_days" in found_in(named, "It came after the heat")


@pytest.mark.parametrize("word", ["twistd", "twistted", "twsited", "twisting", "twisted", "Twists"])
def test_one_slip_of_spelling_or_another_ending_is_forgiven(kb: Knowledge, word: str) -> None:
    assert found_in(kb, f"leaves {word}") >= found_in(kb, "leaves twisted") != set()


@pytest.mark.parametrize("word", ["twst", "wistd", "twiddled"])
def test_more_than_one_slip_is_not(kb: Knowledge, word: str) -> None:
    assert not found_in(kb, word) & found_in(kb, "twisted")
