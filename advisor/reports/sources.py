"""Four ways to come by reports: live, from the store, from a text, or the made-up demo.

Whatever the way, the caller gets the same thing: raw reports with their own times, newest first, and plain
sentences on what failed and what was served in its place, with its real age.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from advisor.errors import AdvisorError, DataFileError, UnknownStation, WrongReport
from advisor.records import dataclass
from advisor.reports.framing import UNKNOWN, split_reports
from advisor.reports.gathered import (
    OLDEST,
    Gathered,
    StationReports,
    StoredReport,
    named,
    newest_first,
    recent,
)
from advisor.reports.identity import METAR, WINDS_ALOFT, clean, identify, resolve, station_id

if TYPE_CHECKING:
    from advisor.reports.fetch import Service
    from advisor.reports.store import Store

__all__ = ["DEMO", "LIVE", "OFFLINE", "TEXT", "Gathered", "StationReports", "gather"]

LIVE, OFFLINE, TEXT, DEMO = "live", "offline", "text", "demo"
DEMO_FOLDER = Path(__file__).resolve().parent.parent / "data" / "demo"


def gather(
    stations: Iterable[str],
    *,
    now: datetime | None,
    mode: str = LIVE,
    store: Store | None = None,
    service: Service | None = None,
    text: str | None = None,
    aloft: Sequence[tuple[str, str, str]] = (),
    demo_folder: Path = DEMO_FOLDER,
    lenders: Sequence[str] = (),
) -> Gathered:
    """Reports for the stations, in one of four ways.

    Parameters
    ----------
    stations : iterable of str
        Identifiers. For ``text`` and ``demo`` none means every station there.
    now : datetime
        Aware UTC. ``None`` is for the demo only: its own clock.
    mode : str
        ``live``: the service, then the gateway's files, then the store. ``offline``: the store only.
        ``text``: the ``text`` given. ``demo``: the made-up reports that come with the package.
    store : Store, optional
        Where reports are kept; needed for ``offline``.
    service : Service, optional
        Needed for ``live``.
    text : str, optional
        Needed for ``text``.
    aloft : sequence of (region, level, cycle)
        Winds-aloft bulletins wanted, for ``live`` and ``offline``.
    lenders : sequence of str
        Stations that may serve instead: a ``text`` that holds one of them is not of the wrong station.

    Raises
    ------
    UnknownStation
        For a malformed identifier, or one the demo does not have.
    WrongReport
        When a text holds no report, or none of a station asked for.
    DataFileError
        When the demo's files are missing or wrong.

    A fault of the network or the store raises nothing: see ``Gathered.notes``.
    """
    ids = tuple(dict.fromkeys(station_id(s) for s in stations))
    if mode == DEMO:
        return _demo(ids, now, demo_folder)
    if now is None or now.tzinfo is None:
        raise AdvisorError("A present time with a time zone is needed to judge the age of reports.")
    if mode == TEXT and text is not None:
        return _from_text(ids, text, now, lenders)
    if mode == OFFLINE and store is not None:
        from advisor.reports.live import from_store

        return from_store(ids, now, store, aloft)
    if mode == LIVE and service is not None:
        from advisor.reports.live import from_service

        return from_service(ids, now, store, service, aloft)
    raise AdvisorError(f"Reports cannot be had the way {mode!r} with what was given.")


def aloft_region(station: str) -> str | None:
    """Winds-aloft region whose bulletin covers a station: the whole contiguous US, Alaska, Hawaii or the
    western Pacific; ``None`` elsewhere (the bulletin is a US product)."""
    for start, region in (("K", "us"), ("PA", "alaska"), ("PH", "hawaii"), ("P", "other_pac")):
        if station.startswith(start):
            return region
    return None


def demo_now(folder: Path = DEMO_FOLDER) -> datetime:
    """The demo's own clock. Raises DataFileError when demo.toml lacks it."""
    import tomllib

    path = folder / "demo.toml"
    try:
        found = tomllib.loads(path.read_text("utf-8")).get("now")
    except (OSError, ValueError) as error:
        raise DataFileError(f"The demo's clock could not be read from {path} ({error}). Reinstall.") from error
    if not isinstance(found, datetime) or found.tzinfo is None:
        raise DataFileError(f"{path}: now must be a time with Z, such as 2026-04-25T13:05:00Z.")
    return found.astimezone(UTC)


