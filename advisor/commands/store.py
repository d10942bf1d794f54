"""``advisor store``: show, hand on and prune the reports kept on disk."""

from __future__ import annotations

import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from advisor.commands.given import Number
from advisor.errors import StoreError, TimeError, UnknownStation

if TYPE_CHECKING:
    from advisor.reports.store import Store

APP_NAME = "practice-day-advisor"


def open_store(folder: Path | None = None) -> Store:
    """The store of this user: the folder given, else ADVISOR_STORE, else the usual place for program data."""
    from advisor.reports.store import Store

    return Store(click.get_app_dir(APP_NAME)) if folder is None else Store(folder, from_environment=False)


folder_option = click.option(
    "--store",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=None,
    help="Folder of the store; otherwise ADVISOR_STORE, else the usual place for program data.",
)


@click.group("store", short_help="Show or prune the reports kept on disk.")
def command() -> None:
    """Every fetched report is kept, so that the last one can be served when the network fails.

    The age of a report is always judged from its own time, never from when it was fetched.
    """


@command.command("show")
@click.argument("station", required=False)
@click.option("--hours", type=Number(min=0, max=100_000), default=6.0, help="With STATION: how far back. [6]")
@folder_option
def show(station: str | None, hours: float, folder: Path | None) -> None:
    """Say what is kept; with STATION, print its reports of the last hours, newest first.

    \b
    Examples:
      advisor store show
      advisor store show KBDU --hours 24
    """
    store, now = open_store(folder), datetime.now(UTC)
    if station is None:
        _show_all(store, now)
    else:
        _show_station(store, station, hours, now)
    for fault in store.faults:
        click.echo(fault, err=True)


@command.command("export")
@click.argument("stations", nargs=-1, metavar="[STATION]...")
@click.option("--days", type=Number(min=0, max=100_000), default=None, help="Only this far back.")
@click.option(
    "--output",
    "-o",
    type=click.Path(path_type=Path, dir_okay=False),
    default=None,
    help="Write here instead of standard output.",
)
@folder_option
def export(stations: tuple[str, ...], days: float | None, output: Path | None, folder: Path | None) -> None:
    """Write kept observations as CSV (station,time,raw), the layout of the public archives.

    \b
    Example:
      advisor store export KBDU --days 30 -o kbdu.csv
    """
    store = open_store(folder)
    since = None if days is None else datetime.now(UTC) - timedelta(days=days)
    if output is None:
        store.export(sys.stdout, stations, since)
        return
    try:
        with output.open("w", encoding="utf-8", newline="") as handle:
            count = store.export(handle, stations, since)
    except OSError as error:
        raise StoreError(f"{output} cannot be written: {error.strerror or error}. Give another name.") from error
    click.echo(f"Wrote {count:,} reports to {output}.")


@command.command("prune")
@click.option("--days", type=Number(min=0, max=100_000), default=None, help="Drop reports older than this.")
@click.option("--megabytes", type=Number(min=0), default=None, help="Drop the oldest until this size. [64]")
@folder_option
def prune(days: float | None, megabytes: float | None, folder: Path | None) -> None:
    """Drop old reports, oldest first, and damaged files set aside.

    \b
    Example:
      advisor store prune --days 90
    """
    store = open_store(folder)
    before = None if days is None else datetime.now(UTC) - timedelta(days=days)
    gone = store.prune(before=before, max_bytes=None if megabytes is None else int(megabytes * 1e6))
    left = store.summary()
    kept = sum(count for _, _, count, _, _ in left.rows)
    click.echo(f"Dropped {gone:,} reports; {kept:,} are kept in {left.folder} ({left.bytes / 1e6:.1f} MB).")


def _show_all(store: Store, now: datetime) -> None:
    from advisor.reports.gathered import in_words

    held = store.summary()
    click.echo(f"Store: {held.folder} ({held.bytes / 1e6:.1f} MB of at most {held.max_bytes / 1e6:.0f} MB)")
    if not held.rows:
        click.echo("Nothing is kept yet. Reports are kept as they are fetched.")
    else:
        click.echo(f"{'station':<12} {'kind':<12} {'reports':>8}  {'oldest':<17} {'newest':<17} age of the newest")
    for station, kind, count, first, last in held.rows:
        click.echo(
            f"{station:<12} {kind:<12} {count:>8,}  {first:%Y-%m-%d %H%MZ}  {last:%Y-%m-%d %H%MZ}  "
            f"{in_words(now - last)}"
        )
    for path in held.damaged:
        click.echo(f"A damaged file is set aside: {path}. Prune removes it.")


def _show_station(store: Store, station: str, hours: float, now: datetime) -> None:
    from advisor.reports.gathered import in_words
    from advisor.reports.identity import METAR, TAF

    since = now - timedelta(hours=hours)
    reports = [r for kind in (METAR, TAF) for r in store.history(station, since, kind=kind)]
    if not reports:
        last = store.latest_metar(station)
        older = f" The last METAR kept is {in_words(now - last.time)} old." if last and last.time else ""
        raise StoreError(f"No report of {station.upper()[:8]} of the last {hours:g} hours is kept.{older}")
    for report in reports:
        if report.time is not None:
            click.echo(f"{_when(report.time, report.station)}, {in_words(now - report.time)} old, {report.source}")
            click.echo(f"  {report.raw}")


def _when(when: datetime, station: str) -> str:
    """Local time at the station with Z beside it; Z alone where the station's time zone is not known."""
    from advisor.clock import both_with_day, zone
    from advisor.places.stations import find_station

    try:
        return both_with_day(when, zone(find_station(station).time_zone))
    except (UnknownStation, TimeError):
        return f"{when:%Y-%m-%d %H%M}Z"
