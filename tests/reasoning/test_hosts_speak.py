"""What hurt and spared crops say; expected figures are worked out by hand beside each case."""

from __future__ import annotations

from dataclasses import replace
from math import log

import numpy as np
import pytest

from diagnose.kb.model import Cause, CommonOn, Crop, Grade, Hosts, Knowledge
from diagnose.reasoning import demo
from diagnose.reasoning.hosts import chance_hurt, host_weights, lives_on
from diagnose.reasoning.settings import Settings

CROPS = {
    "tomato": Crop("tomato", "Tomato", "nightshade", sensitivity={"residue": Grade("high")}),
    "potato": Crop("potato", "Potato", "nightshade", sensitivity={"residue": Grade("low")}),
    "bean": Crop("bean", "Bean", "legume", sensitivity={"residue": Grade("moderate")}),
    "maize": Crop("maize", "Maize", "grass", sensitivity={"residue": Grade("tolerant")}),
    "kale": Crop("kale", "Kale", "brassica"),
}
SETTINGS = Settings(not_host=0.02, unlisted_host=0.5)
EVERYWHERE = Hosts(("all",), "sweeping")


def cause(id_: str, hosts: Hosts) -> Cause:
    return replace(demo.cause(id_, {}), hosts=hosts)


def weights(hosts: Hosts, answer: dict[str, str]) -> tuple[float, float]:
    """Log weight of a crops answer for a cause with these hosts, and for an unlisted cause."""
    result = host_weights(book(hosts), answer, SETTINGS)
    assert result is not None
    return float(result.single()[0]), result.unlisted()


def book(*hosts: Hosts) -> Knowledge:
    causes = [cause(f"c{i}", h) for i, h in enumerate(hosts)]
    return replace(demo.book([], causes), crops=CROPS)


@pytest.mark.parametrize(
    ("hosts", "crop", "lives"),
    [
        (Hosts(("all",), "patchy"), "kale", True),
        (Hosts(("nightshade",), "patchy"), "tomato", True),
        (Hosts(("nightshade",), "patchy"), "bean", False),
        (Hosts(("nightshade",), "patchy", crops=("bean",)), "bean", True),
        (Hosts(("all",), "patchy", spared=("maize",)), "maize", False),
        (Hosts(("nightshade",), "patchy", spared=("potato",)), "potato", False),
    ],
)
def test_where_a_cause_lives(hosts: Hosts, crop: str, lives: bool) -> None:
    assert lives_on(cause("c", hosts), CROPS[crop]) is lives


@pytest.mark.parametrize(
    ("hosts", "crop", "chance"),
    [
        (EVERYWHERE, "kale", 0.95),
        (Hosts(("all",), "patchy"), "kale", 0.6),
        (Hosts(("all",), "single_plants"), "kale", 0.25),
        (replace(EVERYWHERE, sensitivity="residue"), "tomato", 0.95),
        (replace(EVERYWHERE, sensitivity="residue"), "potato", 0.95 * 0.3),
        (replace(EVERYWHERE, sensitivity="residue"), "kale", 0.95 * 0.7),  # grade not known
        (Hosts(("all",), "single_plants", sensitivity="residue"), "maize", 0.02),  # never below
        (Hosts(("grass",), "sweeping"), "tomato", 0.02),
    ],
)
def test_chance_is_reach_times_grade(hosts: Hosts, crop: str, chance: float) -> None:
    assert chance_hurt(cause("c", hosts), CROPS[crop], SETTINGS) == pytest.approx(chance)


def test_one_hurt_host_says_nothing_since_a_case_is_brought_for_it() -> None:
    ours, unlisted = weights(Hosts(("all",), "single_plants"), {"tomato": "hurt"})
    assert ours == pytest.approx(0.0, abs=1e-12)
    assert unlisted == pytest.approx(0.0, abs=1e-12)


def test_one_hurt_tolerant_crop_speaks_against_a_cause_it_tolerates() -> None:
    hosts = replace(EVERYWHERE, sensitivity="residue")
    ours, _ = weights(hosts, {"maize": "hurt"})
    assert ours == pytest.approx(log(0.05), abs=1e-12)  # grade tolerant: .95 x .05 / .95


def test_a_hurt_family_it_does_not_live_on_speaks_against_a_cause() -> None:
    ours, _ = weights(Hosts(("grass",), "sweeping"), {"tomato": "hurt"})
    assert ours == pytest.approx(log(0.02), abs=1e-12)


def test_a_spared_family_speaks_by_reach() -> None:
    # hurt and spared, given that not both are spared: .95 x .05 / (1 - .05^2); even: .25 / .75
    ours, unlisted = weights(EVERYWHERE, {"tomato": "hurt", "kale": "fine_beside"})
    assert ours == pytest.approx(log(0.95 * 0.05 / (1 - 0.05**2)), abs=1e-12)
    assert unlisted == pytest.approx(log(1 / 3), abs=1e-12)


