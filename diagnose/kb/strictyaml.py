"""Strict YAML: a small, predictable part of YAML 1.1, with the place of every value.

Refused, each with line and column: duplicate keys, anchors and aliases, tags, merge keys, keys
that are not text, several documents, files over 2 MB. Only `true` and `false` are booleans; dates
and `1:30` stay text. Built on the events of PyYAML's C parser, so nothing is expanded before it is
looked at and an alias bomb is refused at its first anchor.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

import yaml

from diagnose.errors import Location
from diagnose.kb.fault import Fault, FaultKind

MAX_BYTES = 2_000_000
MAX_DEPTH = 40

# Longer digit strings are ids or mistakes, and Python refuses to read the longest at all.
_INT = re.compile(r"[-+]?(0|[1-9][0-9]{0,17})")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+\.[0-9]*|[0-9]+(\.[0-9]*)?[eE][-+]?[0-9]+)")
# Control characters other than tab and line ends could drive a terminal.
_CONTROL = re.compile(
    r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]"
)

Path_ = tuple[str | int, ...]


class UnreadableFile(FaultKind):
    """The file is missing, not UTF-8 or too large."""

    code = "KB001"
    about = "a file cannot be read: missing, not UTF-8, or over 2 MB"
    remedy = "Check the path, save the file as UTF-8, or split it into smaller files."


class NotStrictYaml(FaultKind):
    """The text is not YAML, or uses a part of YAML that is refused here."""

    code = "KB002"
    about = "not YAML, or YAML with anchors, aliases, tags, merge keys or several documents"
    remedy = (
        "Write plain mappings, lists and text; quote text that holds ': ' or starts with * & !."
    )


class DuplicateKey(FaultKind):
    """A mapping holds the same key twice."""

    code = "KB003"
    about = "the same key stands twice in one mapping"
    remedy = "Keep one of the two, or rename the other."


class BadKey(FaultKind):
    """A key is not text."""

    code = "KB004"
    about = "a key is not plain text"
    remedy = "Put the key in quotes."


class ControlCharacter(FaultKind):
    """Text holds a control character that could drive a terminal."""

    code = "KB005"
    about = "text holds control or text-direction characters"
    remedy = "Delete the character; plain text and line ends are enough."


@dataclass(frozen=True, slots=True)
class Document:
    """A parsed file: plain values, and where each stands.

    `places` maps the path of keys and indexes to a value, `()` being the whole file.
    """

    path: str
    value: Any
    places: dict[Path_, Location]

    def place(self, path: Path_) -> Location:
        """Where the value at `path` stands; the nearest enclosing value if it has no place."""
        while path not in self.places and path:
            path = path[:-1]
        return self.places.get(path, Location(self.path))


class StrictYamlFault(Exception):
    """Raised inside the parser; carries the fault."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(str(fault))
        self.fault = fault


def plain_scalar(text: str) -> Any:
    """Read an unquoted scalar: true, false, whole number, decimal, nothing, else text.

    >>> [plain_scalar(t) for t in ("true", "yes", "7", "0.5", "1:30", "2026-11-25", "~", "")]
    [True, 'yes', 7, 0.5, '1:30', '2026-11-25', None, None]
    """
    if text in ("true", "false"):
        return text == "true"
    if text in ("", "~", "null"):
        return None
    if _INT.fullmatch(text):
        return int(text)
    if _FLOAT.fullmatch(text):
        return float(text)
    return text


