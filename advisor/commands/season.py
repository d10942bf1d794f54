"""``advisor season``: which months and hours an archive of past reports suits for each lesson."""

from __future__ import annotations

import os
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from advisor.errors import DataFileError
from advisor.limits import STAGES, stage_setup

if TYPE_CHECKING:
    from advisor.archive.counts import Counts
    from advisor.archive.report import SeasonReport
    from advisor.archive.season import Settings
    from advisor.archive.source import Part

_FORMATS = ("text", "csv", "parquet", "html", "json")
_ENDINGS = {
    ".csv": "csv",
    ".parquet": "parquet",
    ".html": "html",
    ".htm": "html",
    ".json": "json",
    ".txt": "text",
}


@click.command("season", short_help="Find the months and hours that suit each lesson.")
@click.argument("archives", nargs=-1, required=True, type=click.Path(), metavar="ARCHIVE...")
@click.option("--stations", metavar="ID[,ID...]", help="Only these stations.")
@click.option("--lesson", "lesson_names", multiple=True, help="Only this lesson; may be given again.")
@click.option("--stage", "stages", multiple=True, type=click.Choice(STAGES), help="Only this stage. [all four]")
@click.option("--school", "school_file", type=click.Path(), help="The school's own file (TOML).")
@click.option("--aircraft", "aircraft_name", help="Aircraft by name, from the school's file or the shipped ones.")
@click.option("--out", type=click.Path(dir_okay=False), help="Write to this file; its ending chooses the format.")
@click.option("--format", "style", type=click.Choice(_FORMATS), help="[text, or by the ending of --out]")
@click.option("--jobs", type=click.IntRange(min=1), help="Processes. [one for each processor]")
@click.option(
    "--scheduler",
    metavar="ADDRESS",
    help="Rate on a dask cluster; archive and --resume must be in a folder all machines see.",
)
@click.option("--resume", type=click.Path(file_okay=False), help="Keep results here, and take up an interrupted run.")
def command(
    archives: tuple[str, ...],
    stations: str | None,
    lesson_names: tuple[str, ...],
    stages: tuple[str, ...],
    school_file: str | None,
    aircraft_name: str | None,
    out: str | None,
    style: str | None,
    jobs: int | None,
    scheduler: str | None,
    resume: str | None,
) -> None:
    """How often did each lesson suit, by month and local hour, over years of past reports?

    ARCHIVE is CSV (plain or .gz) or Parquet with columns station,time,raw or station,valid,metar, times in UTC, as
    public archives and "advisor store export" give them. This describes past reports; your instructor decides.

    \b
    Examples:
      advisor season kbdu.csv --lesson turns-around-a-point --stage pre-solo
      advisor season reports-*.parquet --out season.html --resume work
    """
    from advisor.archive.report import SeasonReport
    from advisor.archive.season import lesson_names as known_lessons
    from advisor.lessons import lesson

    style = _style(style, out)
    keys = known_lessons()
    wanted = tuple(dict.fromkeys(keys.index(lesson(name.strip().lower()).key) for name in lesson_names))
    settings, notes = _settings(stations, stages, school_file, aircraft_name)
    if resume is not None:
        counts = _count(archives, settings, Path(resume), jobs, scheduler)
    else:
        with tempfile.TemporaryDirectory(prefix="advisor-season-", ignore_cleanup_errors=True) as folder:
            counts = _count(archives, settings, Path(folder), jobs, scheduler)
    report = SeasonReport(counts, settings.setups, wanted or tuple(range(len(keys))), notes)
    if not counts.fates["counted"]:
        raise DataFileError(" ".join(["No daylight hour of a known station could be rated.", *report.told()]))
    _write(report, style, out)


def _style(style: str | None, out: str | None) -> str:
    ending = Path(out).suffix.lower() if out is not None else ".txt"
    chosen = style or _ENDINGS.get(ending)
    if chosen is None:
        raise DataFileError(f"The ending of {out} names no format. Add --format with one of {', '.join(_FORMATS)}.")
    if chosen == "parquet" and out is None:
        raise DataFileError("Parquet is not for the screen. Add --out FILE.parquet.")
    return chosen


def _settings(
    stations: str | None, stages: tuple[str, ...], school_file: str | None, aircraft_name: str | None
) -> tuple[Settings, tuple[str, ...]]:
    from advisor.archive.season import Settings
    from advisor.commands.common import school_changes
    from advisor.prepare import pick_aircraft
    from advisor.school import load_school

    now = datetime.now(UTC)
    school = load_school(Path(school_file), when=now) if school_file is not None else None
    aircraft = pick_aircraft(aircraft_name, school)
    setups = tuple(stage_setup(stage) for stage in dict.fromkeys(stages or STAGES))
    only = tuple(dict.fromkeys(s.strip().upper() for s in (stations or "").split(",") if s.strip()))
    ground: dict[str, float] = {}
    if school is not None:
        for record in school.stations:
            areas = school.areas_for(record.station.station)
            if areas:
                ground[record.station.station] = max(a.ground_elevation_ft for a in areas)
    notes = [
        aircraft.assumption(),
        "Runways are those of today's data; closures and other runways of the past are not known.",
    ]
    if school is not None:
        notes += [f"School: {school.name}.", *school.notes]
        if school.opening_hours is not None:
            notes.append("Every hour of daylight is counted, also those in which the school is closed.")
    return (
        Settings(
            setups,
            aircraft,
            school_changes(school),
            school.stations if school is not None else (),
            tuple(sorted(ground.items())),
            only,
        ),
        tuple(notes),
    )


def _count(
    archives: tuple[str, ...], settings: Settings, work: Path, jobs: int | None, scheduler: str | None
) -> Counts:
    from advisor.archive.run import run_season
    from advisor.archive.source import prepare

    jobs = jobs or os.cpu_count() or 1
    click.echo("Reading the archive ...", err=True)
    parts = prepare(archives, work, threads=jobs)
    total = sum(part.n_rows for part in parts)
    with click.progressbar(
        length=max(total, 1), label=f"Rating {total:,} reports", file=sys.stderr, show_eta=True, show_pos=True
    ) as bar:

        def done(part: Part, _found: bool) -> None:
            bar.update(part.n_rows)

        if scheduler is not None:
            from advisor.archive.cluster import rate_on_cluster

            return rate_on_cluster(parts, settings, scheduler, report=done)
        return run_season(parts, settings, work, jobs=jobs, report=done)


def _write(report: SeasonReport, style: str, out: str | None) -> None:
    from advisor.present.files import write_atomic

    if style in ("csv", "parquet"):
        from advisor.archive.export import write_csv, write_table

        if out is None:
            write_csv(report, sys.stdout)
            return
        write_table(report, Path(out), parquet=style == "parquet")
    else:
        text = _text(report, style)
        if out is None:
            click.echo(text, nl=False)
            return
        write_atomic(out, text)
    click.echo(f"Written: {out}", err=True)


def _text(report: SeasonReport, style: str) -> str:
    if style == "json":
        from advisor.present.season_json import season_json

        return season_json(report)
    if style == "html":
        from advisor.present.season_page import season_html

        return season_html(report)
    from advisor.present.season_text import season_text

    return season_text(report)
