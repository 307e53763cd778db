"""What README and DEVELOPERS promise is what the program has."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from diagnose.cli.main import cli
from diagnose.curate.run import fault_kinds
from diagnose.errors import EXIT_CODE_MEANINGS, ExitCode

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]


def rows(text: str, heading: str) -> list[list[str]]:
    """Cells of the first table under a heading, without its two head lines."""
    section = text.split(f"\n## {heading}\n", 1)[1].split("\n## ", 1)[0]
    lines = [line for line in section.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines[2:]]


def commands(group: click.Group = cli, path: str = "diagnose") -> Iterator[str]:
    """Every command that does something, as it is typed."""
    for name, command in group.commands.items():
        if isinstance(command, click.Group):
            yield from commands(command, f"{path} {name}")
        else:
            yield f"{path} {name}"


def named(requirement: str) -> str:
    match = re.match(r"[A-Za-z0-9._-]+", requirement)
    assert match is not None
    return match.group()


@pytest.mark.parametrize("command", list(commands()))
def test_every_command_is_in_the_readme(command: str) -> None:
    assert re.search(rf"`{command}(?: [^`]*)?`", README), f"README does not name `{command}`"


def test_every_command_the_readme_lists_exists() -> None:
    listed = [cells[0].strip("`").split() for cells in rows(README, "Commands")]
    known = [command.split() for command in commands()]
    for words in listed:
        assert any(words[: len(command)] == command for command in known), " ".join(words)


def test_exit_codes_of_the_readme_are_those_of_the_program() -> None:
    table = {cells[0]: cells[1] for cells in rows(README, "Exit codes")}
    assert table == {str(int(code)): told for code, told in EXIT_CODE_MEANINGS.items()}
    assert set(EXIT_CODE_MEANINGS) == set(ExitCode)


def test_checks_of_the_developers_page_are_those_of_the_program() -> None:
    table = rows(DEVELOPERS, "Checks")
    assert table == [[kind.code, kind.level, kind.about] for kind in fault_kinds()]


def test_every_dependency_is_there_for_a_reason() -> None:
    table = dict(rows(DEVELOPERS, "Dependencies, and why"))
    assert sorted(table) == sorted(named(entry) for entry in PROJECT["dependencies"])
    assert all(len(reason.split()) >= 3 for reason in table.values())


@pytest.mark.parametrize(
    "name",
    [named(entry) for extra in PROJECT["optional-dependencies"].values() for entry in extra],
)
def test_every_tool_for_tests_and_development_is_named(name: str) -> None:
    section = DEVELOPERS.split("\n## Dependencies, and why\n", 1)[1].split("\n## ", 1)[0]
    assert ("type stubs" if name.startswith("types-") else name) in section


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md"])
def test_every_local_link_leads_somewhere(page: str) -> None:
    for target in re.findall(r"\]\(([^)#]+)\)", (ROOT / page).read_text("utf-8")):
        if "://" not in target:
            assert (ROOT / target).exists(), target
