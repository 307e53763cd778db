"""Reads a folder of knowledge into documents, one a file, and says what kind each file is."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from pathlib import Path

from diagnose.errors import Location
from diagnose.kb import strictyaml
from diagnose.kb.fault import Fault, FaultKind
from diagnose.kb.strictyaml import Document

SINGLE_FILES = {"manifest.yaml": "manifest", "sources.yaml": "sources", "derived.yaml": "derived"}
FOLDERS = {
    "causes": "cause",
    "questions": "question",
    "tests": "test",
    "crops": "crops",
    "inputs": "inputs",
    "substances": "substances",
    "actions": "actions",
    "cautions": "cautions",
}
NESTED = {"causes", "questions"}


class MisplacedFile(FaultKind):
    """A YAML file lies where none is expected."""

    code = "KB006"
    about = "a YAML file lies where none is expected, or a required file is missing"
    remedy = "Causes go in causes/<family>/, questions in questions/<topic>/, the rest one deep."


@dataclass(slots=True)
class Tree:
    """The documents of a knowledge folder by relative path, and what was wrong reading them."""

    root: Path
    documents: dict[str, Document] = field(default_factory=dict)
    kinds: dict[str, str] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def place(self, path: str, *keys: str | int) -> Location:
        """Where something stands in a file."""
        document = self.documents.get(path)
        return document.place(tuple(keys)) if document else Location(path)


def kind_of(relative: Path) -> str | None:
    """Which kind of file a relative path is.

    >>> kind_of(Path("causes/virus/curly_top.yaml")), kind_of(Path("causes/curly_top.yaml"))
    ('cause', None)
    """
    parts = relative.parts
    if len(parts) == 1:
        return SINGLE_FILES.get(parts[0])
    depth = 3 if parts[0] in NESTED else 2
    return FOLDERS.get(parts[0]) if len(parts) == depth else None


def files(root: Path) -> list[Path]:
    """All knowledge files under a root, sorted: YAML, and the schemas they are held to."""
    found = [*root.rglob("*.yaml"), *(root / "schema").glob("*.json")]
    return sorted(found, key=lambda p: p.relative_to(root).as_posix())


def digest(root: Path) -> str:
    """Content hash of the whole folder: 16 hex digits, changed by any change of a file."""
    total = hashlib.sha256()
    for path in files(root):
        try:
            small = path.stat().st_size <= strictyaml.MAX_BYTES
            content = path.read_bytes() if small else b"too large"
        except OSError:  # reading the tree says what is wrong with it
            content = b"unreadable"
        total.update(path.relative_to(root).as_posix().encode() + b"\0")
        total.update(hashlib.sha256(content).digest())
    return total.hexdigest()[:16]


def read_tree(root: Path) -> Tree:
    """Read every YAML file; faults are collected, never raised."""
    tree = Tree(root)
    for path in files(root):
        relative = path.relative_to(root)
        if relative.suffix != ".yaml":
            continue
        name = relative.as_posix()
        kind = kind_of(relative)
        if kind is None:
            wrong = "this file has no place here"
            tree.faults.append(MisplacedFile.fault(wrong, Location(name, 1, 1)))
            continue
        try:
            tree.documents[name] = strictyaml.read(path, name)
            tree.kinds[name] = kind
        except strictyaml.StrictYamlFault as problem:
            tree.faults.append(problem.fault)
    for name in SINGLE_FILES:
        if not (root / name).is_file():
            tree.faults.append(MisplacedFile.fault(f"{name} is missing", Location(name, 1, 1)))
    return tree
