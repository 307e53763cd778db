"""Draws the result document on a terminal: the answer first, then why, then what to do."""

from __future__ import annotations

import re
import textwrap
from typing import Any

from rich.console import Console
from rich.text import Text

from diagnose.interview.values import clean_text
from diagnose.reasoning.verdict import percent
from diagnose.report.wording import days_text, strength, today_title

BAR = 12
ENOUGH = 90
# A full stop, then a new sentence; "0.5 ppb" and "e.g. this" are none.
_SENTENCE = re.compile(r"(?<=[a-z)][.!?]) +(?=[A-Z])")
WIDEST = 96


def show(document: dict[str, Any], console: Console, *, full: bool = False) -> None:
    """Print a result document.

    Args:
        document: the result document.
        console: where to print.
        full: every reason, step and caution whole; else what a tired reader needs first.
    """
    _Page(document, console, full).draw()


class _Page:
    def __init__(self, document: dict[str, Any], console: Console, full: bool) -> None:
        self.doc, self.console, self.full = document, console, full
        self.width = min(console.width, WIDEST)
        self.printed: set[str] = set()

    def draw(self) -> None:
        self.verdict()
        self.ranking()
        self.reasons()
        self.today()
        self.looks()
        self.tests()
        self.later()
        self.cautions()
        self.foot()

    # --- parts -------------------------------------------------------------------------------

    def verdict(self) -> None:
        said = self.doc["verdict"]
        case = f"Case {self.doc['case']}" if self.doc["case"] else "Result"
        alias = self.doc.get("alias", "")
        self.head(f"{case}: {alias}" if alias else case)
        for caution in self.doc["cautions"]:
            if caution["show"] == "at_once":
                self.line(f"! {caution['text']}", style="bold red", hang=2)
                self.printed.add(caution["id"])
        self.line(said["text"], style="bold")
        if said["state"] not in ("open", "nothing_fits", "official_check"):
            of = " for the kind" if said["state"] == "kind_only" else ""
            self.line(f"How sure: {said['word']} ({percent(said['probability'])}{of})")
        if "clinic_sample" in said:
            self.line(said["clinic_sample"])

    def ranking(self) -> None:
        self.head("What fits")
        rows = [(c["name"], c["probability"]) for c in self.doc["causes"][:5]]
        rows = [row for row in rows if self.full or row[1] >= 0.01]
        rows.append(("Something not in this book", self.doc["unlisted"]))
        for name, p in rows:
            filled = round(p * BAR)
            bar = "#" * filled + "." * (BAR - filled)
            self.line(f"{bar} {percent(p):>9}  {name}", hang=BAR + 12)
        if sum(p for _, p in rows) > 1.02:
            self.line("Two can be true at once, so the figures may pass 100.")

    def reasons(self) -> None:
        likely = [c for c in self.doc["causes"][: 5 if self.full else 2] if c["probability"] >= 0.1]
        for cause in likely or self.doc["causes"][:1]:
            if not cause.get("for") and not cause.get("against"):
                continue
            self.head(f"Why: {cause['name']}")
            for sign, side, most in (("+", "for", 4), ("-", "against", 2)):
                for reason in cause[side][: None if self.full else most]:
                    self.reason(sign, reason)
            for rule in cause["rules"]:
                sign = "-" if "against" in rule["effect"] or rule["effect"] == "rules_out" else "+"
                self.line(f"{sign} {rule['because']}{self.mark(rule)} (rule)", hang=2)
            if cause["unexplained"]:
                names = "; ".join(u["name"] for u in cause["unexplained"])
                self.line(f"? It does not explain: {names}", hang=2)
            if self.full:
                self.line(f"What to expect if so: {cause['prospects']}")

    def reason(self, sign: str, reason: dict[str, Any]) -> None:
        term = f" ({reason['standard_term']})" if reason.get("standard_term") else ""
        if term.casefold() in reason["name"].casefold():
            term = ""
        answer = reason["answer"]
        said = f"{reason['name']}{term}" + ("" if answer == "yes" else f": {answer}")
        told = f"{sign} {said} [{strength(reason['weight'])}]{self.mark(reason)}"
        self.line(told, hang=2)

    def today(self) -> None:
        self.actions("today", today_title(self.doc["verdict"]["state"]), 8)

    def looks(self) -> None:
        if not self.doc.get("looks", []):
            return
        self.head("Look for this now")
        for look in self.doc.get("looks", []):
            self.line(f"* {look['name']}. {look['help']}", hang=2)
            if self.doc["case"]:
                told = f"diagnose add {self.doc['case']} {look['question']}={look['answer']}"
                self.line(f"Seen? Tell it: {told}", indent=4, hang=2)

    def tests(self) -> None:
        if not self.doc["tests"]:
            return
        first = self.doc["tests"][0]
        self.head("What would tell most")
        self.line(f"{first['name']}: {days_text(first['days'])}, {first['cost']}", style="bold")
        if self.full:
            for i, step in enumerate(first["how"], 1):
                self.line(f"{i}. {step}", hang=3)
        for outcome in first["outcomes"]:
            rows = outcome["leaders"][: 1 if outcome["leaders"][0]["probability"] >= 0.8 else 2]
            told = ", ".join(f"{c['name']} {percent(c['probability'])}" for c in rows)
            self.line(f"If {_lower(outcome['label'])}: then {told}", hang=2)
        if first["limits"]:
            self.line(self.cut(first["limits"]))
        if self.doc["case"]:
            results = [o["result"] for o in first["outcomes"]]
            shown = f"diagnose add {self.doc['case']} {first['id']}={results[0]}"
            self.line(f"Then tell it: {shown} (or {', '.join(results[1:])})", hang=2)
        others = [t["name"] for t in self.doc["tests"][1:]]
        if others:
            self.line(f"Also worth doing: {'; '.join(others)}.")

    def later(self) -> None:
        most = 8 if self.full else 5
        self.actions("plants", "The plants", most)
        self.actions("material", "The material", most)
        if self.full:
            self.actions("prevent", "Next time", most)
        held = self.doc["actions"]["withheld"]
        if held:
            self.head("Not yet")
            for row in held[:most]:
                self.line(f"* {row['text']} {row['because']}", hang=2)

    def actions(self, key: str, title: str, most: int) -> None:
        rows = self.doc["actions"].get(key, [])
        if not rows:
            return
        texts = {c["id"]: c["text"] for c in self.doc["cautions"]}
        self.head(title)
        for row in rows[:most]:
            self.line(f"* {row['text']}", hang=2)
            for id_ in row["cautions"]:
                if id_ in texts and id_ not in self.printed:
                    self.line(f"! {self.cut(texts[id_])}", style="yellow", indent=4, hang=2)
                    self.printed.add(id_)

    def cautions(self) -> None:
        rest = [c for c in self.doc["cautions"] if c["id"] not in self.printed]
        if rest:
            self.head("Take care")
            for caution in rest:
                self.line(f"! {self.cut(caution['text'])}", hang=2)

    def foot(self) -> None:
        self.head("Please note")
        stopped = self.doc["stopped"]["text"]
        if stopped:
            self.line(stopped)
        if self.doc["set_aside"]:
            texts = " ".join(row["text"] for row in self.doc["set_aside"])
            self.line(f"Set aside, since it no longer applies: {texts}")
        self.line(
            "A guess from answers, not proof against anyone. Local rules, the label, a plant "
            "clinic and licensed practice come first. (m) = from memory, unsourced."
        )
        kb = self.doc["knowledge"]
        self.line(f"Knowledge {kb['version']} ({kb['digest']})", style="dim")
        if not self.full and self.doc["case"]:
            self.line(
                f"Steps, all reasons, whole cautions: diagnose show {self.doc['case']} --full"
            )
        if self.console.is_terminal:
            # By now the answer has scrolled out of sight.
            self.head("In short")
            self.line(self.doc["verdict"]["text"], style="bold")

    # --- lines -------------------------------------------------------------------------------

    def cut(self, text: str) -> str:
        """A long text to its first sentence or two, unless all is wanted."""
        if self.full:
            return text
        end = next((hit.start() for hit in _SENTENCE.finditer(text) if hit.start() >= ENOUGH), None)
        return text[:end]

    def mark(self, row: dict[str, Any]) -> str:
        return " (m)" if row.get("from_memory") and row.get("stated", True) else ""

    def head(self, title: str) -> None:
        self.console.print()
        self.console.print(Text(clean_text(title).upper(), style="bold cyan"), width=self.width)

    def line(self, text: str, *, style: str = "", indent: int = 2, hang: int = 0) -> None:
        """Print text as it is, wrapped, later lines hanging by `hang`."""
        blank = " " * indent
        wrapped = textwrap.wrap(
            clean_text(text),
            max(self.width, 40),
            initial_indent=blank,
            subsequent_indent=blank + " " * hang,
        )
        body = Text("\n".join(wrapped), style=style)
        self.console.print(body, no_wrap=True, crop=False, overflow="ignore")


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
