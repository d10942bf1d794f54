"""``advisor morning``: the dispatch desk's posting for one field or for hundreds."""

from __future__ import annotations

import json
import signal
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from types import FrameType
from typing import Any

import click

from advisor.advice import PracticeDay, bare_days
from advisor.commands.common import (
    Choices,
    Desk,
    choices,
    clock_now,
    open_desk,
    read_input,
    source_options,
)
from advisor.commands.store import open_store
from advisor.conditions import StationInput
from advisor.demo import is_demo_station, load_demo
from advisor.errors import AdvisorError, DataFileError, WrongReport
from advisor.morning import MorningSummary, Unserved, summarise
from advisor.morning.changes import LAST_POSTING
from advisor.places import find_station
from advisor.prepare import pick_aircraft
from advisor.records import dataclass
from advisor.reports.framing import split_reports
from advisor.reports.identity import identify
from advisor.school import School, load_school

#: With more fields than this the neighbours of each are not asked for: the fields lend to each other.
MOST_WITH_NEIGHBOURS = 20
#: Lesson cards are drawn for this many fields; each takes longer than its page.
MOST_WITH_CARDS = 20
_MAX_PREVIOUS_BYTES = 64_000_000


class Minutes(click.ParamType):  # type: ignore[type-arg,unused-ignore]
    """A length of time such as 2h, 90m or 1h30m; a bare number is minutes."""

    name = "length"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """Minutes, 30 to 720."""
        if isinstance(value, int):
            return value
        text = str(value).strip().lower()
        hours, found, rest = text.partition("h")
        if not found:
            hours, rest = "0", text
        rest = rest.removesuffix("min").removesuffix("m") or "0"
        if not (hours.isdecimal() and rest.isdecimal()):
            self.fail(f"{value!r} is not a length; write 2h, 90m or 1h30m.", param, ctx)
        minutes = int(hours) * 60 + int(rest)
        if not 30 <= minutes <= 720:
            self.fail(f"{value!r} is not between 30 minutes and 12 hours.", param, ctx)
        return minutes


@dataclass(frozen=True, slots=True)
class Wanted:
    """What one posting is asked to be."""

    stations: tuple[str, ...]
    chosen: Choices
    posted_by: str
    block_min: int
    every_min: int | None


@click.command("morning")
@click.argument("stations", nargs=-1, metavar="[STATION]...")
@click.option(
    "--school", "school_file", type=click.Path(), help="The school's own file (TOML); its fields are the default."
)
@click.option("--aircraft", "aircraft_name", help="Aircraft by name, from the school's file or the shipped ones.")
@source_options
@click.option("--out", type=click.Path(file_okay=False), help="Write a small web site into this folder, all at once.")
@click.option(
    "--every", type=click.IntRange(1, 1440), metavar="MINUTES", help="Post again and again until Ctrl-C or SIGTERM."
)
@click.option("--posted-by", default="", metavar="NAME", help="Who posts it.")
@click.option("--blocks", type=Minutes(), default="2h", metavar="LENGTH", help="Length of a lesson block. [2h]")
@click.option(
    "--cards/--no-cards", default=None, help=f"Lesson cards in the site. [for up to {MOST_WITH_CARDS} fields]"
)
@click.option("--format", "style", type=click.Choice(("text", "json", "csv", "html")), default="text", help="[text]")
@click.option("--units", type=click.Choice(("us", "metric")), default="us", help="Heights. [us]")
def command(
    stations: tuple[str, ...],
    out: str | None,
    every: int | None,
    posted_by: str,
    blocks: int,
    cards: bool | None,
    style: str,
    units: str,
    **given: Any,
) -> int:
    """Post the day for every field the school uses, worst field first.

    Without STATION: every field of the school's file, of the demo, or of the reports in --from-file.
    """
    chosen = choices(**given)
    if every is not None and chosen.from_file == "-":
        raise click.UsageError(
            "--every reads its reports again each time; give --from-file a file, not standard input."
        )
    name = "".join(c for c in posted_by if c.isprintable()).strip()[:80]
    fields = fields_wanted(stations, chosen)
    if chosen.from_file is None and all(is_demo_station(s) for s in fields):
        chosen.demo = True  # its fields exist nowhere else, and its clock goes with them
    wanted = Wanted(fields, chosen, name, blocks, every)

    def once(now_text: str | None) -> MorningSummary:
        asked = replace(wanted, chosen=replace(chosen, now_text=now_text))
        return _round(asked, out, style, units, cards, quiet=every is not None and out is not None)

    if every is None:
        return 0 if once(chosen.now_text).stations else 1
    return _repeat(once, every, chosen)


