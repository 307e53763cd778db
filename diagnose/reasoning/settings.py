"""The numbers of the model in one place. Thresholds of single words or lists stand beside them.

Change them here only; `tests/benchmarks/simulate.py` measures what a change does.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

HOW_OFTEN: Mapping[str, float] = {
    "always": 0.98,
    "usually": 0.85,
    "often": 0.50,
    "sometimes": 0.35,
    "rarely": 0.10,
    "never": 0.02,
}
HOW_COMMON: Mapping[str, float] = {
    "very_common": 100.0,
    "common": 30.0,
    "uncommon": 10.0,
    "rare": 3.0,
    "very_rare": 1.0,
    "exceptional": 0.3,
}
EFFECTS: Mapping[str, float] = {
    "rules_out": 0.001,
    "strongly_against": 0.1,
    "against": 1 / 3,
    "for": 3.0,
    "strongly_for": 10.0,
}
GRADES: Mapping[str, float] = {
    "high": 1.0,
    "moderate": 0.7,
    "low": 0.3,
    "tolerant": 0.05,
    "uncertain": 0.5,
}
REACH: Mapping[str, float] = {"sweeping": 0.95, "patchy": 0.6, "single_plants": 0.25}


@dataclass(frozen=True, slots=True)
class Settings:
    """Defaults of the reasoning.

    All are judgement of the makers (from memory, unsourced) unless a line says otherwise; the
    closing figures of the simulation show how much they matter.

    Fields:
        unlisted: prior that the true cause is not in the book. While it held 40 causes, 22 of 76
            published cases had another one, and the prior stood at .2; with 197 causes all 76 have
            theirs, but the collection was known when they were written.
        pairs: prior that two causes act together; 0 leaves pairs out.
        goes_with: factor on the prior of a pair the book says goes together.
        slip: chance that a plain answer is wrong, by how easily the finding is mistaken; the last
            is one step worse than high, for high-slip findings told by phone.
        mistaken_share: part of the slip that goes to the values a value is mistaken for.
        ticked: P(ticked | present), P(ticked | absent). People leave much of what is there untold:
            of .75, .6, .5 and .4 the published cases that may be tuned to bear out .5.
        group_power: weight of every answered member of a group after its first.
        not_host: P(a family is hurt | the cause does not live on it).
        unlisted_host: P(a family is hurt | cause not in the book).
        words_power: what each word of a story weighs, for it repeats the others and the answers.
        words_enough: in a story of more different words than this each weighs less.
        words_smoothing: how many words of the whole book are mixed into those of a cause.
        leaders: how many leading causes lend their pairs to the scoring of questions.
        sure: a cause or kind this probable is called likely.
        keep_asking: nat per effort above which asking goes on though the verdict is likely.
        worth_asking: nat per effort below which no question is worth asking at all.
        cap, phone_cap: most questions asked beyond the opening of eight steps; by phone.
        phone_patience: don't-knows in a row, the opening included, after which a call stops.
        patience: don't-knows in a row after which the interview stops.
        offered: how many subjects are laid out at once, to pick those one can tell about.
        offered_least: with fewer subjects left than this they are asked one by one.
        harm_floor: an action must harm under no cause at least this probable.
        unexplained: a reported finding whose rate is at most this times the background.
    """

    unlisted: float = 0.12
    pairs: float = 0.15
    goes_with: float = 10.0
    slip: Mapping[str, float] = field(
        default_factory=lambda: {
            "none": 0.0,
            "low": 0.02,
            "medium": 0.05,
            "high": 0.12,
            "worst": 0.2,
        }
    )
    mistaken_share: float = 0.75
    ticked: tuple[float, float] = (0.5, 0.003)
    group_power: float = 0.3
    not_host: float = 0.02
    unlisted_host: float = 0.5
    words_power: float = 0.3
    words_enough: float = 15.0
    words_smoothing: float = 250.0
    leaders: int = 30
    sure: float = 0.8
    keep_asking: float = 0.03
    worth_asking: float = 0.004
    cap: int = 17
    phone_cap: int = 4
    patience: int = 6
    phone_patience: int = 3
    offered: int = 18
    offered_least: int = 6
    harm_floor: float = 0.05
    unexplained: float = 1.5
    settled: float = 0.9
    settled_weight: float = 1.0

    def slip_of(self, level: str, phone: bool = False) -> float:
        """Chance of a wrong plain answer.

        >>> Settings().slip_of("medium"), Settings().slip_of("medium", phone=True)
        (0.05, 0.12)
        """
        order = ("none", "low", "medium", "high", "worst")
        step = order.index(level)
        return self.slip[order[min(step + 1, 4) if phone and step else step]]


DEFAULT = Settings()
