"""All that is known of a case, as the reasoning sees it: reports, crops, and the story told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from diagnose.reasoning.report import Report

HURT = "hurt"
FINE_BESIDE = "fine_beside"


@dataclass(frozen=True, slots=True)
class Observations:
    """Reports by finding, the crops answer (crop id to hurt, fine_beside ...), the story told.

    The order in which answers came is not kept: the same answers rank the same by every route.
    """

    reports: Mapping[str, Report] = field(default_factory=dict)
    crops: Mapping[str, str] = field(default_factory=dict)
    story: str = ""

    def known(self, finding: str) -> tuple[str, float | None] | None:
        """Value and number of a finding when spoken, else None; what rules read."""
        report = self.reports.get(finding)
        if report is None or not report.spoken or report.value is None:
            return None
        return report.value, report.number

    def informative(self) -> dict[str, Report]:
        """The reports that say anything, by finding id in sorted order."""
        return {f: r for f, r in sorted(self.reports.items()) if r.informative}

    def with_report(self, report: Report) -> Observations:
        """The same with one report added or replaced."""
        return replace(self, reports={**self.reports, report.finding: report})

    def without(self, finding: str) -> Observations:
        """The same with one finding forgotten."""
        return replace(self, reports={f: r for f, r in self.reports.items() if f != finding})

    @property
    def hurt(self) -> frozenset[str]:
        """Ids of hurt crops."""
        return frozenset(c for c, status in self.crops.items() if status == HURT)