class _Builder:
    def __init__(self, text: str, name: str) -> None:
        self.name = name
        self.places: dict[Path_, Location] = {}
        self.events = yaml.parse(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))

    def _here(self, event: yaml.Event) -> Location:
        mark = event.start_mark
        if mark is None:
            return Location(self.name)
        return Location(self.name, mark.line + 1, mark.column + 1)

    def _refuse(self, kind: type[FaultKind], wrong: str, event: yaml.Event) -> NoReturn:
        raise StrictYamlFault(kind.fault(wrong, self._here(event)))

    def document(self) -> Any:
        next(self.events)  # stream start
        event = next(self.events)
        if isinstance(event, yaml.StreamEndEvent):
            self.places[()] = Location(self.name, 1, 1)
            return None
        value = self.node(next(self.events), ())
        next(self.events)  # document end
        event = next(self.events)
        if not isinstance(event, yaml.StreamEndEvent):
            self._refuse(NotStrictYaml, "a second document starts here", event)
        return value

    def node(self, event: yaml.Event, path: Path_) -> Any:
        if len(path) > MAX_DEPTH:
            self._refuse(NotStrictYaml, f"nested deeper than {MAX_DEPTH} levels", event)
        if isinstance(event, yaml.AliasEvent):
            self._refuse(NotStrictYaml, f"alias '*{event.anchor}' is not allowed", event)
        self.refuse_properties(event)
        self.places[path] = self._here(event)
        if isinstance(event, yaml.ScalarEvent):
            return self.scalar(event)
        if isinstance(event, yaml.SequenceStartEvent):
            items: list[Any] = []
            while not isinstance(event := next(self.events), yaml.SequenceEndEvent):
                items.append(self.node(event, (*path, len(items))))
            return items
        return self.mapping(path)

    def refuse_properties(self, event: yaml.Event) -> None:
        if anchor := getattr(event, "anchor", None):
            self._refuse(NotStrictYaml, f"anchor '&{anchor}' is not allowed", event)
        if (tag := getattr(event, "tag", None)) not in (None, "!"):
            self._refuse(NotStrictYaml, f"tag '{tag}' is not allowed", event)

    def scalar(self, event: yaml.ScalarEvent) -> Any:
        if found := _CONTROL.search(event.value):
            code = f"U+{ord(found.group()):04X}"
            self._refuse(ControlCharacter, f"control character {code} in text", event)
        return plain_scalar(event.value) if event.implicit[0] else event.value

    def mapping(self, path: Path_) -> dict[str, Any]:
        result: dict[str, Any] = {}
        while not isinstance(event := next(self.events), yaml.MappingEndEvent):
            if not isinstance(event, yaml.ScalarEvent):
                self._refuse(BadKey, "a key is not plain text", event)
            self.refuse_properties(event)
            key = self.scalar(event)
            if key == "<<":
                self._refuse(NotStrictYaml, "merge key '<<' is not allowed", event)
            if not isinstance(key, str):
                self._refuse(BadKey, f"the key {event.value} is not text", event)
            if key in result:
                self._refuse(DuplicateKey, f"the key '{key}' stands twice", event)
            here = self._here(event)
            result[key] = self.node(next(self.events), (*path, key))
            # A fault in a value is best shown at its key when the value opens a block.
            if isinstance(result[key], dict | list):
                self.places[(*path, key)] = here
        return result


def parse(text: str, name: str) -> Document:
    r"""Parse strict YAML text.

    Args:
        text: the YAML.
        name: the file name shown in faults.

    Raises:
        StrictYamlFault: with the first thing refused, its line and column.

    >>> doc = parse("a: 1\nb: [x, y]\n", "demo.yaml")
    >>> doc.value, str(doc.place(("b", 1)))
    ({'a': 1, 'b': ['x', 'y']}, 'demo.yaml:2:8')
    """
    if found := _CONTROL.search(text):
        before = text[: found.start()]
        place = Location(name, before.count("\n") + 1, found.start() - before.rfind("\n"))
        code = f"U+{ord(found.group()):04X}"
        raise StrictYamlFault(ControlCharacter.fault(f"control character {code}", place))
    builder = _Builder(text, name)
    try:
        value = builder.document()
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        place = Location(name, mark.line + 1, mark.column + 1) if mark else Location(name)
        problem = getattr(error, "problem", None) or getattr(error, "reason", None) or str(error)
        raise StrictYamlFault(NotStrictYaml.fault(f"not YAML: {problem}", place)) from error
    return Document(name, value, builder.places)


def read(path: Path, name: str | None = None) -> Document:
    """Read and parse a strict YAML file; sizes over 2 MB are refused unread.

    Raises:
        StrictYamlFault: the file cannot be read or holds something refused.
    """
    name = name or str(path)
    top = Location(name, 1, 1)
    try:
        size = path.stat().st_size
        if size > MAX_BYTES:
            wrong = f"the file has {size:,} bytes; at most {MAX_BYTES:,} are read"
            raise StrictYamlFault(UnreadableFile.fault(wrong, top))
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        wrong = f"cannot read it: {error.strerror or error}"
        raise StrictYamlFault(UnreadableFile.fault(wrong, top)) from error
    except UnicodeDecodeError as error:
        before = error.object[: error.start]
        place = Location(name, before.count(b"\n") + 1, error.start - before.rfind(b"\n"))
        wrong = f"byte {error.object[error.start]:#04x} is not UTF-8"
        raise StrictYamlFault(UnreadableFile.fault(wrong, place)) from error
    return parse(text, name)
