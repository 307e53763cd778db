"""What the crops answer weighs for each hypothesis, worked out as a Bayesian network.

A family is hurt by either acting cause (a noisy-or of leakless links). A case is brought because
something is hurt, so each hypothesis is weighed by P(families hurt and spared as told) over
P(some family hurt, were the hosts fully sensitive): both asked of the library one by one.
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


def chance(net: Spec, cause: str, crop: str, *, full: bool = False) -> float:
    """P(crop hurt | cause); `full` takes the crop as fully sensitive."""
    if not lives_on(net, cause, crop):
        return 0.0 if full else design.NOT_HOST
    hosts = net["causes"][cause].get("hosts", {})
    group = hosts.get("sensitivity")
    grade = net["crops"][crop].get("sensitivity", {}).get(group)
    factor = design.GRADE[grade or "moderate"] if group and not full else 1.0
    return max(design.REACH[hosts.get("reach", "patchy")] * factor, design.NOT_HOST)


def hurt_network(net: Spec, families: Families, *, full: bool) -> Network:
    """One node a family: hurt by either acting cause, or by a cause not in the book."""
    network = Network({**net, "findings": {}})
    for family, (_, crops) in families.items():
        links = []
        for cause in net["causes"]:
            p = max(chance(net, cause, crop, full=full) for crop in crops)
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
    return network


def crops_weights(net: Spec) -> Rates:
    """Weight of the crops answer per hypothesis: P(as told) / P(any hurt, hosts fully sensitive).

    Where a hypothesis can live on none of the families named, the divisor is 1. In a pair, each
    cause that lives on nothing hurt costs the factor for a crop that is no host once more.
    """
    from pgmpy.inference import VariableElimination

    families = told(net)
    nodes = [f"hurt {f}" for f in families]
    real, sensitive = (hurt_network(net, families, full=full) for full in (False, True))
    sensitive.coin("brought", nodes, lambda *hurt: float("yes" in hurt))
    seen, most = VariableElimination(real.model), VariableElimination(sensitive.model)
    at = {f"hurt {f}": state for f, (state, _) in families.items()}
    result = {}
    for h in real.by_name:
        given = {"hypothesis": h}
        as_told = float(seen.query(nodes, evidence=given, show_progress=False).get_value(**at))
        factor = most.query(["brought"], evidence=given, show_progress=False)
        brought = float(factor.get_value(brought="yes"))
        result[h] = as_told / (brought or 1.0) * design.NOT_HOST ** idle(net, families, real, h)
    return result


def idle(net: Spec, families: Families, network: Network, hypothesis: str) -> int:
    """How many causes of a pair live on nothing that is hurt; a cause alone is weighed already."""
    causes = network.by_name[hypothesis]
    hurt = [crop for state, crops in families.values() if state == "yes" for crop in crops]
    if len(causes) < 2:
        return 0
    return sum(not any(lives_on(net, cause, crop) for crop in hurt) for cause in causes)
