"""``advisor day``: the student's question, answered for one station."""

from __future__ import annotations

import sys
from typing import Any

import click

from advisor.commands.common import (
    choices,
    field_options,
    load_day,
    person_options,
    source_options,
)


def columns() -> int:
    """Width to print at: the terminal's when it is one, a steady 96 in a pipe."""
    if not sys.stdout.isatty():
        return 96
    import shutil  # a pipe never needs it

    return max(40, min(110, shutil.get_terminal_size((96, 24)).columns - 1))


@click.command("day")
@click.argument("station")
@person_options
@field_options
@source_options
@click.option("--format", "style", type=click.Choice(("text", "json", "csv", "html")), default="text", help="[text]")
@click.option("--units", type=click.Choice(("us", "metric")), default="us", help="Heights and radii. [us]")
@click.option("--out", type=click.Path(dir_okay=False), help="Write to a file instead of the screen.")
def command(station: str, style: str, units: str, out: str | None, **given: Any) -> None:
    """Which lessons suit today at STATION, when, and what crab and bank to expect.

    The answer describes, cautions and ranks. Your instructor decides.
    """
    day, _ = load_day(station, choices(**given))
    if style == "json":
        import json

        from advisor.present.day_json import day_json

        text = json.dumps(day_json(day), indent=2, ensure_ascii=False) + "\n"
    elif style == "csv":
        from advisor.present.day_csv import day_csv

        text = day_csv(day)
    elif style == "html":
        from advisor.present.day_page import day_html

        text = day_html(day, day.stages[0] if len(day.stages) == 1 else None, units=units)
    else:
        from advisor.present.day_text import day_text

        text = day_text(day, width=columns(), units=units)
    write_text(text, out)


def write_text(text: str, out: str | None) -> None:
    """Print, or write a file whole or not at all."""
    if out is None:
        click.echo(text, nl=False)
        return
    from advisor.present.files import write_atomic

    write_atomic(out, text)
    click.echo(f"Written: {out}", err=True)
