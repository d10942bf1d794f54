"""``advisor lesson``: one lesson's card for an hour, with its figures."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from advisor.card import LessonCard, lesson_card
from advisor.clock import parse_at
from advisor.commands.common import (
    choices,
    field_options,
    load_day,
    person_options,
    source_options,
)
from advisor.commands.day import columns, write_text
from advisor.errors import AdvisorError, DataFileError
from advisor.lessons import lesson as find_lesson
from advisor.lessons import lesson_keys


def _stage(given: tuple[str, ...], early_solo: bool, lesson_key: str) -> str:
    """The one stage of the card: as given, else the first at which the lesson is taught."""
    if len(set(given)) > 1:
        raise DataFileError("A card is for one stage: give --stage once.")
    if given:
        return given[0]
    if early_solo:
        return "solo"
    return next(iter(find_lesson(lesson_key).mean_stop_kt))


def _lesson_names(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    return [key for key in lesson_keys() if key.startswith(incomplete)]


@click.command("lesson")
@click.argument("lesson", metavar="LESSON", shell_complete=_lesson_names)
@click.argument("station")
@click.option("--at", "at_text", metavar="TIME", help="When it begins: 15:00 is the field's clock, 1500Z is UTC. [now]")
@person_options
@field_options
@source_options
@click.option("--left/--right", "left", default=None, help="First turns. [left; the pattern's own side]")
@click.option(
    "--format", "style", type=click.Choice(("text", "html", "json", "svg", "png")), default="text", help="[text]"
)
@click.option(
    "--units",
    type=click.Choice(("us", "metric")),
    default="us",
    help="Distances over the ground; heights stay feet. [us]",
)
@click.option("--out", type=click.Path(), help="File for text, html and json; folder for svg and png.")
def command(
    lesson: str,
    station: str,
    at_text: str | None,
    left: bool | None,
    style: str,
    units: str,
    out: str | None,
    **given: Any,
) -> None:
    """Print the card of LESSON at STATION: headings, crab, groundspeed and bank, drawn and in numbers.

    The html card prints on one side. It describes and cautions; the instructor decides.

    \b
    LESSON is one of
      tracking, rectangular-course, s-turns, turns-around-a-point,
      eights-along-a-road, eights-across-a-road, eights-around-pylons,
      eights-on-pylons, crosswind-pattern

    \b
    Example:
      advisor lesson s-turns KXYZ --at 15:00 --stage pre-solo --format html --out card.html
    """
    chosen = find_lesson(lesson)
    stage = _stage(given["stages"], given["early_solo"], lesson)
    given["stages"] = (stage,)
    day, desk = load_day(station, choices(**given))
    at = parse_at(at_text, station_tz=day.zone, now=desk.now) if at_text is not None else day.made_at
    card = lesson_card(day, stage, chosen, at, left=left, school=desk.school)
    if style in ("svg", "png"):
        _figures(card, style, units, out)
        return
    if style == "html":
        from advisor.present.html import card_html

        text = card_html(card, units=units)
    elif style == "json":
        import json

        from advisor.present.card_json import card_json

        text = json.dumps(card_json(card), indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    else:
        from advisor.present.card_text import card_text

        text = card_text(card, width=columns(), units=units)
    write_text(text, out)


def _figures(card: LessonCard, style: str, units: str, out: str | None) -> None:
    """Write every figure into a folder; one SVG plan without one."""
    from advisor.present.card import figures
    from advisor.present.files import write_atomic

    found = figures(card, units=units)
    if not found:
        raise AdvisorError(card.why_not or f"{card.lesson.title} has no figure for this hour.")
    if out is None:
        if style == "png":
            raise DataFileError("PNG figures need a folder: add --out DIR.")
        click.echo(next(iter(found.values())), nl=False)
        return
    folder = Path(out)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise DataFileError(f"The folder {out} cannot be made: {error.strerror or error}. Choose another.") from error
    for name, svg in found.items():
        path = folder / f"{card.lesson.key}-{name}.{style}"
        if style == "png":
            from advisor.present.png import svg_to_png

            write_atomic(path, svg_to_png(svg))
        else:
            write_atomic(path, svg)
        click.echo(f"Written: {path}", err=True)
