"""The sample sessions are what the program makes of their answers today, to the byte.

After a change of knowledge, wording or interview, make them again and read what moved:
`python tests/remake_samples.py`.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from diagnose.interview.answers import read_answer
from diagnose.interview.given import read_answers_file
from diagnose.interview.step import Done
from diagnose.kb import strictyaml
from diagnose.kb.load import load

sys.path.insert(0, str(Path(__file__).parent))

from remake_samples import BY_PHONE, ROOT, TODAY, Sample, make, stories

KB = load()
STORIES = stories()
AGAIN = "make it again and read the difference: python tests/remake_samples.py"

every_story = pytest.mark.parametrize("story", STORIES, ids=[s.name for s in STORIES])


@pytest.fixture(scope="module")
def samples() -> dict[str, Sample]:
    return {story.name: make(KB, story) for story in STORIES}


def test_the_three_stories_are_there() -> None:
    wanted = {"twisted_tomatoes", "peppers_virus_or_drift", "phone_call_many_dont_knows"}
    assert wanted <= {story.name for story in STORIES}
    assert wanted >= BY_PHONE


@every_story
def test_a_folder_holds_its_three_files_and_no_more(story: Path) -> None:
    assert {f.name for f in story.iterdir()} == {"answers.yaml", "transcript.txt", "report.md"}


@every_story
def test_transcript_is_what_the_interview_says_today(
    samples: dict[str, Sample], story: Path
) -> None:
    kept = (story / "transcript.txt").read_bytes()
    assert kept == samples[story.name].transcript.encode(), AGAIN


@every_story
def test_report_is_what_the_program_says_today(samples: dict[str, Sample], story: Path) -> None:
    kept = (story / "report.md").read_bytes()
    assert kept == samples[story.name].report.encode(), AGAIN


@every_story
def test_answers_can_be_given_to_the_command_as_they_are(story: Path) -> None:
    phone = story.name in BY_PHONE
    assert read_answers_file(KB, story / "answers.yaml", today=TODAY, phone=phone)


@every_story
def test_what_was_typed_means_what_was_written(samples: dict[str, Sample], story: Path) -> None:
    written = strictyaml.read(story / "answers.yaml").value
    for id_, answer in samples[story.name].session.answers.items():
        if id_ == "own_words":
            continue  # the interview offers what it understood; not all of it need be
        meant = read_answer(KB, id_, written.get(id_), phone=story.name in BY_PHONE)
        if isinstance(meant.raw, dict) and "ticked" in meant.raw:
            # Boxes ticked in own words before stay ticked.
            assert set(meant.raw["ticked"]) <= set(answer.raw["ticked"]), id_
        else:
            assert answer.raw == meant.raw, id_


@every_story
def test_the_interview_came_to_its_own_end(samples: dict[str, Sample], story: Path) -> None:
    step = samples[story.name].session.next_step()
    assert isinstance(step, Done)
    assert step.stop.reason != "enough"


@every_story
def test_transcript_lines_are_short_and_clean(story: Path) -> None:
    for line in (story / "transcript.txt").read_text(encoding="utf-8").splitlines():
        assert len(line) <= 80
        assert line == line.rstrip()


# --- what each story is there to show -------------------------------------------------------------


def verdict(name: str) -> str:
    return (ROOT / name / "report.md").read_text(encoding="utf-8").splitlines()[2]


def test_twisted_tomatoes_are_settled_by_the_pot_test() -> None:
    told = (ROOT / "twisted_tomatoes" / "transcript.txt").read_text(encoding="utf-8")
    assert "not proven: Weedkiller residue" in told.replace("\n", " ")
    assert verdict("twisted_tomatoes").startswith("**Settled by a test: Weedkiller residue")


def test_peppers_turn_out_a_virus_though_drift_was_blamed() -> None:
    told = (ROOT / "peppers_virus_or_drift" / "transcript.txt").read_text(encoding="utf-8")
    assert "spray drift" in told
    assert "virus" in verdict("peppers_virus_or_drift")


def test_the_phone_call_ends_without_a_winner() -> None:
    name = "phone_call_many_dont_knows"
    told = (ROOT / name / "transcript.txt").read_text(encoding="utf-8")
    assert told.count("> don't know") >= 7
    assert "The way it came in is open" in verdict(name) or "Still open" in verdict(name)
