"""Reports: an answer resolved to weights over the values of a finding.

`likelihood[v]` is P(this answer | the true value is v). Only ratios matter, so all ones says
nothing. Tick findings have the values present, absent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import erf, sqrt

from diagnose.kb.model import ABSENT, PRESENT, Finding
from diagnose.reasoning.settings import DEFAULT, Settings


@dataclass(frozen=True, slots=True)
class Report:
    """What an answer says about one finding.

    Fields:
        finding: its id.
        likelihood: one weight per value of the finding.
        value: the value said, or None when the answer names none.
        number: the number measured, in the unit of the finding.
        spoken: True when said, measured or looked for; rules hear only these.
    """

    finding: str
    likelihood: tuple[float, ...]
    value: str | None = None
    number: float | None = None
    spoken: bool = False

    @property
    def informative(self) -> bool:
        """False for "don't know"."""
        return len(set(self.likelihood)) > 1


def dont_know(finding: Finding) -> Report:
    """All ones.

    >>> from diagnose.reasoning.demo import yes_no
    >>> dont_know(yes_no("x")).informative
    False
    """
    return Report(finding.id, (1.0,) * len(finding.values))


def said(
    finding: Finding,
    value: str,
    *,
    phone: bool = False,
    number: float | None = None,
    settings: Settings = DEFAULT,
) -> Report:
    """A plain answer: 1 - slip on the value said, the slip shared among the others.

    Three quarters of the slip go to the values it is mistaken for, where the book names some. A
    test has no slip: its error is in its result rates.

    Raises:
        ValueError: when the finding has no such value.

    >>> from diagnose.reasoning.demo import yes_no
    >>> said(yes_no("x"), "present").likelihood
    (0.95, 0.05)
    """
    slip = 0.0 if finding.form == "test" else settings.slip_of(finding.slip, phone)
    chosen = finding.index(value)
    near = [finding.index(v) for v in finding.values[chosen].mistaken_for if v in finding.value_ids]
    far = [i for i in range(len(finding.values)) if i != chosen and i not in near]
    weights = [0.0] * len(finding.values)
    weights[chosen] = 1.0 - slip
    near_part = slip * (settings.mistaken_share if far else 1.0) if near else 0.0
    for i in near:
        weights[i] = near_part / len(near)
    for i in far:
        weights[i] = (slip - near_part) / len(far)
    return Report(finding.id, tuple(weights), value, number, spoken=True)


def said_one_of(finding: Finding, values: Sequence[str], *, phone: bool = False) -> Report:
    """A plain answer that leaves several values open: each as likely to be so answered.

    The weight of a value is the best it gets from any of the values said. `value` stays None, so
    that no rule takes one of them for known.

    Raises:
        ValueError: when the finding has no such value.

    >>> from diagnose.reasoning.demo import measured
    >>> [round(w, 3) for w in said_one_of(measured("x", [1, 2]), ["band0", "band1"]).likelihood]
    [0.95, 0.95, 0.025]
    """
    each = [said(finding, value, phone=phone).likelihood for value in values]
    return Report(finding.id, tuple(max(w) for w in zip(*each, strict=True)), spoken=True)


def ticked(finding: Finding, settings: Settings = DEFAULT) -> Report:
    """Ticked in a list.

    >>> from diagnose.reasoning.demo import yes_no
    >>> ticked(yes_no("x")).likelihood
    (0.5, 0.003)
    """
    return Report(finding.id, settings.ticked, PRESENT, spoken=True)


def not_ticked(
    finding: Finding, *, looked: bool, phone: bool = False, settings: Settings = DEFAULT
) -> Report:
    """Not ticked: a plain absent when looked for, else a weak hint.

    >>> from diagnose.reasoning.demo import yes_no
    >>> not_ticked(yes_no("x"), looked=False).likelihood
    (0.5, 0.997)
    """
    if looked:
        return said(finding, ABSENT, phone=phone, settings=settings)
    present, absent = settings.ticked
    return Report(finding.id, (1.0 - present, 1.0 - absent))


def band_of(finding: Finding, number: float) -> str:
    """The band a measured number falls in; a number on an edge belongs to the upper band.

    >>> from diagnose.reasoning.demo import measured
    >>> band_of(measured("ph", [6.5]), 6.5)
    'band1'
    """
    for value in finding.values:
        if value.below is None or number < value.below:
            return value.id
    return finding.values[-1].id


def days_between(finding: Finding, days: float) -> Report:
    """A delay in days, softened, over the bands of a `days_after` finding.

    Growers remember dates roughly: the delay is taken as normal with a standard deviation of one
    day plus a quarter of the delay. Negative delays mean the sign came first.

    Args:
        finding: one with the values before, d0_2, d3_10, d11_28, d29_plus.
        days: from the event to the first sign.

    >>> from diagnose.reasoning.demo import delays
    >>> [round(w, 2) for w in days_between(delays("x"), 5).likelihood]
    [0.01, 0.13, 0.86, 0.01, 0.0]
    """
    edges = (-0.5, 2.5, 10.5, 28.5)
    spread = 1.0 + 0.25 * abs(days)
    below = [0.5 * (1.0 + erf((edge - days) / (spread * sqrt(2.0)))) for edge in edges]
    masses = [b - a for a, b in zip([0.0, *below], [*below, 1.0], strict=True)]
    floor = 0.002
    weights = tuple(max(mass, floor) for mass in masses)
    value = finding.value_ids[max(range(len(weights)), key=weights.__getitem__)]
    return Report(finding.id, weights, value, days, spoken=True)
