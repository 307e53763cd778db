"""What the hurt and spared crops say about a cause.

Once per botanical family: P(hurt | cause) = reach x grade of its most sensitive named crop, a
small figure where the cause does not live on the family, one half for an unlisted cause. Only
hurt and fine_beside speak. A case is brought because something is hurt, so the probability is
divided by the chance that the cause, were its hosts fully sensitive, hurts at least one of the
families named. A single hurt family then says whether the cause lives on it and how easily it
hurts it; reach speaks through the families that are spared.

How common a cause is differs by crop (`how_common_on`): the share among cases of the hurt crops
takes the place of the share among all cases. Crops of one family count once, and so do families.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import log
from statistics import fmean

import numpy as np

from diagnose.kb.model import Cause, Crop, Knowledge
from diagnose.reasoning.likelihood import Array, Index
from diagnose.reasoning.observations import FINE_BESIDE, HURT
from diagnose.reasoning.settings import GRADES, HOW_COMMON, REACH, Settings


def lives_on(cause: Cause, crop: Crop) -> bool:
    """Whether the book lists a crop among the hosts of a cause."""
    hosts = cause.hosts
    if crop.id in hosts.spared:
        return False
    return crop.id in hosts.crops or crop.family in hosts.families or "all" in hosts.families


def chance_hurt(cause: Cause, crop: Crop, settings: Settings) -> float:
    """P(a crop is hurt | the cause is at work where it stands)."""
    if not lives_on(cause, crop):
        return settings.not_host
    grade = crop.sensitivity.get(cause.hosts.sensitivity)
    factor = GRADES[grade.grade] if grade else (0.7 if cause.hosts.sensitivity else 1.0)
    return max(REACH[cause.hosts.reach] * factor, settings.not_host)


def commoner(cause: Cause, crops: Iterable[Crop]) -> float:
    """Mean log of how much commoner a cause is among cases of these crops than among all."""
    classes = {id_: row.how_common for row in cause.how_common_on for id_ in row.crops}
    usual = log(HOW_COMMON[cause.how_common])
    return fmean(log(HOW_COMMON[classes.get(c.id, cause.how_common)]) - usual for c in crops)


def plants(kb: Knowledge, crop: Crop) -> list[Crop]:
    """The plants an entry stands for: itself, or those not named one by one."""
    return [kb.crops[id_] for id_ in crop.stands_for] or [crop]


@dataclass(frozen=True, slots=True)
class HostWeights:
    """Log-likelihood of the crops answer: per cause, for pairs, and for an unlisted cause."""

    chances: Array  # (causes, families)
    at_most: Array  # (causes, families) the same were hosts fully sensitive; 0 where no host
    hurt: Array  # (families,) 1 hurt, 0 spared
    commoner: Array  # (causes,) how much commoner each is on the hurt crops, in nat
    settings: Settings

    def _log(self, chances: Array, at_most: Array) -> Array:
        seen = np.where(self.hurt > 0, chances, 1.0 - chances)
        brought = 1.0 - np.prod(1.0 - at_most, axis=1)
        brought = np.where(at_most.any(axis=1), brought, 1.0)
        log: Array = np.log(seen).sum(axis=1) - np.log(brought)
        return log

    def single(self) -> Array:
        """Per cause."""
        return self._log(self.chances, self.at_most) + self.commoner

    def pairs(self, first: Index, second: Index) -> Array:
        """Per pair: either of the two may hurt a family, but each must live on one that is hurt.

        Else a cause could lean on its partner: clubroot would explain swollen roots of onions as
        long as something else were there to hurt onions.
        """
        chances = 1.0 - (1.0 - self.chances[first]) * (1.0 - self.chances[second])
        at_most = 1.0 - (1.0 - self.at_most[first]) * (1.0 - self.at_most[second])
        idle = np.log(self.settings.not_host) * ~(self.at_most[:, self.hurt > 0] > 0).any(axis=1)
        alone = idle + self.commoner
        both: Array = self._log(chances, at_most) + alone[first] + alone[second]
        return both

    def unlisted(self) -> float:
        """For a cause not in the book."""
        even = np.full((1, len(self.hurt)), self.settings.unlisted_host)
        return float(self._log(even, even)[0])


def host_weights(
    kb: Knowledge, answer: Mapping[str, str], settings: Settings
) -> HostWeights | None:
    """Read a crops answer; None when nothing named is hurt, so that nothing can be said."""
    families: dict[str, dict[str, list[Crop]]] = {}
    for id_, status in answer.items():
        crop = kb.crops.get(id_)
        if crop and status in (HURT, FINE_BESIDE):
            families.setdefault(crop.family, {}).setdefault(status, []).append(crop)
    if not any(HURT in by for by in families.values()):
        return None
    names = sorted(families)
    hurt = np.array([1.0 if HURT in families[f] else 0.0 for f in names])
    common = np.zeros((len(kb.causes), len(names)))
    chances = np.empty((len(kb.causes), len(names)))
    at_most = np.zeros_like(chances)
    for j, family in enumerate(names):
        crops = families[family].get(HURT) or families[family][FINE_BESIDE]
        for i, cause in enumerate(kb.causes.values()):
            each = [plants(kb, crop) for crop in crops]
            chances[i, j] = max(fmean(chance_hurt(cause, p, settings) for p in ps) for ps in each)
            living = max(fmean(lives_on(cause, p) for p in ps) for ps in each)
            at_most[i, j] = living * REACH[cause.hosts.reach]
            if hurt[j]:
                common[i, j] = commoner(cause, crops)
    chances = np.clip(chances, 1e-6, 1 - 1e-6)
    return HostWeights(chances, at_most, hurt, common.sum(axis=1) / hurt.sum(), settings)