@pytest.mark.parametrize("silent", ["fine_elsewhere", "not_grown"])
def test_only_hurt_and_fine_beside_speak(silent: str) -> None:
    told = {"tomato": "hurt", "kale": "fine_beside"}
    assert weights(EVERYWHERE, {**told, "bean": silent}) == weights(EVERYWHERE, told)


def test_a_family_counts_once_by_its_most_sensitive_hurt_crop() -> None:
    hosts = replace(EVERYWHERE, sensitivity="residue")
    one = {"tomato": "hurt", "maize": "fine_beside"}
    assert weights(hosts, {**one, "potato": "hurt"}) == weights(hosts, one)
    assert weights(hosts, {**one, "potato": "fine_beside"}) == weights(hosts, one)
    assert weights(hosts, {"potato": "hurt", "maize": "fine_beside"}) != weights(hosts, one)


@pytest.mark.parametrize("answer", [{}, {"tomato": "fine_beside"}, {"tomato": "not_grown"}])
def test_nothing_is_said_while_nothing_is_hurt(answer: dict[str, str]) -> None:
    assert host_weights(book(EVERYWHERE), answer, SETTINGS) is None


def test_a_pair_may_hurt_by_either_cause() -> None:
    kb = book(Hosts(("nightshade",), "patchy"), Hosts(("legume",), "sweeping"))
    result = host_weights(kb, {"tomato": "hurt", "bean": "hurt"}, SETTINGS)
    assert result is not None
    tomato, bean = 1 - (1 - 0.6) * (1 - 0.02), 1 - (1 - 0.02) * (1 - 0.95)
    # hosts only in the divisor: a family neither lives on cannot have brought the case
    both = tomato * bean / (1 - (1 - 0.6) * (1 - 0.95))
    doubles = result.pairs(np.array([0]), np.array([1]))
    assert float(doubles[0]) == pytest.approx(log(both), abs=1e-12)
    assert float(doubles[0]) > max(result.single())


def on(hosts: Hosts, how_common: str, *rows: CommonOn) -> Cause:
    return replace(cause("c", hosts), how_common=how_common, how_common_on=rows)


LEAF_MINER = on(
    Hosts(("nightshade", "legume"), "patchy"),
    "uncommon",  # 10 shares of all cases
    CommonOn(("bean",), "common"),  # 30
    CommonOn(("potato",), "very_rare"),  # 1
)


@pytest.mark.parametrize(
    ("hurt", "nat"),
    [
        (["tomato"], 0.0),
        (["bean"], log(30 / 10)),
        (["potato"], log(1 / 10)),
        (["tomato", "potato"], log(1 / 10) / 2),  # one family: the mean of its crops
        (["bean", "potato"], (log(3) + log(1 / 10)) / 2),  # two families: their mean
    ],
)
def test_a_cause_is_as_common_as_it_is_among_cases_of_the_hurt_crops(
    hurt: list[str], nat: float
) -> None:
    answer = dict.fromkeys(hurt, "hurt")
    everywhere = replace(LEAF_MINER, how_common_on=())
    told = [
        host_weights(replace(demo.book([], [c]), crops=CROPS), answer, SETTINGS)
        for c in (LEAF_MINER, everywhere)
    ]
    assert told[0] is not None
    assert told[1] is not None
    assert told[0].single() - told[1].single() == pytest.approx(nat)


def test_a_spared_crop_says_nothing_of_how_common_a_cause_is() -> None:
    book_ = replace(demo.book([], [LEAF_MINER]), crops=CROPS)
    alone = host_weights(book_, {"tomato": "hurt"}, SETTINGS)
    beside = host_weights(book_, {"tomato": "hurt", "bean": "fine_beside"}, SETTINGS)
    assert alone is not None
    assert beside is not None
    assert beside.commoner == pytest.approx(alone.commoner)


def test_both_causes_of_a_pair_are_as_common_as_on_the_hurt_crops() -> None:
    other = replace(LEAF_MINER, id="d", how_common_on=())
    book_ = replace(demo.book([], [LEAF_MINER, other]), crops=CROPS)
    told = host_weights(book_, {"bean": "hurt"}, SETTINGS)
    plain = host_weights(
        replace(book_, causes={"c": replace(LEAF_MINER, how_common_on=()), "d": other}),
        {"bean": "hurt"},
        SETTINGS,
    )
    assert told is not None
    assert plain is not None
    pair = np.array([0]), np.array([1])
    assert told.pairs(*pair) - plain.pairs(*pair) == pytest.approx(log(3))


def test_several_kinds_not_named_are_the_mean_of_those_they_stand_for() -> None:
    several = Crop("several", "Several", "several", stands_for=("tomato", "bean", "kale", "maize"))
    book_ = replace(
        demo.book([], [cause("c", Hosts(("nightshade",), "patchy"))]),
        crops={**CROPS, "several": several},
    )
    told = host_weights(book_, {"several": "hurt"}, SETTINGS)
    assert told is not None
    # Patchy reach .6 on one of the four, .02 on the three that are no hosts; at most .6 / 4.
    assert told.single()[0] == pytest.approx(log((0.6 + 3 * 0.02) / 4) - log(0.6 / 4))
    assert told.commoner[0] == 0.0
