"""Works the networks of networks.yaml out with pgmpy and freezes the results in expected.json.

pgmpy (general Bayesian-network library, MIT licence; 1.1.2 used, it brings no torch) is not
needed to run the tests, only to make the file again. In an environment of its own:

    pip install pgmpy==1.1.2 pyyaml
    python tests/data/pgmpy/make_fixtures.py

What is frozen, per network: the posterior of every hypothesis; the mutual information (nat) of
each open finding with the hypotheses, and of each tick list as a whole; the same of every finding
before anything is answered (`first_gains`). The causes' joint effects are built from mechanisms
(mechanism_network.py), so the program's closed formulas are not repeated. Answers enter
as virtual evidence; group members but one as the 0.3th power of their likelihood, which pgmpy
worked out, on the hypothesis itself.
"""

from __future__ import annotations

import hashlib
import json
import sys
from math import log
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

import design_formulas as design  # noqa: E402
from crop_network import crops_weights  # noqa: E402
from design_formulas import Rates, Spec  # noqa: E402
from mechanism_network import Network  # noqa: E402


class Case:
    """A network with all that was answered entered into it."""

    def __init__(self, spec: Spec) -> None:
        self.spec = spec
        self.network = Network(spec)
        self.evidence: dict[str, str] = {}
        self.virtual: list[tuple[str, Rates]] = []
        weak = self._weak()
        phone = spec.get("phone", False)
        for f, given in spec["answers"].items():
            weights = design.answer(spec["findings"][f], given, phone)
            if f in weak:
                self._on_hypothesis(f"weak {f}", self._likelihood(f, weights), design.GROUP_POWER)
            else:
                self.virtual.append((f, weights))
        if "crops_answer" in spec:
            self._on_hypothesis("crops", crops_weights(spec), 1.0)
        for cause, row in spec["causes"].items():
            self._rules(cause, row.get("rules", []))

    def _weak(self) -> set[str]:
        """Answered group members but the one that counts in full.

        That is the first sign reported, else the first said to be absent, else the first box left
        empty, each in the group's order.
        """
        weak: set[str] = set()
        for members in self.spec.get("groups", {}).values():
            answered = [f for f in members if f in self.spec["answers"]]
            weak.update(sorted(answered, key=self._standing)[1:])
        return weak

    def _standing(self, f: str) -> int:
        given = self.spec["answers"][f]
        if given == "not_ticked":
            return 2
        return int(given == self.spec["findings"][f].get("normal"))

    def _likelihood(self, f: str, weights: Rates) -> Rates:
        result = {}
        for h in self.network.by_name:
            table = self.query([f], {"hypothesis": h}, [])
            result[h] = sum(weights[v] * p for (v,), p in table.items())
        return result

    def _on_hypothesis(self, node: str, weights: Rates, power: float) -> None:
        top = max(weights.values())
        self.network.coin(node, ["hypothesis"], lambda h: (weights[h] / top) ** power)
        self.evidence[node] = "yes"

    def _rules(self, cause: str, rules: list[Spec]) -> None:
        effects = [r["effect"] for r in rules if r["fires"]]
        if "rules_out" in effects:  # once a cause
            effects = ["rules_out", *(e for e in effects if e != "rules_out")]
        holds = self.network.by_name
        self.network.coin(f"at work {cause}", ["hypothesis"], lambda h: float(cause in holds[h]))
        for i, effect in enumerate(effects):
            factor = design.EFFECT[effect]
            odds = {"yes": factor / max(factor, 1.0), "no": 1.0 / max(factor, 1.0)}
            node = f"rule {cause} {i}"
            self.network.coin(node, [f"at work {cause}"], lambda c, odds=odds: odds[c])
            self.evidence[node] = "yes"

    def query(
        self, nodes: list[str], evidence: dict[str, str], virtual: list[tuple[str, Rates]]
    ) -> dict[tuple[str, ...], float]:
        """Joint distribution of some nodes."""
        from pgmpy.factors.discrete import TabularCPD
        from pgmpy.inference import VariableElimination

        soft = [
            TabularCPD(f, len(w), [[w[v]] for v in w], state_names={f: list(w)}) for f, w in virtual
        ]
        factor: Any = VariableElimination(self.network.model).query(
            nodes, evidence=evidence, virtual_evidence=soft, show_progress=False
        )
        names = [factor.state_names[n] for n in factor.variables]
        order = [factor.variables.index(n) for n in nodes]
        result: dict[tuple[str, ...], float] = {}
        flat = factor.values.reshape(-1)
        sizes = [len(n) for n in names]
        for k, p in enumerate(flat):
            at, rest = [], k
            for size in reversed(sizes):
                at.append(rest % size)
                rest //= size
            states = [names[i][j] for i, j in enumerate(reversed(at))]
            result[tuple(states[i] for i in order)] = float(p)
        return result

    def now(self, nodes: list[str]) -> dict[tuple[str, ...], float]:
        """Joint distribution of some nodes, given all that was answered."""
        return self.query(nodes, self.evidence, self.virtual)

    def information(self, findings: list[str]) -> float:
        """Mutual information of the answers on some findings with the hypotheses, in nat."""
        joint = self.now(["hypothesis", *(f"said {f}" for f in findings)])
        h: dict[str, float] = {}
        a: dict[tuple[str, ...], float] = {}
        for (hypothesis, *said), p in joint.items():
            h[hypothesis] = h.get(hypothesis, 0.0) + p
            a[tuple(said)] = a.get(tuple(said), 0.0) + p
        return sum(p * log(p / (h[k[0]] * a[k[1:]])) for k, p in joint.items() if p > 0)


def expected(spec: Spec) -> Spec:
    """All frozen figures of one network."""
    case = Case(spec)
    case.network.model.check_model()
    posterior = {h: p for (h,), p in case.now(["hypothesis"]).items()}
    open_ = [f for f in spec["findings"] if f not in spec["answers"]]
    lists = spec.get("lists", {})
    return {
        "name": spec["name"],
        "posterior": posterior,
        "gains": {f: case.information([f]) for f in open_},
        "lists": {q: case.information(fs) for q, fs in lists.items()},
        "first_gains": first_gains(spec),
    }


def first_gains(spec: Spec) -> Rates:
    """Mutual information of every finding when nothing is answered, so that no rule fires."""
    causes = {
        c: {k: v for k, v in row.items() if k != "rules"} for c, row in spec["causes"].items()
    }
    blank = {k: v for k, v in spec.items() if k != "crops_answer"}
    case = Case({**blank, "causes": causes, "answers": {}})
    return {f: case.information([f]) for f in spec["findings"]}


def _steady(figures: Any) -> Any:
    """The same to 13 figures: the library's order of summing moves the last ones every run."""
    if isinstance(figures, dict):
        return {key: _steady(inner) for key, inner in figures.items()}
    return float(f"{figures:.13g}") if isinstance(figures, float) else figures


def main() -> None:
    """Make expected.json."""
    import pgmpy
    import yaml

    raw = (HERE / "networks.yaml").read_bytes()
    networks = [expected(spec) for spec in yaml.safe_load(raw)]
    networks = [_steady(network) for network in networks]
    result = {
        "made_by": f"pgmpy {pgmpy.__version__}",
        "networks_sha256": hashlib.sha256(raw).hexdigest(),
        "networks": networks,
    }
    (HERE / "expected.json").write_text(json.dumps(result, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
