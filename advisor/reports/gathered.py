"""Raw reports as they are handed on, wherever they came from: with their own time, source and age."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field
from datetime import UTC, datetime, timedelta
from typing import Any

from advisor.records import dataclass
from advisor.reports.identity import METAR, TAF, WINDS_ALOFT

HISTORY = timedelta(hours=6)
#: Older reports are not served at all: past half a month the day in a report would even be read as another.
OLDEST = {METAR: timedelta(hours=24), TAF: timedelta(hours=36), WINDS_ALOFT: timedelta(hours=30)}


@dataclass(frozen=True, slots=True)
class StoredReport:
    """One report with its own time and where it came from.

    ``time`` is the report's own UTC time (``None`` only for a text that carries none, which the store does
    not keep); ``fetched_at`` when it was first fetched, ``seen_at`` when it was last. Age is ``now - time``.
    ``source`` is service, gateway, text or demo.
    """

    station: str
    kind: str
    raw: str
    time: datetime | None
    fetched_at: datetime
    seen_at: datetime
    source: str


@dataclass(frozen=True, slots=True)
class StationReports:
    """Raw reports of one station: ``metars`` of the last hours newest first (the first may be older when it
    is the last there is), ``taf`` the newest forecast. ``record`` is the service's JSON for the first METAR
    when it came live (for ``fetch.cross_check``), else empty. Decode with ``observed_near=report.time``."""

    station: str
    metars: tuple[StoredReport, ...] = ()
    taf: StoredReport | None = None
    record: Mapping[str, Any] = field(default_factory=dict)

    @property
    def latest(self) -> StoredReport | None:
        """The newest METAR."""
        return self.metars[0] if self.metars else None


@dataclass(frozen=True, slots=True)
class Gathered:
    """What could be had. ``stations`` holds every station asked for, in that order, then any other found in
    the text. ``aloft`` are winds-aloft bulletins, lines as sent. ``unread`` are pieces of a text that are no
    report. ``notes`` are sentences for the page; empty when all went well."""

    mode: str
    now: datetime
    stations: dict[str, StationReports]
    aloft: tuple[StoredReport, ...] = ()
    notes: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()


def in_words(age: timedelta) -> str:
    """An age for a sentence: ``72 minutes``, ``5 h 10 min``, ``3 days``."""
    minutes = int(age.total_seconds() // 60)
    if minutes < 0:
        return f"{-minutes} minutes ahead"
    if minutes < 120:
        return f"{minutes} minute{'' if minutes == 1 else 's'}"
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes < 48 * 60 else f"{minutes // 1440} days"


def timed(report: StoredReport) -> datetime:
    """Key to sort by: a report without a time counts as older than any other."""
    return report.time or datetime.min.replace(tzinfo=UTC)


def same_text(raw: str) -> str:
    """A report without its leading word, which one service writes and another leaves out."""
    first, _, rest = raw.partition(" ")
    return rest if first in ("METAR", "SPECI", "TAF") else raw


def named(ids: Iterable[str], limit: int = 5) -> str:
    """A few identifiers for a sentence: ``KAAA, KBBB and 7 more``."""
    every = list(dict.fromkeys(ids))
    more = f" and {len(every) - limit} more" if len(every) > limit else ""
    return ", ".join(every[:limit]) + more


def newest_first(reports: Sequence[StoredReport]) -> tuple[StoredReport, ...]:
    """Sorted by the reports' own times; of one time, the order given."""
    return tuple(sorted(reports, key=timed, reverse=True))


def recent(metars: Sequence[StoredReport], now: datetime) -> tuple[StoredReport, ...]:
    """Those of the last ``HISTORY``; when there are none, the newest there is. Takes them newest first."""
    inside = tuple(m for m in metars if timed(m) >= now - HISTORY)
    return inside or tuple(metars[:1])
