"""Runs every check over a folder of knowledge."""

from __future__ import annotations

from pathlib import Path

from diagnose.curate import checks
from diagnose.kb import figures, integrity, schema, strictyaml, tree
from diagnose.kb.fault import Fault, FaultKind
from diagnose.kb.load import load_fully


def check_knowledge(root: Path) -> list[Fault]:
    """Every fault in a folder of knowledge, by file and line.

    Where the files cannot be built into knowledge at all, only those faults are found.
    """
    loaded = load_fully(root)
    faults = list(loaded.faults)
    if loaded.knowledge is not None and not faults:
        for check in checks.ALL:
            faults += check().run(loaded.knowledge, loaded.tree)
    return sorted(faults, key=lambda f: (f.location.path, f.location.line, f.code))


def fault_kinds() -> list[type[FaultKind]]:
    """Every kind of fault there is, by code; the table in DEVELOPERS.md is compared with it."""
    modules = (strictyaml, tree, schema, integrity, figures)
    found = [
        item
        for module in modules
        for item in vars(module).values()
        if isinstance(item, type) and issubclass(item, FaultKind) and item is not FaultKind
    ]
    kinds = {*found, *checks.ALL}
    return sorted(kinds, key=lambda kind: kind.code)
