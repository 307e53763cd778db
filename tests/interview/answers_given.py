"""One set of answers, as a file and as the lines a grower would type."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from diagnose.interview.answers import DONT_KNOW, read_answer
from diagnose.interview.offer import Offer
from diagnose.interview.session import new_session
from diagnose.interview.step import Done
from diagnose.kb.load import load
from diagnose.kb.model import Question

ANSWERS: dict[str, Any] = {
    "danger_now": "none",
    "own_words": {"text": "something is the matter", "confirmed": []},
    "trouble": {"ticked": ["trouble_odd_shape", "trouble_small"]},
    "crops": {"tomato": "hurt", "pepper": "hurt", "lettuce": "fine_beside"},
    "stage": "few_leaves",
    "raised": "home",
    "place": "greenhouse_unheated",
    "season": "spring",
    "extent": "some",
    "onset": "days",
    "newest_trend": "worse",
    "contrast": {"ticked": ["differ_place"]},
    "inputs": {
        "mix": ["bought_potting_mix", "perlite_vermiculite"],
        "ground": [],
        "water": ["mains_water"],
    },
    "at_hand": {"ticked": ["can_dig", "have_label"]},
    "new_leaf_shape": {"ticked": ["new_leaves_cupped"]},
    "spreading": "all_at_once",
    "when": {
        "last_right": "2026-04-20",
        "events": [{"event": "potted_on", "when": "2026-04-05"}],
    },
}


def write_file(path: Path, answers: Mapping[str, Any]) -> Path:
    """The answers as a file; JSON is YAML too."""
    path.write_text(json.dumps(answers), encoding="utf-8")
    return path


def whole_interview(answers: Mapping[str, Any]) -> tuple[list[str], dict[str, Any]]:
    """An interview answered until it ends by itself.

    Returns:
        The lines a grower types, and the raw answers they stand for. Where `answers` has none, the
        first value or box of the question is taken; of what is laid out, all is picked.
    """
    kb = load()
    session = new_session(kb)
    lines: list[str] = []
    asked: dict[str, Any] = {}
    while not isinstance(step := session.next_step(), Done):
        if isinstance(step, Offer):
            lines.append("all")
            session.pick(step.id, step.taking())
            continue
        id_ = step.question.id
        asked[id_] = answers.get(id_, _some_answer(step.question))
        lines += lines_for(id_, asked[id_])
        session.apply(read_answer(kb, id_, asked[id_]))
    return lines, asked


def _some_answer(question: Question) -> Any:
    first = load().findings[question.findings[0]] if question.findings else None
    if first is None:
        return DONT_KNOW
    if question.form == "tick":
        return {"ticked": [first.id]}
    if question.form == "measure":
        return f"{sum(first.plausible) / 2:g} {first.unit}"
    return first.values[0].id


def lines_for(id_: str, raw: Any) -> list[str]:
    """The lines one answer is typed as."""
    kb = load()
    form = kb.questions[id_].form
    if form == "crops":
        return [
            ", ".join(c for c, s in raw.items() if s == state) or "none"
            for state in ("hurt", "fine_beside")
        ]
    if form == "inputs":
        return [", ".join(raw[s]) or "nothing" if s in raw else "don't know" for s in kb.slots]
    if raw == DONT_KNOW:
        return ["don't know", "done"] if form == "timeline" else ["don't know"]
    if form == "timeline":
        events = [f"{e['event'].replace('_', ' ')} {e['when']}" for e in raw["events"]]
        return [raw["last_right"], *events, "done"]
    if form == "words":
        return [str(raw["text"])]
    if form == "tick" and isinstance(raw, dict):
        ids = kb.questions[id_].findings
        return [", ".join(str(ids.index(f) + 1) for f in raw["ticked"])]
    return [str(raw)]
