"""Loads the knowledge: from the compiled cache when nothing changed, else from the files.

A full load reads strictly, holds every file to its schema, checks every reference, and refuses
knowledge with any fault. The compiled form is kept in the user's cache by content hash.
"""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from pathlib import Path

from diagnose.kb import cache, figures, integrity, references
from diagnose.kb.assemble import Documents, assemble
from diagnose.kb.fault import Fault, KnowledgeError
from diagnose.kb.locate import knowledge_root
from diagnose.kb.model import Knowledge
from diagnose.kb.schema import check_schema
from diagnose.kb.tree import Tree, digest, read_tree


@dataclass(frozen=True, slots=True)
class Loaded:
    """A full load: the tree, the faults, and the knowledge when it could be built."""

    tree: Tree
    faults: tuple[Fault, ...]
    knowledge: Knowledge | None


def load_fully(root: Path) -> Loaded:
    """Read, check and build from the files, collecting every fault."""
    tree = read_tree(root)
    faults = [*tree.faults, *check_schema(tree)]
    if not faults:
        faults += [*integrity.check_conditions(tree), *integrity.check_names(tree)]
    if faults:
        return Loaded(tree, tuple(faults), None)
    kb = assemble(_plain(tree), digest(root))
    for check in (
        references.check_references,
        integrity.check_condition_references,
        integrity.check_sources,
        figures.check_findings,
    ):
        faults += check(kb, tree)
    return Loaded(tree, tuple(faults), kb)


def _plain(tree: Tree) -> Documents:
    return {path: (tree.kinds[path], doc.value) for path, doc in tree.documents.items()}


def load(given: str | Path | None = None) -> Knowledge:
    """Load the knowledge for use.

    Args:
        given: a folder, or None for the usual place (see `locate`).

    Raises:
        KnowledgeError: with every fault, when the knowledge is not valid.
        UnreadableError: when no knowledge is found.

    >>> kb = load()
    >>> "stage" in kb.findings
    True
    """
    root = knowledge_root(given)
    mark = digest(root)
    if documents := cache.fetch(mark):
        # A cache that is JSON but not ours is passed over like a missing one.
        with contextlib.suppress(LookupError, TypeError, ValueError, AttributeError):
            return assemble(documents, mark)
    loaded = load_fully(root)
    if loaded.faults or loaded.knowledge is None:
        raise KnowledgeError(loaded.faults, str(root))
    cache.keep(mark, _plain(loaded.tree))
    return loaded.knowledge
