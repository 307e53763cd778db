"""Starts a new file of knowledge: every key in its place, ready to be filled in and checked."""

from __future__ import annotations

import re
from pathlib import Path

from diagnose.errors import Location, UnreadableError, UsageError

CAUSE = """\
# Fill in every line, then run `diagnose kb check`.
id: {id}
name: {words}
standard_term: {words}
also_said: []
family: {folder}
kind: CHANGE_ME                     # see kinds in manifest.yaml
status: draft                       # draft | reviewed | settled | retired
how_common: uncommon                # very_common common uncommon rare very_rare exceptional
how_common_sources: [memory]
hosts: {{families: [all], reach: patchy, sources: [memory], seen: memory}}
evidence:                           # 8 rows or more, 2 independent read sources or more
  - {{finding: CHANGE_ME, how_often: usually, sources: [memory], seen: memory}}
rules: []
goes_with: []
lookalikes:                         # each pair once, in either file
  - {{cause: CHANGE_ME, finding: CHANGE_ME, tell_apart: CHANGE_ME, sources: [memory], seen: memory}}
confirm: []
actions: {{now: [photograph_and_map], plants: [keep_and_watch], material: [], prevent: []}}
prospects: CHANGE_ME
cautions: []
told_as:                            # how growers tell of it: 6 complaints or more, without its name
  - CHANGE_ME
examples:
  - {{name: a plain case, answers: {{trouble: {{ticked: [CHANGE_ME]}}}}, expect: first}}
  - {{name: a near miss, answers: {{trouble: {{ticked: [CHANGE_ME]}}}}, beaten_by: CHANGE_ME}}
"""
QUESTION = """\
# Fill in every line, then run `diagnose kb check`.
id: {id}
form: tick                          # choice | tick | measure (crops, inputs, timeline, words exist)
text: CHANGE_ME?
about: CHANGE_ME                    # a few words, for the list of what one could tell about
brought_up_by: [CHANGE_ME]          # words of a story that bring it up
help: CHANGE_ME
why: CHANGE_ME
effort: 1                           # 1 known, 2 look closely, 4 dig or measure, 8 ask somebody
tick:
  - id: CHANGE_ME
    name: CHANGE_ME
    also_said: [CHANGE_ME]          # what growers call it
    background: {{rates: {{present: 0.03}}, sources: [memory], seen: memory}}
    slip: medium                    # low | medium | high
"""
TEST = """\
# Fill in every line, then run `diagnose kb check`. Causes give its results as evidence rows.
id: {id}
name: {words}
why: CHANGE_ME
how:
  - CHANGE_ME
results:
  - {{id: shown, label: CHANGE_ME}}
  - {{id: not_shown, label: CHANGE_ME}}
normal: not_shown
background: {{rates: {{shown: 0.05, not_shown: 0.95}}, sources: [memory], seen: memory}}
effort: 2
days: [1, 7]
cost: free                          # free | cheap | moderate | laboratory
settles: false
limits: CHANGE_ME
sources: [memory]
seen: memory
"""
TEMPLATES = {"cause": CAUSE, "question": QUESTION, "test": TEST}
FOLDERS = {"cause": "causes", "question": "questions", "test": "tests"}


def scaffold(root: Path, kind: str, id_: str, folder: str = "") -> Path:
    """Write a new file and return its path.

    Args:
        root: the knowledge folder.
        kind: cause, question or test.
        id_: lower_snake_case.
        folder: family of a cause, topic of a question; not used for tests.

    Raises:
        UsageError: a bad id, or a cause or question without a folder.
        UnreadableError: the file exists, or cannot be written.
    """
    for name in (id_, folder) if folder else (id_,):
        if not re.fullmatch(r"[a-z][a-z0-9_]*", name):
            raise UsageError(f"'{name}' is no id", "Use lower case letters, digits and _.")
    if kind != "test" and not folder:
        what = "its family" if kind == "cause" else "its topic"
        raise UsageError(f"a {kind} lies in a folder", f"Name {what} with --in.")
    place = root / FOLDERS[kind]
    path = (place if kind == "test" else place / folder) / f"{id_}.yaml"
    text = TEMPLATES[kind].format(id=id_, folder=folder, words=id_.replace("_", " "))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        raise UnreadableError(
            "this file exists already", "Choose another id, or edit the file.", Location(str(path))
        ) from None
    except OSError as error:
        raise UnreadableError(
            f"cannot write it: {error.strerror}", "Check the folder.", Location(str(path))
        ) from None
    return path