def fields_wanted(stations: Sequence[str], chosen: Choices) -> tuple[str, ...]:
    """Identifiers to post: those named, else the school's, the demo's or those of the reports given.

    Raises
    ------
    AdvisorError
        There is nothing to take them from.
    """
    if stations:
        return tuple(dict.fromkeys(s.strip().upper() for s in stations))
    if chosen.school_file is not None:
        school = load_school(Path(chosen.school_file), when=clock_now(chosen.now_text))
        found = tuple(f.station.station for f in school.stations)
        if not found:
            raise DataFileError(f"{chosen.school_file} describes no field. Add [[stations]], or name STATION.")
        return found
    if chosen.demo:
        return load_demo().stations
    if chosen.from_file is not None and chosen.from_file != "-":
        named = (identify(x.text) for x in split_reports(read_input(chosen.from_file)))
        found = tuple(dict.fromkeys(x.station for x in named if x is not None and len(x.station) == 4))
        if found:
            return found
        raise WrongReport(
            f"{chosen.from_file} holds no report of a station. Give METAR or TAF lines as they are issued, or name STATION."
        )
    raise click.UsageError("Name at least one STATION, or give --school FILE or --demo.")


def posting(
    wanted: Wanted, previous: Mapping[str, Any] | None = None, notes: Sequence[str] = ()
) -> tuple[MorningSummary, Desk | None]:
    """One posting, and the desk behind it (``None`` when no report could be had at all).

    Every field fails on its own: its sentence stands in ``unserved`` and the others are posted.
    """
    chosen = wanted.chosen
    school, unserved, good = _known_fields(wanted)
    desk: Desk | None = None
    inputs: list[StationInput] = []
    if good:
        try:
            desk = open_desk(tuple(good), chosen, neighbours=len(good) <= MOST_WITH_NEIGHBOURS)
        except DataFileError:
            raise
        except AdvisorError as error:
            unserved += [Unserved(s, str(error)) for s in good]
    if desk is not None:
        school = desk.school
        for s in good:
            try:
                inputs.append(desk.input_of(s))
            except AdvisorError as error:
                unserved.append(Unserved(s, str(error)))
    now = desk.now if desk is not None else _now(chosen)
    days = _days(inputs, desk, wanted) if desk is not None and inputs else []
    for source in (d.station.source for d in days):
        # sentences about the whole gathering stand once on the posting, not under every field
        source.notes = tuple(n for n in source.notes if desk is None or n not in desk.gathered.notes)
    told = (*notes, *(desk.gathered.notes if desk is not None else ()))
    summary = summarise(
        days,
        now=now,
        school=school,
        unserved=unserved,
        posted_by=wanted.posted_by,
        block_min=wanted.block_min,
        every_min=wanted.every_min,
        previous=previous,
        notes=told,
    )
    return summary, desk


def _now(chosen: Choices) -> datetime:
    return clock_now(chosen.now_text, load_demo().now if chosen.demo else None)


def _known_fields(wanted: Wanted) -> tuple[School | None, list[Unserved], list[str]]:
    """The school, fields that are not known with their sentence, and the others."""
    chosen = wanted.chosen
    school = None
    if chosen.school_file is not None:
        school = load_school(Path(chosen.school_file), when=_now(chosen))
    elif chosen.demo:
        school = load_demo().school
    records = school.stations if school is not None else ()
    unserved, good, demo = [], [], []
    for s in wanted.stations:
        try:
            if school is None and is_demo_station(s):
                demo.append(s)
                continue
            find_station(s, records)
            good.append(s)
        except AdvisorError as error:
            unserved.append(Unserved(s, str(error)))
    if not good:
        return school, unserved, demo
    mixed = "is a made-up field of the demonstration and is not posted with real ones. Ask for it alone."
    return school, [*unserved, *(Unserved(s, f"{s} {mixed}") for s in demo)], good


def _days(inputs: list[StationInput], desk: Desk, wanted: Wanted) -> list[PracticeDay]:
    return bare_days(
        inputs,
        desk.setups,
        pick_aircraft(wanted.chosen.aircraft_name, desk.school),
        changes=desk.changes,
        opening=desk.opening,
        lesson_min=desk.lesson_min,
    )


