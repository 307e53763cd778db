"""Renderers read the document and nothing else, keep to the width, and say no forbidden word."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from report_cases import Made, told
from rich.cells import cell_len
from rich.console import Console

from diagnose.kb.model import Knowledge
from diagnose.reasoning.rank import Ranker
from diagnose.report import markdown, terminal
from diagnose.report.document import build

# Authorities speak of food and of blame; this program does not.
FORBIDDEN = ("contaminated", "safe to eat")


def on_terminal(document: dict[str, Any], width: int = 80) -> str:
    out = io.StringIO()
    console = Console(file=out, width=width, no_color=True, highlight=False, emoji=False)
    terminal.show(document, console)
    return out.getvalue()


RENDERERS: dict[str, Callable[[dict[str, Any]], str]] = {
    "terminal": on_terminal,
    "markdown": markdown.render,
}
every_renderer = pytest.mark.parametrize("render", RENDERERS.values(), ids=RENDERERS.keys())


@every_renderer
def test_saved_document_renders_again_without_the_knowledge(
    made: list[Made], render: Callable[[dict[str, Any]], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    wanted = [render(m.document) for m in made]
    saved = [json.dumps(m.document) for m in made]

    def gone(*args: object, **named: object) -> None:
        raise AssertionError("the knowledge was read")

    for name in ("diagnose.kb.load.load", "diagnose.kb.load.load_fully", "diagnose.kb.tree.read"):
        monkeypatch.setattr(name, gone, raising=False)
    monkeypatch.setattr("diagnose.reasoning.rank.Ranker.rank", gone)
    assert [render(json.loads(text)) for text in saved] == wanted


@every_renderer
def test_the_verdict_comes_first_and_every_step_is_there(
    made: list[Made], render: Callable[[dict[str, Any]], str]
) -> None:
    for m in made:
        text = " ".join(render(m.document).replace("\\", "").split())
        verdict = " ".join(m.document["verdict"]["text"].split())
        assert verdict in text[:700], m.name
        for action in m.document["actions"]["today"][:8]:
            assert " ".join(action["text"].split()) in text, m.name


@every_renderer
def test_forbidden_words_are_never_said(
    made: list[Made], render: Callable[[dict[str, Any]], str]
) -> None:
    for m in made:
        # Titles of sources are other people's words.
        text = render({**m.document, "sources": {}}).casefold()
        for word in FORBIDDEN:
            assert word not in text, m.name


def test_forbidden_words_stand_nowhere_in_what_the_book_says(kb: Knowledge) -> None:
    said = [f"{f.name} {f.standard_term}" for f in kb.findings.values()]
    said += [v.label for f in kb.findings.values() for v in f.values]
    said += [f"{a.text} {a.why}" for a in kb.actions.values()]
    said += [c.text for c in kb.cautions.values()]
    said += [f"{t.name} {t.why} {t.limits} {' '.join(t.how)}" for t in kb.tests.values()]
    for cause in kb.causes.values():
        said += [cause.name, cause.standard_term, cause.prospects]
        said += [rule.because for rule in cause.rules]
        said += [x.tell_apart for x in cause.lookalikes]
    found = [text for text in said if any(word in text.casefold() for word in FORBIDDEN)]
    assert found == []


@pytest.mark.parametrize("width", [80, 120])
def test_no_line_is_wider_than_the_terminal(made: list[Made], width: int) -> None:
    for m in made:
        for line in on_terminal(m.document, width).splitlines():
            assert cell_len(line) <= width, f"{m.name}: {line}"


# --- Markdown -------------------------------------------------------------------------------------

HOSTILE = "<script>x</script> *b* _i_ `c` [a](http://b) | col \\ # &lt; ~~s~~ ![p](q)"


def test_markdown_escapes_what_the_grower_said(ranker: Ranker, kb: Knowledge) -> None:
    answers = dict(kb.causes["residue_in_input"].examples[0].answers)
    session = told(ranker, {**answers, "own_words": HOSTILE + "\n# not a heading"})
    text = markdown.render(build(session))
    line = next(row for row in text.splitlines() if "script" in row)
    assert line.count("script") == 2  # the newline did not part it
    bare = re.sub(r"\\.", "", line)  # what is left is not escaped
    assert not re.search(r"[<>`*_\[\]#~&]", bare)
    assert bare.count("|") == 4  # the table's own


def test_markdown_escape_is_undone_by_reading_it(kb: Knowledge) -> None:
    assert re.sub(r"\\(.)", r"\1", markdown.escape(HOSTILE)) == HOSTILE


def test_markdown_says_each_caution_once(made: list[Made]) -> None:
    for m in made:
        text = markdown.render(m.document)
        for caution in m.document["cautions"]:
            assert text.count(markdown.escape(caution["text"])) == 1, f"{m.name}: {caution['id']}"


def test_markdown_marks_what_is_unsourced(made: list[Made]) -> None:
    assert any("(from memory, unsourced)" in markdown.render(m.document) for m in made)
