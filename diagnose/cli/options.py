"""Options several commands share."""

from __future__ import annotations

from pathlib import Path

import click

knowledge_option = click.option(
    "--knowledge",
    type=click.Path(path_type=Path),
    help="Folder of the knowledge to use.",
)
casebook_option = click.option(
    "--casebook",
    type=click.Path(path_type=Path),
    help="Folder the cases are kept in.",
)
format_option = click.option(
    "--format",
    "format_",
    type=click.Choice(["text", "json", "markdown"]),
    default="text",
    help="How to show the result.",
)
plain_option = click.option("--plain", is_flag=True, help="Numbered plain lines, no boxes or keys.")
