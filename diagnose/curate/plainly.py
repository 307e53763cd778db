"""Any entry of the book as plain lines: its fields, nested ones indented."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass


def plain_lines(item: object, indent: str = "  ") -> list[str]:
    """Fields of a dataclass that hold something, one a line.

    >>> from diagnose.kb.model import Named
    >>> plain_lines(Named("a", "Name"))
    ['  id: a', '  name: Name']
    """
    assert is_dataclass(item)
    out: list[str] = []
    for field in fields(item):
        value = getattr(item, field.name)
        if value in (None, "", (), {}) or field.name == "file":
            continue
        out += _value(field.name, value, indent)
    return out


def _value(name: str, value: object, indent: str) -> list[str]:
    if is_dataclass(value):
        return [f"{indent}{name}:", *plain_lines(value, indent + "  ")]
    if isinstance(value, Mapping):
        return [
            f"{indent}{name}:",
            *(x for k, v in value.items() for x in _value(k, v, indent + "  ")),
        ]
    if isinstance(value, tuple):
        if any(isinstance(v, str) and v.rstrip().endswith(".") for v in value):
            # Whole sentences, like the steps of a test, are read one a line.
            return [f"{indent}{name}:", *(f"{indent}  {v}" for v in value)]
        if all(isinstance(v, str | int | float) for v in value):
            return [f"{indent}{name}: {', '.join(map(str, value))}"]
        rows = [plain_lines(v, indent + "    ") for v in value]
        return [f"{indent}{name}:", *(line for row in rows for line in row)]
    return [f"{indent}{name}: {value}"]
