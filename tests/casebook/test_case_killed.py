from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable

import pytest

from diagnose.casebook.store import Casebook
from diagnose.kb.model import Knowledge

Start = Callable[[str], "subprocess.Popen[str]"]

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")

INTERVIEW = """
from diagnose.interview.answers import read_answer
given = [("speed", "weeks"), ("light", "dim"), ("leaves", {"ticked": ["cupped"]}),
         ("salt", "3.1 mS/cm"), ("plants", {"tomato": "hurt", "bean": "fine_beside"})]
case = Casebook("casebook").open_case("26-001")
with case.writing() as open_:
    for id_, raw in given[:%d]:
        open_.journal.answered(read_answer(kb, id_, raw))
        print(id_, flush=True)
    input()
"""


@pytest.mark.parametrize("answers", [1, 3, 5])
def test_every_answer_given_before_a_kill_is_there_on_resuming(
    casebook: Casebook, kb: Knowledge, start_python: Start, answers: int
) -> None:
    casebook.new_case(kb)
    child = start_python(INTERVIEW % answers)
    assert child.stdout is not None
    acknowledged = [child.stdout.readline().strip() for _ in range(answers)]
    child.send_signal(signal.SIGKILL)
    child.communicate(timeout=20)
    with casebook.open_case("26-001").writing() as open_:
        session, lost = open_.resume(kb)
    assert list(session.answers) == acknowledged
    assert len(session.answers) == answers
    assert session.answers["speed"].reports[0].value == "weeks"
    assert lost == open_.case.messages == []


@pytest.mark.parametrize("seed", range(4))
def test_killed_at_any_moment_at_most_the_entry_not_yet_acknowledged_is_in_doubt(
    casebook: Casebook, kb: Knowledge, start_python: Start, seed: int
) -> None:
    casebook.new_case(kb)
    child = start_python(
        'case = Casebook("casebook").open_case("26-001")\n'
        "with case.writing() as open_:\n"
        "    for n in range(10**6):\n"
        '        open_.journal.note(f"{n} " + "leaf " * 200)\n'
        "        print(n, flush=True)\n"
    )
    assert child.stdout is not None
    child.stdout.readline()
    time.sleep(random.Random(seed).uniform(0.0, 0.15))
    child.send_signal(signal.SIGKILL)
    # Not communicate(): it would pass over what readline has taken in ahead.
    rest = child.stdout.read()
    child.communicate(timeout=20)
    acknowledged = 1 + rest.count("\n")
    with casebook.open_case("26-001").writing() as open_:
        kept = [int(n.text.split()[0]) for n in open_.case.notes]
    assert kept == list(range(len(kept)))
    assert acknowledged <= len(kept) <= acknowledged + 1
