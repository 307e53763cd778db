"""Builds the reasoning's model as a plain Bayesian network, from mechanisms up.

Nothing here uses the program's closed formulas for several causes together. Every finding has
its own leak, one link or gate per cause that speaks of it, a deterministic or, and a chooser of
which cause's look is shown; the library sums all of that out.

    hypothesis -> acts[f, cause] -> link or gate -> abnormal[f] -> f -> said[f]
    stand_in[f] -^                                chooser[f] --^

`stand_in[f]` is what a cause that is not in the book resembles in finding f: half the time
nothing, else a cause of the book drawn by how common it is.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import product
from typing import Any

import design_formulas as design
from design_formulas import Rates, Spec

Row = Callable[..., dict[str, float]]


def name_of(hypothesis: tuple[str, ...]) -> str:
    """Name of a hypothesis."""
    return "+".join(hypothesis) or "unlisted"


class Network:
    """A Bayesian network under construction."""

    def __init__(self, net: Spec) -> None:
        from pgmpy.models import DiscreteBayesianNetwork

        self.net = net
        self.prior = design.hypotheses(net)
        self.by_name = {name_of(h): h for h in self.prior}
        self.model: Any = DiscreteBayesianNetwork()
        self.states: dict[str, list[str]] = {}
        prior = {name_of(h): p for h, p in self.prior.items()}
        self.add("hypothesis", list(prior), [], lambda: prior)
        for finding, row in net["findings"].items():
            self._finding(finding, row)

    def add(self, node: str, states: Sequence[str], parents: Sequence[str], row: Row) -> None:
        """Add a node; `row` gives P(states) for each combination of the parents' states."""
        from pgmpy.factors.discrete import TabularCPD

        combos = list(product(*(self.states[p] for p in parents)))
        columns = [row(*combo) for combo in combos]
        table = [[column.get(s, 0.0) for column in columns] for s in states]
        self.model.add_node(node)
        self.model.add_edges_from((p, node) for p in parents)
        names = {n: self.states[n] for n in parents} | {node: list(states)}
        cards = [len(self.states[p]) for p in parents] or None
        cpd = TabularCPD(node, len(states), table, list(parents) or None, cards, state_names=names)
        self.model.add_cpds(cpd)
        self.states[node] = list(states)

    def coin(self, node: str, parents: Sequence[str], chance: Callable[..., float]) -> None:
        """Add a yes/no node."""

        def row(*given: str) -> dict[str, float]:
            p = chance(*given)
            return {"yes": p, "no": 1.0 - p}

        self.add(node, ["yes", "no"], parents, row)

    def _finding(self, f: str, row: Spec) -> None:
        background: Rates = row["background"]
        if row.get("vary_by"):
            place = self.net["answers"].get(row["vary_by"], "")
            background = row["background_by"].get(place, background)
        own = {c: design.own_rates(self.net, c, f, background) for c in self.net["causes"]}
        speaks = {c: rates for c, rates in own.items() if rates is not None}
        self._acts(f, list(speaks))
        if row.get("normal"):
            self._with_normal(f, background, row["normal"], speaks)
        else:
            self._without_normal(f, background, speaks)
        answers = ["ticked", "not_ticked"] if row["form"] == "tick" else list(background)
        table = design.asked(row, self.net.get("phone", False))
        columns = dict(zip(background, zip(*table, strict=True), strict=True))
        self.add(f"said {f}", answers, [f], lambda v: dict(zip(answers, columns[v], strict=True)))

    def _acts(self, f: str, causes: list[str]) -> None:
        """Which of the causes that speak of f act on it."""
        share = design.common(self.net)
        stand_in = {"nothing": 0.5} | {c: 0.5 * s for c, s in share.items()}
        self.add(f"stand_in {f}", list(stand_in), [], lambda: stand_in)
        for c in causes:

            def acts(h: str, instead: str, c: str = c) -> float:
                return float(instead == c if h == "unlisted" else c in self.by_name[h])

            self.coin(f"acts {f} {c}", ["hypothesis", f"stand_in {f}"], acts)

    def _with_normal(
        self, f: str, background: Rates, normal: str, speaks: dict[str, Rates]
    ) -> None:
        leak = 1.0 - background[normal]
        self.coin(f"leak {f}", [], lambda: leak)
        gates, link_nodes = [], []
        for c, rates in speaks.items():
            mass = 1.0 - rates[normal]
            if mass >= leak:
                q = 1.0 - (1.0 - mass) / (1.0 - leak)
                self.coin(f"link {f} {c}", [f"acts {f} {c}"], lambda a, q=q: q * (a == "yes"))
                link_nodes.append(f"link {f} {c}")
            else:
                keep = mass / leak
                self.coin(
                    f"gate {f} {c}", [f"acts {f} {c}"], lambda a, k=keep: k if a == "yes" else 1.0
                )
                gates.append(f"gate {f} {c}")

        def happens(*given: str) -> float:
            passed = all(g == "yes" for g in given[: 1 + len(gates)])
            return float(passed or "yes" in given[1 + len(gates) :])

        self.coin(f"abnormal {f}", [f"leak {f}", *gates, *link_nodes], happens)
        looks = {c: _look(rates, normal) for c, rates in speaks.items()}
        looks["nobody"] = _look(background, normal)
        self._chooser(f, {c: 1.0 - rates[normal] for c, rates in speaks.items()})

        def value(abnormal: str, whose: str) -> dict[str, float]:
            return looks[whose] if abnormal == "yes" else {normal: 1.0}

        self.add(f, list(background), [f"abnormal {f}", f"chooser {f}"], value)

    def _without_normal(self, f: str, background: Rates, speaks: dict[str, Rates]) -> None:
        self._chooser(f, dict.fromkeys(speaks, 1.0))
        looks = {**speaks, "nobody": background}
        self.add(f, list(background), [f"chooser {f}"], lambda whose: looks[whose])

    def _chooser(self, f: str, weight: Rates) -> None:
        """Whose look is shown, among the acting causes, by their weights."""

        def row(*acting: str) -> dict[str, float]:
            live = {c: weight[c] for c, a in zip(weight, acting, strict=True) if a == "yes"}
            total = sum(live.values())
            return {c: w / total for c, w in live.items()} if total else {"nobody": 1.0}

        self.add(f"chooser {f}", [*weight, "nobody"], [f"acts {f} {c}" for c in weight], row)


def _look(rates: Rates, normal: str) -> dict[str, float]:
    rest = {v: p for v, p in rates.items() if v != normal}
    return {v: p / sum(rest.values()) for v, p in rest.items()}
