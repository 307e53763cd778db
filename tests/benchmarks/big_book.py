"""A made-up knowledge of any size with the proportions of the real one, for timing only.

Per 10 causes about 20 findings, 9 of 10 ticked in lists of up to 7, the others choices of three to
five values; each cause speaks of about 42 findings. Backgrounds and words come by a fixed seed.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from diagnose.kb.model import Cause, Finding, Knowledge, Question
from diagnose.reasoning import demo

LIST = 7
WORDS = ("always", "usually", "often", "sometimes", "rarely")
COMMON = ("very_common", "common", "uncommon", "rare", "very_rare")


def big_knowledge(causes: int, findings: int, rows: int = 42, seed: int = 1) -> Knowledge:
    """A knowledge with so many causes and findings, and so many evidence rows a cause."""
    random = np.random.default_rng(seed)
    ticks = findings * 9 // 10
    made: list[Finding] = []
    questions: dict[str, Question] = {}
    for start in range(0, ticks, LIST):
        members = [f"t{i}" for i in range(start, min(start + LIST, ticks))]
        home = f"list{start // LIST}"
        for id_ in members:
            made.append(replace(demo.yes_no(id_, float(random.uniform(0.02, 0.3))), home=home))
        questions[home] = Question(home, "demo", "tick", home, "", 2, tuple(members))
    for i in range(findings - ticks):
        shares = random.dirichlet(np.ones(3 + i % 3) * 3)
        background = {f"v{v}": float(p) for v, p in enumerate(shares)}
        made.append(demo.choice(f"c{i}", background, "v0" if i % 2 else ""))
        questions[f"c{i}"] = Question(f"c{i}", "demo", "choice", f"c{i}", "", 1, (f"c{i}",))
    all_causes = [_cause(f"cause{i}", made, rows, random) for i in range(causes)]
    return replace(demo.book(made, all_causes), questions=questions)


def _cause(id_: str, findings: list[Finding], rows: int, random: np.random.Generator) -> Cause:
    rates: dict[tuple[str, str], str] = {}
    for f in random.choice(len(findings), min(rows, len(findings)), replace=False):
        finding = findings[int(f)]
        value = 0 if finding.form == "tick" else int(random.integers(len(finding.values)))
        rates[finding.id, finding.value_ids[value]] = str(random.choice(WORDS))
    kind = f"kind{int(random.integers(1000))}" if random.random() < 0.5 else ""
    return demo.cause(id_, rates, kind, str(random.choice(COMMON)))
