"""Draws the result document on a terminal: the answer first, then why, then what to do."""

from __future__ import annotations

from typing import Any

from rich.console import Console
from rich.text import Text

from diagnose.interview.values import clean_text
from diagnose.report.wording import days_text, percent, strength

BAR = 12
WIDEST = 96


def show(document: dict[str, Any], console: Console) -> None:
    """Print a result document."""
    _Page(document, console).draw()


class _Page:
    def __init__(self, document: dict[str, Any], console: Console) -> None:
        self.doc, self.console = document, console
        self.width = min(console.width, WIDEST)

    def draw(self) -> None:
        self.verdict()
        self.ranking()
        self.reasons()
        self.tests()
        self.actions()
        self.cautions()
        self.foot()

    # --- parts -------------------------------------------------------------------------------

    def verdict(self) -> None:
        said = self.doc["verdict"]
        case = f"Case {self.doc['case']}" if self.doc["case"] else "Result"
        alias = self.doc.get("alias", "")
        self.head(f"{case}: {alias}" if alias else case)
        self.line(said["text"], style="bold")
        if said["state"] not in ("open", "nothing_fits"):
            self.line(f"How sure: {said['word']} ({percent(said['probability'])})")
        if "clinic_sample" in said:
            self.line(said["clinic_sample"])
        for caution in self.doc["cautions"]:
            if caution["show"] == "at_once":
                self.line(f"! {caution['text']}", style="bold red", hang=2)

    def ranking(self) -> None:
        self.head("What fits")
        rows = [(c["name"], c["probability"], c["word"]) for c in self.doc["causes"][:5]]
        rows.append(("Something not in this book", self.doc["unlisted"], ""))
        for name, p, _ in rows:
            filled = round(p * BAR)
            bar = "#" * filled + "." * (BAR - filled)
            self.line(f"{bar} {percent(p):>9}  {name}", hang=BAR + 12)

    def reasons(self) -> None:
        for cause in self.doc["causes"][:2]:
            if not cause.get("for") and not cause.get("against"):
                continue
            self.head(f"Why: {cause['name']}")
            for sign, side in (("+", "for"), ("-", "against")):
                for reason in cause[side][:5]:
                    self.reason(sign, reason)
            for rule in cause["rules"]:
                sign = "-" if "against" in rule["effect"] or rule["effect"] == "rules_out" else "+"
                self.line(f"{sign} {rule['because']}{self.mark(rule)} (rule)", hang=2)
            if cause["unexplained"]:
                names = "; ".join(u["name"] for u in cause["unexplained"])
                self.line(f"? It does not explain: {names}", hang=2)

    def reason(self, sign: str, reason: dict[str, Any]) -> None:
        term = f" ({reason['standard_term']})" if reason.get("standard_term") else ""
        if term.casefold() in reason["name"].casefold():
            term = ""
        answer = reason["answer"]
        said = f"{reason['name']}{term}" + ("" if answer == "yes" else f": {answer}")
        told = f"{sign} {said} [{strength(reason['weight'])}]{self.mark(reason)}"
        self.line(told, hang=2)

    def tests(self) -> None:
        if not self.doc["tests"]:
            return
        first = self.doc["tests"][0]
        self.head("What would tell most")
        self.line(f"{first['name']}: {days_text(first['days'])}, {first['cost']}", style="bold")
        for i, step in enumerate(first["how"], 1):
            self.line(f"{i}. {step}", hang=3)
        for outcome in first["outcomes"]:
            leader = outcome["leaders"][0]
            told = f"{leader['name']} {percent(leader['probability'])}"
            kind = outcome["kind"]
            if kind["probability"] > leader["probability"] + 0.1:
                told = f"{kind['name']} {percent(kind['probability'])}"
            self.line(f"If {_lower(outcome['label'])}: then {told}", hang=2)
        if first["limits"]:
            self.line(first["limits"])
        if self.doc["case"]:
            results = [o["result"] for o in first["outcomes"]]
            shown = f"diagnose add {self.doc['case']} {first['id']}={results[0]}"
            self.line(f"Then tell it: {shown} (or {', '.join(results[1:])})", hang=2)
        others = [t["name"] for t in self.doc["tests"][1:]]
        if others:
            self.line(f"Also worth doing: {'; '.join(others)}.")

    def actions(self) -> None:
        names = (
            ("today", "Today, whatever it is"),
            ("plants", "The plants"),
            ("material", "The material"),
            ("prevent", "Next time"),
        )
        cautions = {c["id"]: c["text"] for c in self.doc["cautions"]}
        shown: set[str] = set()
        for key, title in names:
            rows = self.doc["actions"].get(key, [])
            if not rows:
                continue
            self.head(title)
            for row in rows[:8]:
                self.line(f"* {row['text']}", hang=2)
                for id_ in row["cautions"]:
                    if id_ in cautions and id_ not in shown:
                        self.line(f"! {cautions[id_]}", style="yellow", indent=4, hang=2)
                        shown.add(id_)
        held = self.doc["actions"]["withheld"]
        if held:
            self.head("Not yet")
            for row in held[:5]:
                self.line(f"* {row['text']} {row['because']}", hang=2)
        self.printed = shown

    def cautions(self) -> None:
        rest = [
            c for c in self.doc["cautions"] if c["id"] not in self.printed and c["show"] == "beside"
        ]
        if rest:
            self.head("Take care")
            for caution in rest:
                self.line(f"! {caution['text']}", hang=2)

    def foot(self) -> None:
        self.head("Please note")
        stopped = self.doc["stopped"]["text"]
        if stopped:
            self.line(stopped)
        if self.doc["set_aside"]:
            self.line(f"Set aside, no longer applies: {', '.join(self.doc['set_aside'])}.")
        self.line(
            "A guess from answers, not proof against anyone. Local rules, the label, a plant "
            "clinic and licensed practice come first. (m) = from memory, unsourced."
        )
        kb = self.doc["knowledge"]
        self.line(f"Knowledge {kb['version']} ({kb['digest']})", style="dim")
        if self.console.is_terminal:
            # By now the answer has scrolled out of sight.
            self.head("In short")
            self.line(self.doc["verdict"]["text"], style="bold")

    # --- lines -------------------------------------------------------------------------------

    def mark(self, row: dict[str, Any]) -> str:
        return " (m)" if row.get("from_memory") and row.get("stated", True) else ""

    def head(self, title: str) -> None:
        self.console.print()
        self.console.print(Text(clean_text(title).upper(), style="bold cyan"), width=self.width)

    def line(self, text: str, *, style: str = "", indent: int = 2, hang: int = 0) -> None:
        """Print text as it is, wrapped, later lines hanging by `hang`."""
        import textwrap

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
