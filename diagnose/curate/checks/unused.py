"""Checks on things nothing uses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.curate.checks.base import Check
from diagnose.errors import Location
from diagnose.kb.fault import Fault
from diagnose.kb.model import Finding, Knowledge
from diagnose.kb.tree import Tree
from diagnose.reasoning.settings import HOW_OFTEN

DEPARTS = 0.15


def _item_place(tree: Tree, file: str, lists: Sequence[str], id_: str) -> Location:
    """Where an item of a list stands; the top of its file if it stands in none of the lists."""
    for list_ in lists:
        for i, item in enumerate(tree.documents[file].value.get(list_, ())):
            if item["id"] == id_:
                return tree.place(file, list_, i)
    return tree.place(file)


def _finding_place(kb: Knowledge, tree: Tree, finding: Finding) -> Location:
    home = kb.questions.get(finding.home)
    file = home.file if home else "derived.yaml"
    if finding.form == "test":
        file = kb.tests[finding.id].file
    return _item_place(tree, file, ("tick", "findings"), finding.id)


class UnusedFinding(Check):
    """A finding no cause speaks of."""

    code = "KB241"
    level = "warning"
    about = "a finding that no evidence, rule, gate or caution uses"
    remedy = "Give causes evidence on it, or drop it from its question."

    def run(self, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Collect what is used."""
        used = {row.finding for c in kb.causes.values() for row in c.evidence}
        used |= {f for c in kb.causes.values() for r in c.rules for f in r.when.findings()}
        gates = [q.applies_when for q in kb.questions.values()]
        gates += [c.when for c in kb.cautions.values()]
        gates += [t.applies_when for t in kb.tests.values()]
        used |= {f for g in gates if g is not None for f in g.findings()}
        used |= set(kb.at_hand.values())
        for finding in kb.findings.values():
            if finding.id not in used:
                wrong = f"nothing uses the finding '{finding.id}'"
                yield self.fault(wrong, _finding_place(kb, tree, finding))


class MovesNothing(Check):
    """A finding on which no cause's rate departs from the background."""

    code = "KB244"
    level = "warning"
    about = (
        "a finding on which no cause departs from the background by .15, so that it moves nothing"
    )
    remedy = "Drop it, or state which cause shows it more or less often than others."

    def run(self, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Measure the widest departure over all rows; what a caution heeds may move nothing."""
        widest: dict[str, float] = {}
        for cause in kb.causes.values():
            for row in cause.evidence:
                finding = kb.findings[row.finding]
                rate = finding.background.rates[finding.index(row.value)]
                gap = abs(HOW_OFTEN[row.how_often] - rate)
                widest[row.finding] = max(widest.get(row.finding, 0.0), gap)
        heeded = {f for c in kb.cautions.values() if c.when for f in c.when.findings()}
        for id_, gap in widest.items():
            if gap < DEPARTS - 1e-9 and id_ not in heeded:
                wrong = f"'{id_}' departs from its background by {gap:.2f} at most"
                yield self.fault(wrong, _finding_place(kb, tree, kb.findings[id_]))


class UnlinkedItem(Check):
    """An action, caution or test no cause leads to."""

    code = "KB242"
    level = "warning"
    about = "an action, caution or test that nothing leads to"
    remedy = "Link it from a cause or an action, or delete it."

    def run(self, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Collect links."""
        causes = kb.causes.values()
        actions = {a for c in causes for ids in c.actions.values() for a in ids}
        actions |= {a.id for a in kb.actions.values() if a.always}
        cautions = {x for c in causes for x in c.cautions}
        cautions |= {x for a in kb.actions.values() for x in a.cautions}
        cautions |= {x for t in kb.tests.values() for x in t.cautions}
        cautions |= {c.id for c in kb.cautions.values() if c.show == "at_once"}
        tests = {t for c in causes for t in c.confirm}
        lists = (("action", kb.actions, actions), ("caution", kb.cautions, cautions))
        for what, have, linked in lists:
            for id_, item in have.items():
                if id_ not in linked:
                    place = _item_place(tree, item.file, ("actions", "cautions"), id_)
                    yield self.fault(f"nothing leads to the {what} '{id_}'", place)
        for id_, test in kb.tests.items():
            if id_ not in tests:
                yield self.fault(f"nothing leads to the test '{id_}'", tree.place(test.file))


class UnusedSource(Check):
    """A source nothing cites."""

    code = "KB243"
    level = "note"
    about = "a source that nothing cites"
    remedy = "Drop it from sources.yaml, or cite it."

    def run(self, kb: Knowledge, tree: Tree) -> Iterator[Fault]:
        """Collect what is cited."""
        cited: set[str] = set()

        def walk(raw: object) -> None:
            if isinstance(raw, dict):
                for key, value in raw.items():
                    if key in ("sources", "how_common_sources") and isinstance(value, list):
                        cited.update(value)
                    else:
                        walk(value)
            elif isinstance(raw, list):
                for value in raw:
                    walk(value)

        for document in tree.documents.values():
            walk(document.value)
        for id_ in kb.sources:
            if id_ not in cited:
                wrong = f"nothing cites the source '{id_}'"
                yield self.fault(wrong, tree.place("sources.yaml", id_))