def _previous_file(out: str | None, wanted: Wanted) -> Path | None:
    """Where the last posting lies: in the site, else beside the stored reports; a demo or a text leaves none."""
    if out is not None:
        return Path(out) / "morning.json"
    if wanted.chosen.demo or wanted.chosen.from_file is not None:
        return None
    return open_store().folder / LAST_POSTING


def read_previous(path: Path | None) -> tuple[Mapping[str, Any] | None, str]:
    """The last posting's JSON, or ``None``; a sentence when it is there and cannot be read. Never raises."""
    if path is None or not path.exists():
        return None, ""
    data = _kept_beside(path) or _object_in(path)
    if data is not None:
        return data, ""
    return None, f"The last posting on file ({path.name}) could not be read; no changes are listed."


def _kept_beside(path: Path) -> dict[str, Any] | None:
    """What is compared of a site's posting, when it was written with that posting: the size of the whole tells."""
    short = path.with_name(LAST_POSTING)
    if path == short or not short.exists():
        return None
    data = _object_in(short)
    try:
        return data if data is not None and data.get("of_bytes") == path.stat().st_size else None
    except OSError:
        return None


def _object_in(path: Path) -> dict[str, Any] | None:
    """A JSON object from a file; ``None`` when there is none to be read."""
    try:
        with path.open("rb") as handle:
            data = json.loads(handle.read(_MAX_PREVIOUS_BYTES))
    except (OSError, ValueError, RecursionError):
        return None
    return data if isinstance(data, dict) else None


def _round(
    wanted: Wanted, out: str | None, style: str, units: str, cards: bool | None, *, quiet: bool
) -> MorningSummary:
    path = _previous_file(out, wanted)
    previous, why = read_previous(path)
    summary, desk = posting(wanted, previous, (why,) if why else ())
    if out is not None:
        from advisor.present.site import write_site

        drawn = cards if cards is not None else len(summary.stations) <= MOST_WITH_CARDS
        written = write_site(out, summary, units=units, school=desk.school if desk is not None else None, cards=drawn)
        if not quiet:
            click.echo(f"Posted: {written.pages} pages in {out}", err=True)
            if style in written.files:
                click.echo(written.files[style].read_text("utf-8"), nl=False)
                return summary
    elif path is not None:
        _remember(path, summary)
    if not quiet:
        click.echo(_shown(summary, style, units), nl=False)
    return summary


def _remember(path: Path, summary: MorningSummary) -> None:
    """Keep of the posting what the next one is compared with; a full disk is no reason not to post."""
    from advisor.present.files import write_atomic
    from advisor.present.morning_kept import kept_text

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_atomic(path, kept_text(summary))
    except (OSError, DataFileError) as error:
        click.echo(f"advisor: the posting was not kept to compare the next one with: {error}", err=True)


def _shown(summary: MorningSummary, style: str, units: str) -> str:
    if style == "json":
        from advisor.present.morning_json import morning_json_text

        return morning_json_text(summary)
    if style == "csv":
        from advisor.present.morning_json import morning_csv

        return morning_csv(summary)
    if style == "html":
        from advisor.present.morning_page import morning_html

        return morning_html(summary, units=units)
    from advisor.present.morning_text import morning_text

    return morning_text(summary, units=units)


def _repeat(once: Callable[[str | None], MorningSummary], every_min: int, chosen: Choices) -> int:
    """Post, wait, post again until asked to stop; a posting in hand is finished first."""
    stop = threading.Event()

    def ask(_signal: int, _frame: FrameType | None) -> None:
        stop.set()

    before = {s: signal.signal(s, ask) for s in (signal.SIGTERM, signal.SIGINT)}
    begun, start = time.monotonic(), _now(chosen)
    moving = chosen.now_text is not None or chosen.demo
    served = False
    try:
        while not stop.is_set():
            passed = time.monotonic() - begun
            now = start + timedelta(seconds=int(passed)) if moving else clock_now(None)
            try:
                summary = once(now.isoformat())
                served = bool(summary.stations)
                missing = f", {len(summary.unserved)} without" if summary.unserved else ""
                count = len(summary.stations)
                fields = f"{count} field{'' if count == 1 else 's'} posted{missing}"
                click.echo(f"{now:%d %H%M}Z: {fields}; next in {every_min} min", err=True)
            except AdvisorError as error:
                click.echo(f"{now:%d %H%M}Z: not posted, the last posting stands: {error}", err=True)
            took = time.monotonic() - begun - passed
            stop.wait(max(1.0, every_min * 60 - took))
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
    click.echo("Stopped between postings.", err=True)
    return 0 if served else 1
