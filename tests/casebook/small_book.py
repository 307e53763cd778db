"""A small book to write cases under: two causes, and a question of every form."""

from __future__ import annotations

import json
from dataclasses import replace

from diagnose.casebook.folder import CaseFolder
from diagnose.kb.model import (
    Crop,
    DerivedRecipe,
    Finding,
    Form,
    Input,
    Knowledge,
    Named,
    Question,
    Test,
)
from diagnose.reasoning import demo


def lines(case: CaseFolder) -> list[dict[str, object]]:
    return [json.loads(line) for line in case.journal_path.read_bytes().splitlines()]


def question(id_: str, form: Form, *findings: str) -> Question:
    return Question(id_, "demo", form, f"{id_}?", "", 1, findings)


def finding(id_: str, home: str, *values: str) -> Finding:
    if values:
        return replace(demo.choice(id_, dict.fromkeys(values, 1 / len(values))), home=home)
    return replace(demo.yes_no(id_), home=home)


def small_kb() -> Knowledge:
    findings = [
        finding("speed", "speed", "overnight", "days", "weeks"),
        finding("light", "light", "bright", "dim"),
        finding("water", "water", "wet", "dry"),
        finding("cupped", "leaves"),
        finding("spotted", "leaves"),
        finding("yellow", "leaves"),
        replace(
            demo.measured("salt", [1.0, 2.5]), home="salt", unit="mS/cm", plausible=(0.0, 20.0)
        ),
        replace(finding("pot_test", "pot_test", "injury", "none_shown"), form="test"),
        replace(finding("manure_used", "derived"), form="derived"),
    ]
    causes = [
        demo.cause("residue", {("cupped", "present"): "usually", ("speed", "weeks"): "often"}),
        demo.cause("drift", {("speed", "overnight"): "usually", ("spotted", "present"): "often"}),
    ]
    questions = [
        question("speed", "choice", "speed"),
        question("light", "choice", "light"),
        question("water", "choice", "water"),
        question("leaves", "tick", "cupped", "spotted", "yellow"),
        question("salt", "measure", "salt"),
        question("story", "words"),
        question("plants", "crops"),
        question("added", "inputs"),
        question("when", "timeline"),
    ]
    return replace(
        demo.book(findings, causes),
        version="2026.01",
        digest="first",
        questions={q.id: q for q in questions},
        tests={"pot_test": Test("pot_test", "Pot test", (), 4, (14.0, 35.0), "cheap")},
        crops={
            c: Crop(c, c, family)
            for c, family in (("tomato", "nightshades"), ("bean", "legumes"), ("oats", "grasses"))
        },
        botanical_families={f: Named(f, f) for f in ("nightshades", "legumes", "grasses")},
        inputs={
            "manure": Input("manure", "manure", ("dung",), "high", ""),
            "straw": Input("straw", "straw", ("hay",), "medium", ""),
        },
        slots={s: Named(s, s) for s in ("mix", "ground")},
        events={e: Named(e, e) for e in ("sown", "potted_on")},
        derived={
            "manure_used": DerivedRecipe(
                "manure_used", "any_input_with", tags=("dung",), slots=("mix", "ground")
            )
        },
    )
