"""``advisor why``: from one rating to its rules, values, limits, report groups and sources."""

from __future__ import annotations

import textwrap
from datetime import timedelta
from typing import Any

import click

from advisor.advice import HourAdvice, PracticeDay, StageDay
from advisor.clock import both, local, parse_at
from advisor.commands.common import choices, field_options, load_day, person_options, source_options
from advisor.commands.rules import limit_lines
from advisor.errors import DataFileError, TimeError
from advisor.lessons import lesson, lesson_keys
from advisor.present.standing import source_lines, standing_lines
from advisor.present.words import rating_words
from advisor.ratings import Caution
from advisor.rules.registry import Suitability, find_rule
from advisor.sources import sources
from advisor.teaching import Teaching

WIDTH = 96
#: Suitability with a teaching value beside it; what stands outside the order has none.
_ORDERED = (Suitability.HOLD, Suitability.ASK_FIRST, Suitability.WITH_CARE, Suitability.SUITED)


def _lines(label: str, text: str) -> str:
    return textwrap.fill(
        text, WIDTH, initial_indent=f"    {label:<9}", subsequent_indent=" " * 13, break_long_words=False
    )


def caution_block(caution: Caution, name: str) -> list[str]:
    """One caution of a lesson with rule, finding, limits, group and sources."""
    known = sources()
    rule = find_rule(caution.code)
    cap = "nothing (worth knowing)" if caution.is_note else caution.caps_at.words
    out = [
        f"  {caution.code} {caution.name}: caps at {cap}",
        _lines("notices", rule.title),
        _lines("found", f"{caution.message}."),
    ]
    out += [_lines("limit", line) for line in limit_lines(rule, name)]
    out.append(_lines("group", f"[{caution.layer}] {' '.join(caution.group.split())}"))
    out += [_lines("source", known[key].citation if key in known else key) for key in caution.sources]
    return out


def outside_hours(day: PracticeDay, hour: HourAdvice) -> str:
    """That the school is closed for some of an hour; nothing when it is open or gave no hours."""
    if day.opening is None:
        return ""
    return day.opening.outside(hour.start.astimezone(day.zone), hour.end.astimezone(day.zone))


def why_text(day: PracticeDay, stage: StageDay, name: str, hour: HourAdvice, span: str) -> str:
    """The whole explanation of the rating of one hour, as the day page has it: the lowest of its cells."""
    index, cells = lesson_keys().index(name), list(hour.cells)
    first = day.global_cells(cells)
    suit = Suitability(int(day.ratings.suitability[stage.index, index, first].min()))
    teach = Teaching(int(day.ratings.teaching[stage.index, index, first].min()))
    shut = outside_hours(day, hour)
    out = [
        f"{day.station.source.site.station.station}, {name}, {stage.setup.stage} ({stage.setup.title}), {span}:",
        f"  {rating_words(suit, stage.setup)}; teaching value {teach.words}",
        *([f"  School: {shut}."] if shut else ()),
        "",
    ]
    cautions = day.cautions(stage.index, index, cells)
    capping = [c for c in cautions if not c.is_note]
    if suit is Suitability.NOT_TAUGHT:
        out.append("  The lesson is not taught at this stage: that is the order of teaching, not a hazard.")
    elif not capping and suit is Suitability.SUITED:
        out.append("  No rule found anything that lowers it.")
    if bool(day.ratings.result.no_solid[stage.index, first].any()):
        out.append("  Nothing reported or prevailing covers all of this time for the stage, so it is not rated.")
    if bool(day.ratings.result.three_families[stage.index, index, first].any()):
        out.append("  Cautions of three or more families together: not above ask first.")
    for caution in cautions:
        out += [*caution_block(caution, name), ""]
    out.append("A rating is the lowest cap any caution puts on it; limits are printed as shipped, findings as used.")
    out += [textwrap.fill(line, WIDTH) for line in (*source_lines(day), *day.limits.told, *standing_lines(day))]
    return "\n".join(out) + "\n"


@click.command("why")
@click.argument("lesson_name", metavar="LESSON")
@click.argument("station")
@click.option(
    "--at", "at_text", metavar="HH:MM", help="Hour of the rating: 15:00 at the field, or 1500Z (default: now)."
)
@person_options
@field_options
@source_options
@click.option("--format", "style", type=click.Choice(("text", "json")), default="text", help="[text]")
def command(lesson_name: str, station: str, at_text: str | None, style: str, **given: Any) -> None:
    """Why LESSON is rated as it is at STATION: each rule with its value, limit, group and source."""
    name = lesson(lesson_name).key
    chosen = choices(**given)
    if len(chosen.stages) != 1:
        raise DataFileError("Say for whom with one --stage: pre-solo, solo, post-solo or commercial.")
    day, desk = load_day(station, chosen)
    when = parse_at(at_text, station_tz=day.zone, now=desk.now) if at_text else desk.now
    hour = next((h for h in day.stages[0].hours if h.start <= when < h.end), None)
    if hour is None:
        later = when + timedelta(days=1)
        example = later if day.cells_at(later) else day.made_at + timedelta(hours=12)
        raise TimeError(
            f"{both(when, day.zone)} is outside what the page covers (from {both(day.made_at, day.zone)}, 24 hours on). "
            f"With its date: --at {example.astimezone(day.zone):%Y-%m-%dT%H:%M}."
        )
    cells = list(hour.cells)
    if style == "json":
        import json

        from advisor.present.day_json import caution_json, iso

        index, setup, site = lesson_keys().index(name), day.stages[0].setup, day.station.source.site
        first = day.global_cells(cells)
        rating = Suitability(int(day.ratings.suitability[0, index, first].min()))
        body = {
            "schema": "why/1",
            "station": site.station.station,
            "made_up_demo": site.made_up,
            "made_at": iso(day.made_at),
            "do_not_use_after": iso(day.expires_at),
            "lesson": name,
            "stage": setup.stage,
            "alone": setup.alone,
            "at": f"{when:%Y-%m-%dT%H:%MZ}",
            "from": iso(hour.start),
            "to": iso(hour.end),
            "suitability": rating.words,
            "reads": rating_words(rating, setup),
            "teaching": Teaching(int(day.ratings.teaching[0, index, first].min())).words
            if rating in _ORDERED
            else None,
            "outside_hours": outside_hours(day, hour) or None,
            "cautions": [caution_json(c) for c in day.cautions(0, index, cells)],
            "sources": source_lines(day),
            "standing": standing_lines(day),
        }
        click.echo(json.dumps(body, indent=2, ensure_ascii=False))
        return
    start = hour.start.astimezone(day.zone)
    span = f"{start:%H:%M} to {local(hour.end, day.zone)} ({hour.start:%H%M}Z to {hour.end:%H%M}Z)"
    click.echo(why_text(day, day.stages[0], name, hour, span), nl=False)
