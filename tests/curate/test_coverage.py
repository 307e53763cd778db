"""The table of `kb list --coverage`, counted by hand on the tiny knowledge."""

from __future__ import annotations

from dataclasses import replace

from click.testing import CliRunner

from diagnose.cli.main import cli
from diagnose.curate.coverage import Coverage, counting, coverage
from diagnose.kb.model import Knowledge


def test_each_family_has_a_row_and_the_whole_book_the_last(tiny_book: Knowledge) -> None:
    rows = coverage(tiny_book)
    assert [row.name for row in rows] == ["Water", "Cold", "The whole book"]


def test_figures_are_those_counted_by_hand(tiny_book: Knowledge) -> None:
    water = coverage(tiny_book)[0]
    # thirst and wet_roots: 8 rows each, of which 2 and 2 from memory; one test; 2 examples each.
    assert water == Coverage("Water", 2, 2, 16, 12, 1, 4, 4)
    assert water.cells() == ("Water", "2", "2", "16", "75 %", "1", "4 of 4")


def test_a_cause_counts_only_with_all_it_needs(tiny_book: Knowledge) -> None:
    thirst = tiny_book.causes["thirst"]
    assert counting(thirst, tiny_book, borne_out=True)
    assert not counting(thirst, tiny_book, borne_out=False)
    assert not counting(replace(thirst, evidence=thirst.evidence[:7]), tiny_book, True)
    assert not counting(replace(thirst, lookalikes=()), tiny_book, True)
    assert not counting(replace(thirst, examples=thirst.examples[:1]), tiny_book, True)


def test_command_prints_the_table_and_refuses_a_name_beside_it() -> None:
    printed = CliRunner().invoke(cli, ["kb", "list", "--coverage"])
    assert printed.exit_code == 0
    assert printed.output.splitlines()[0].split()[:2] == ["Family", "Causes"]
    assert "The whole book" in printed.output
    refused = CliRunner().invoke(cli, ["kb", "list", "causes", "--coverage"])
    assert refused.exit_code == 2
