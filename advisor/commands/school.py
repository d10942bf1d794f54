"""``advisor school``: start a school's own file, and check one."""

from __future__ import annotations

from pathlib import Path

import click

from advisor.errors import DataFileError


@click.group("school", short_help="Start or check a school's own file.")
def command() -> None:
    """Start a school's own file of fields, notices, practice areas, aircraft and limits, or check one."""


@command.command("new")
@click.argument("station")
@click.option(
    "--output",
    "-o",
    type=click.Path(path_type=Path, dir_okay=False),
    default=None,
    help="Write here instead of standard output. A file that is there is never overwritten.",
)
@click.option("--offline", is_flag=True, help="Do not ask the weather service about a field that is not in the list.")
def new(station: str, output: Path | None, offline: bool) -> None:
    """Print a starter school file for STATION, filled from the known field and runway data.

    A field that the list does not hold is asked of the weather service.

    \b
    Example:
      advisor school new KBDU -o school.toml
    """
    from advisor.commands.school_starter import starter_text

    text = starter_text(station, ask=not offline)
    if output is None:
        click.echo(text, nl=False)
        return
    try:
        with output.open("x", encoding="utf-8") as handle:
            handle.write(text)
    except FileExistsError:
        raise DataFileError(f"{output} is there already and is left alone. Give another name.") from None
    except OSError as error:
        reason = error.strerror or str(error)
        raise DataFileError(f"{output} cannot be written: {reason}. Give another name.") from error
    click.echo(f"Wrote {output}. Edit it, then run: advisor school check {output}")


@command.command("check")
@click.argument("file", type=click.Path(path_type=Path))
def check(file: Path) -> None:
    """Say what was understood of a school FILE, or name every fault in it (exit status 1).

    \b
    Example:
      advisor school check school.toml
    """
    from advisor.commands.school_summary import summary_lines
    from advisor.school import load_school

    for line in summary_lines(load_school(file), file.name):
        click.echo(line)