def demo_stations(folder: Path = DEMO_FOLDER) -> tuple[str, ...]:
    """Stations the demo has reports of, sorted."""
    return tuple(sorted(_sort(_demo_text(folder), demo_now(folder), DEMO).stations))


@dataclass(slots=True)
class _Sorted:
    """The reports of a text by kind and station, newest first."""

    metars: dict[str, list[StoredReport]]
    tafs: dict[str, list[StoredReport]]
    aloft: list[StoredReport]
    unread: list[str]

    @property
    def stations(self) -> list[str]:
        return list(dict.fromkeys((*self.metars, *self.tafs)))


def _sort(text: str, now: datetime, source: str) -> _Sorted:
    out = _Sorted({}, {}, [], [])
    for each in split_reports(text):
        who = identify(each.text if each.kind == WINDS_ALOFT else clean(each.text).upper())
        when = resolve(who.day_time, each.date_hint or now) if who and who.day_time else None
        if who is None or each.kind == UNKNOWN:
            out.unread.append(clean(each.text))
            continue
        kept = StoredReport(who.station, who.kind, each.text, when, now, now, source)
        if who.kind == WINDS_ALOFT:
            out.aloft.append(kept)
        else:
            (out.metars if who.kind == METAR else out.tafs).setdefault(who.station, []).append(kept)
    for by_station in (out.metars, out.tafs):
        for station, reports in by_station.items():
            by_station[station] = list(newest_first(reports))
    return out


def _from_text(ids: tuple[str, ...], text: str, now: datetime, lenders: Sequence[str]) -> Gathered:
    found = _sort(text, now, TEXT)
    there = found.stations
    if not there and not found.unread and not found.aloft:
        raise WrongReport("The text holds no report: it is empty. Give METAR or TAF lines as they are issued.")
    lacking = [i for i in ids if i not in there]
    if ids and there and len(lacking) == len(ids) and not set(lenders).intersection(there):
        raise WrongReport(
            f"The text holds reports of {named(there)}, not of {named(ids)}. Ask for the station it is from, "
            "or give the right text."
        )
    stations = {
        i: StationReports(i, tuple(found.metars.get(i, ())), next(iter(found.tafs.get(i, ())), None))
        for i in dict.fromkeys((*ids, *there))
    }
    notes = (f"The text holds no report of {named(lacking)}.",) if lacking and there else ()
    return Gathered(TEXT, now, stations, tuple(found.aloft), notes, tuple(found.unread))


def _demo(ids: tuple[str, ...], now: datetime | None, folder: Path) -> Gathered:
    """The demo's reports as they would stand at ``now``: its day goes on as its clock is moved."""
    now = now or demo_now(folder)
    found = _sort(_demo_text(folder), now, DEMO)
    unknown = [i for i in ids if i not in found.stations]
    if unknown:
        raise UnknownStation(
            f"The demo has no {named(unknown)}: it has {', '.join(sorted(found.stations))}, all made up."
        )
    stations = {
        i: StationReports(
            i,
            recent(_issued(found.metars.get(i, []), now), now),
            next(iter(_issued(found.tafs.get(i, []), now)), None),
        )
        for i in ids or sorted(found.stations)
    }
    return Gathered(DEMO, now, stations, tuple(_issued(found.aloft, now)), (), tuple(found.unread))


def _issued(reports: list[StoredReport], now: datetime) -> list[StoredReport]:
    return [r for r in reports if r.time is not None and now - OLDEST[r.kind] < r.time <= now]


def _demo_text(folder: Path) -> str:
    try:
        text = (folder / "reports.txt").read_text("utf-8")
        winds = folder / "winds_aloft.txt"
        return text + "\n\n" + winds.read_text("utf-8") if winds.exists() else text
    except (OSError, ValueError) as error:
        raise DataFileError(f"The demo's reports could not be read from {folder} ({error}). Reinstall.") from error
