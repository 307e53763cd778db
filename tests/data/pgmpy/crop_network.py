"""What the crops answer weighs for each hypothesis, worked out as a Bayesian network.

A family is hurt by either acting cause (a noisy-or of deterministic-leakless links). A case is
only brought when some family that the cause can live on is hurt, so each hypothesis is weighed by
P(families hurt and spared as told | hypothesis, brought): asked of the library one by one.
"""

from __future__ import annotations

import design_formulas as design
from design_formulas import Rates, Spec
from mechanism_network import Network

Families = dict[str, tuple[str, list[str]]]


def told(net: Spec) -> Families:
    """Family: whether hurt, and the crops that decide. Only hurt and fine_beside speak."""
    result: Families = {}
    for status in ("fine_beside", "hurt"):  # a hurt crop takes its family over
        named = [c for c, s in net["crops_answer"].items() if s == status]
        for family in dict.fromkeys(net["crops"][c]["family"] for c in named):
            crops = [c for c in named if net["crops"][c]["family"] == family]
            result[family] = ("yes" if status == "hurt" else "no", crops)
    return result


def lives_on(net: Spec, cause: str, crop: str) -> bool:
    """Whether a crop is among the cause's hosts."""
    hosts = net["causes"][cause].get("hosts", {"families": ["all"]})
    if crop in hosts.get("spared", []):
        return False
    family = net["crops"][crop]["family"]
    return crop in hosts.get("crops", []) or bool({"all", family} & set(hosts["families"]))


def chance(net: Spec, cause: str, crop: str) -> float:
    """P(crop hurt | cause)."""
    if not lives_on(net, cause, crop):
        return design.NOT_HOST
    hosts = net["causes"][cause].get("hosts", {})
    group = hosts.get("sensitivity")
    grade = net["crops"][crop].get("sensitivity", {}).get(group)
    factor = design.GRADE[grade or "moderate"] if group else 1.0
    return max(design.REACH[hosts.get("reach", "patchy")] * factor, design.NOT_HOST)


def crops_weights(net: Spec) -> Rates:
    """Weight of the crops answer per hypothesis."""
    from pgmpy.inference import VariableElimination

    network = Network({**net, "findings": {}})
    families = told(net)
    for family, (_, crops) in families.items():
        links = []
        for cause in net["causes"]:
            p = max(chance(net, cause, crop) for crop in crops)
            node = f"{cause} hurts {family}"

            def acts(h: str, cause: str = cause, p: float = p) -> float:
                return p if cause in network.by_name[h] else 0.0

            network.coin(node, ["hypothesis"], acts)
            links.append(node)
        by_unlisted = f"unlisted hurts {family}"
        network.coin(
            by_unlisted, ["hypothesis"], lambda h: design.UNLISTED_HURT * (h == "unlisted")
        )
        network.coin(f"hurt {family}", [*links, by_unlisted], lambda *on: float("yes" in on))

    def brought(h: str, *hurt: str) -> float:
        at_home = [
            h == "unlisted"
            or any(lives_on(net, cause, crop) for cause in network.by_name[h] for crop in crops)
            for _, crops in families.values()
        ]
        if not any(at_home):
            return 1.0
        return float(any(a and s == "yes" for a, s in zip(at_home, hurt, strict=True)))

    network.coin("brought", ["hypothesis", *(f"hurt {f}" for f in families)], brought)
    engine = VariableElimination(network.model)
    nodes = [f"hurt {f}" for f in families]
    result = {}
    for h in network.by_name:
        factor = engine.query(
            nodes, evidence={"hypothesis": h, "brought": "yes"}, show_progress=False
        )
        at = {f"hurt {f}": state for f, (state, _) in families.items()}
        result[h] = float(factor.get_value(**at))
    return result
