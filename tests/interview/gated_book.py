"""A small book for interviews: an opening, gates, needs, a question of every form."""

from __future__ import annotations

from dataclasses import replace

from diagnose.interview.session import Session
from diagnose.kb.condition import condition_from
from diagnose.kb.model import (
    Crop,
    Finding,
    Form,
    Input,
    Knowledge,
    Named,
    OpeningStep,
    Question,
)
from diagnose.reasoning import demo
from diagnose.reasoning.book import Book
from diagnose.reasoning.rank import Ranker
from diagnose.reasoning.settings import DEFAULT, Settings


def _question(id_: str, form: Form, *findings: str, **more: object) -> Question:
    plain = Question(id_, "demo", form, f"{id_}?", f"why {id_}", 1, findings, help=f"how {id_}")
    return replace(plain, **more)  # type: ignore[arg-type]


def _tick(id_: str, home: str, name: str = "", term: str = "") -> Finding:
    return replace(demo.yes_no(id_, 0.3), home=home, name=name or id_, standard_term=term)


def _choice(id_: str, *values: str) -> Finding:
    return demo.choice(id_, dict.fromkeys(values, 1 / len(values)))


def gated_kb() -> Knowledge:
    findings = [
        _tick("odd_shape", "trouble", "Odd shape", "distortion"),
        _tick("wrong_colour", "trouble", "Wrong colour"),
        _tick("have_lens", "at_hand"),
        _tick("can_dig", "at_hand"),
        _tick("cupped", "shape", "Cupped like a spoon"),
        _tick("strap", "shape", "Narrow like a strap"),
        _tick("mites", "lens"),
        _tick("eggs", "eggs"),
        _choice("onset", "overnight", "gradual"),
        _choice("roots", "white", "brown"),
        replace(
            demo.measured("salt", [1.0, 2.5]),
            unit="mS/cm",
            other_units={"uS/cm": (0.001, 0.0), "TDS": (0.0015, 0.0)},
            plausible=(0.0, 20.0),
        ),
    ]
    causes = [
        demo.cause(
            "twister", {("cupped", "present"): "usually", ("onset", "overnight"): "usually"}
        ),
        demo.cause(
            "bleach", {("wrong_colour", "present"): "usually", ("salt", "band2"): "usually"}
        ),
        demo.cause("mite", {("mites", "present"): "usually", ("eggs", "present"): "usually"}),
        demo.cause("rot", {("roots", "brown"): "usually", ("onset", "gradual"): "usually"}),
    ]
    odd = condition_from({"finding": "odd_shape", "is": "present"})
    questions = [
        _question("story", "words"),
        _question("trouble", "tick", "odd_shape", "wrong_colour"),
        _question("plants", "crops"),
        _question("added", "inputs"),
        _question("at_hand", "tick", "have_lens", "can_dig"),
        _question("shape", "tick", "cupped", "strap", applies_when=odd),
        _question("lens", "tick", "mites", needs=("lens",)),
        _question("eggs", "tick", "eggs", needs=("lens",)),
        _question("onset", "choice", "onset"),
        _question("roots", "choice", "roots", needs=("dig",)),
        _question("salt", "measure", "salt"),
        _question("when", "timeline"),
    ]
    return replace(
        demo.book(findings, causes),
        questions={q.id: q for q in questions},
        crops={
            "tomato": Crop("tomato", "Tomato", "nightshades", ("tomatoes",)),
            "bean": Crop("bean", "Bean (French, runner)", "legumes"),
            "oats": Crop("oats", "Oats", "grasses"),
        },
        botanical_families={f: Named(f, f) for f in ("nightshades", "legumes", "grasses")},
        inputs={
            "own_compost": Input("own_compost", "Own compost", ("organic",), "low", ""),
            "straw": Input("straw", "Straw", ("organic", "hay"), "medium", ""),
        },
        slots={"mix": Named("mix", "in the mix"), "mulch": Named("mulch", "on top")},
        events={
            "sown": Named("sown", "sown"),
            "potted_on": Named("potted_on", "potted on", ("repotted",)),
        },
        opening=(
            OpeningStep("Your words", ("story",)),
            OpeningStep("Trouble", ("trouble",)),
            OpeningStep("What is at hand", ("at_hand",)),
        ),
        at_hand={"lens": "have_lens", "dig": "can_dig"},
    )


def begin(
    kb: Knowledge | None = None, *, phone: bool = False, settings: Settings = DEFAULT
) -> Session:
    return Session(Ranker(Book(kb or gated_kb(), settings)), phone)


def tell(session: Session, **answers: object) -> Session:
    for id_, raw in answers.items():
        session.apply(session.read(id_, raw))
    return session


def with_a_third_onset(kb: Knowledge) -> Knowledge:
    """The same book, where onset may also be "days", so that two of three may be meant."""
    onset = kb.findings["onset"]
    third = replace(onset.values[1], id="days", label="days")
    rates = replace(onset.background, rates=(0.4, 0.3, 0.3))
    wider = replace(onset, values=(*onset.values, third), background=rates)
    return replace(kb, findings={**kb.findings, "onset": wider})
