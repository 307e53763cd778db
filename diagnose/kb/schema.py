"""Holds documents to their JSON Schema (2020-12) and turns every breach into a fault."""

from __future__ import annotations

import difflib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from diagnose.errors import Location
from diagnose.kb.fault import Fault, FaultKind
from diagnose.kb.strictyaml import Document, Path_
from diagnose.kb.tree import Tree


class SchemaBreach(FaultKind):
    """A value does not fit the schema."""

    code = "KB010"
    about = "a value does not fit the JSON Schema of its kind of file"
    remedy = "See the schema of this kind of file under knowledge/schema/."


class UnknownKey(FaultKind):
    """A key the schema does not know."""

    code = "KB011"
    about = "an unknown key"
    remedy = "Delete the key or correct its spelling."


class MissingKey(FaultKind):
    """A required key is missing."""

    code = "KB012"
    about = "a required key is missing"
    remedy = "Add the key; a sibling file of the same kind shows its form."


class StillToFill(FaultKind):
    """A placeholder of a new file is left."""

    code = "KB013"
    about = "a CHANGE_ME of a file begun with `kb new` is still to be filled in"
    remedy = "Write what belongs here, or delete the line if its key is not required."


PLACEHOLDER = "CHANGE_ME"


def load_schema(root: Path, kind: str) -> dict[str, Any]:
    """The JSON Schema of a kind of file."""
    schema: dict[str, Any] = json.loads((root / "schema" / f"{kind}.json").read_text("utf-8"))
    return schema


def check_schema(tree: Tree) -> Iterator[Fault]:
    """Every breach of schema in a tree, in file order."""
    from jsonschema import Draft202012Validator, SchemaError

    validators: dict[str, Draft202012Validator] = {}
    for name, document in tree.documents.items():
        kind = tree.kinds[name]
        if kind not in validators:
            try:
                schema = load_schema(tree.root, kind)
                Draft202012Validator.check_schema(schema)
                validators[kind] = Draft202012Validator(schema)
            except (OSError, ValueError, SchemaError) as unread:
                line = getattr(unread, "lineno", 1)
                place = Location(f"schema/{kind}.json", line, getattr(unread, "colno", 1))
                yield SchemaBreach.fault("the schema cannot be read", place)
                return
        errors = sorted(
            validators[kind].iter_errors(document.value),
            key=lambda error: [str(part) for part in error.absolute_path],
        )
        for error in errors:
            if not _unfilled(error.instance):
                yield from _faults(error, document.place(tuple(error.absolute_path)), document)
        yield from _placeholders(document.value, (), document)


def _unfilled(value: object) -> bool:
    return isinstance(value, str) and PLACEHOLDER in value


def _placeholders(value: object, path: Path_, document: Document) -> Iterator[Fault]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _placeholders(inner, (*path, key), document)
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            yield from _placeholders(inner, (*path, i), document)
    elif _unfilled(value):
        key = ".".join(str(part) for part in path)
        yield StillToFill.fault(f"{key} is still to be filled in", document.place(path))


def _faults(error: Any, place: Location, document: Any) -> Iterator[Fault]:
    path = tuple(error.absolute_path)
    where = f" in {'.'.join(str(part) for part in path)}" if path else ""
    if error.validator == "additionalProperties":
        known = list(error.schema.get("properties", {}))
        for key in error.instance:
            if key in known:
                continue
            near = difflib.get_close_matches(key, known, 1)
            remedy = f"Did you mean '{near[0]}'?" if near else f"Known here: {', '.join(known)}."
            yield UnknownKey.fault(
                f"unknown key '{key}'{where}", document.place((*path, key)), remedy
            )
    elif error.validator == "required":
        missing = [key for key in error.validator_value if key not in error.instance]
        if missing and missing[0] == error.message.split("'")[1]:
            yield MissingKey.fault(f"missing {', '.join(missing)}{where}", place)
    else:
        yield SchemaBreach.fault(f"{_plain(error)}{where}", place)


def _plain(error: Any) -> str:
    if error.validator == "enum":
        return f"'{error.instance}' is not one of {', '.join(map(str, error.validator_value))}"
    if error.validator == "maxLength":
        return f"'{error.instance}' is longer than {error.validator_value} characters"
    message: str = error.message
    return message if len(message) < 160 else message[:150] + " ..."
