"""The store: every fetched report kept on disk, so that nothing is lost when the network is.

A store that cannot be written or read never stops an answer: what happened is added to ``Store.faults`` as a
sentence for the user.
"""

from __future__ import annotations

import csv
import os
import sqlite3
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TextIO, TypeVar

from advisor.errors import StoreError
from advisor.records import dataclass
from advisor.reports.gathered import StoredReport
from advisor.reports.identity import METAR, TAF, WINDS_ALOFT, clean, identify, own_time, station_id
from advisor.reports.store_file import COLUMNS, VALUES, Row, Use, current, drop_oldest, set_aside, use_file

__all__ = ["METAR", "TAF", "WINDS_ALOFT", "Store", "StoreSummary", "StoredReport", "own_time"]

T = TypeVar("T")

DEFAULT_MAX_BYTES = 64_000_000
#: How far ahead of ``now`` a report's own time may lie (a station's clock) and still be served.
CLOCK_SLACK = timedelta(minutes=10)
_EVER = 2**60
_IDS_A_QUERY = 400  # below SQLite's limit on parameters
# The newest time counts; of two reports for one time the one that came later, then the correction.
_NEWEST = "time DESC, fetched DESC, instr(' ' || body, ' COR ') > 0 DESC"


@dataclass(frozen=True, slots=True)
class StoreSummary:
    """What the store holds: one row a station and kind (station, kind, count, first, last), and its size.
    ``damaged`` are files set aside, still on disk."""

    folder: Path
    rows: tuple[tuple[str, str, int, datetime, datetime], ...]
    bytes: int
    max_bytes: int
    damaged: tuple[Path, ...]


class Store:
    """Reports on disk.

    Parameters
    ----------
    folder : path, optional
        Where to keep them; made when first written to.
    max_bytes : int
        Size bound; the oldest reports go first.
    from_environment : bool
        ADVISOR_STORE, when set, takes the place of ``folder``.

    Attributes
    ----------
    faults : list of str
        Sentences on what went wrong so far, for the user.
    """

    def __init__(
        self,
        folder: str | os.PathLike[str] | None = None,
        max_bytes: int = DEFAULT_MAX_BYTES,
        *,
        from_environment: bool = True,
    ) -> None:
        chosen = (os.environ.get("ADVISOR_STORE") if from_environment else None) or folder
        if not chosen:
            raise StoreError("No folder was given for the store of reports. Set ADVISOR_STORE to a folder.")
        self.folder = Path(chosen).expanduser()
        self.max_bytes = max_bytes
        self.faults: list[str] = []

    @property
    def path(self) -> Path:
        """The file in use."""
        return current(self.folder)

    # -- writing ---------------------------------------------------------------------------------------

    def put(self, reports: Iterable[tuple[str, datetime | None]], *, now: datetime, source: str) -> int:
        """Keep METAR and TAF texts; one already kept is only marked as seen again.

        Parameters
        ----------
        reports : iterable of (raw, time)
            Raw text, and its own time where the month is settled; ``None`` takes the time in the text
            nearest to ``now``.
        now : datetime
            When they were fetched, UTC.
        source : str
            Where from: service, gateway or text.

        Returns
        -------
        int
            How many were new. A report without a station or a time is not kept, and said. Never raises: a
            write that fails is a sentence in ``faults``.
        """
        rows, unusable = [], 0
        for raw, settled in reports:
            text = clean(raw)
            who = identify(text)
            when = settled or (own_time(text, now) if who else None)
            if who is None or when is None or not who.station:
                unusable += 1
                continue
            first, _, rest = text.partition(" ")
            word, body = (first, rest) if first in ("METAR", "SPECI", "TAF") else ("", text)
            rows.append((who.station, who.kind, _seconds(when), body, word, _seconds(now), _seconds(now), source))
        if unusable:
            self._say(f"{unusable} of the reports could not be kept: no station or no time was found in them.")
        return self._insert(rows)

    def put_bulletin(self, key: str, text: str, *, now: datetime, source: str) -> int:
        """Keep one winds-aloft bulletin, lines and all, under a key such as ``us-low-06``; as ``put``."""
        when = own_time(text, now)
        if when is None:
            self._say(f"The winds-aloft bulletin {clean(key)} carries no time and was not kept.")
            return 0
        return self._insert([(key, WINDS_ALOFT, _seconds(when), text, "", _seconds(now), _seconds(now), source)])

    def prune(self, *, before: datetime | None = None, max_bytes: int | None = None) -> int:
        """Drop reports older than ``before``, the oldest beyond ``max_bytes``, and damaged files set aside.

        Returns how many reports went. Raises StoreError when the store cannot be written.
        """
        if not self.path.exists():
            return 0

        def drop(db: sqlite3.Connection) -> int:
            gone = 0
            if before is not None:
                gone = db.execute("DELETE FROM report WHERE time < ?", (_seconds(before),)).rowcount
            return gone + drop_oldest(db, self.max_bytes if max_bytes is None else max_bytes)

        try:
            gone = use_file(self.folder, drop, self._say, writing=True)
            for damaged in set_aside(self.folder):
                damaged.unlink(missing_ok=True)
            return gone
        except (sqlite3.Error, OSError) as error:
            raise StoreError(f"{self._cannot('written', error)} Nothing was dropped.") from error

    # -- reading ---------------------------------------------------------------------------------------

    def latest_metar(self, station: str, now: datetime | None = None) -> StoredReport | None:
        """Newest observation of a station, by its own time; none from after ``now`` when that is given."""
        return self.latest(METAR, [station], now).get(station_id(station))

    def latest_taf(self, station: str, now: datetime | None = None) -> StoredReport | None:
        """Newest forecast of a station, by its own time; none from after ``now`` when that is given."""
        return self.latest(TAF, [station], now).get(station_id(station))

    def latest_bulletin(self, key: str, now: datetime | None = None) -> StoredReport | None:
        """Newest winds-aloft bulletin kept under ``key``."""
        return self._latest(WINDS_ALOFT, [key], now).get(key)

    def latest(self, kind: str, stations: Iterable[str], now: datetime | None = None) -> dict[str, StoredReport]:
        """Newest report of a kind for each station that has one. Never raises but for a malformed identifier:
        a store that cannot be read gives nothing and a sentence in ``faults``."""
        return self._latest(kind, [station_id(s) for s in stations], now)

    def history(
        self, station: str, since: datetime, until: datetime | None = None, kind: str = METAR
    ) -> list[StoredReport]:
        """Reports of one station timed from ``since`` to ``until``, newest first."""
        return self.histories([station], since, until, kind).get(station_id(station), [])

    def histories(
        self, stations: Iterable[str], since: datetime, until: datetime | None = None, kind: str = METAR
    ) -> dict[str, list[StoredReport]]:
        """``history`` of many stations in one reading; stations without reports are absent."""
        ids = [station_id(s) for s in stations]
        last = _seconds(until) if until is not None else _EVER

        def read(db: sqlite3.Connection) -> dict[str, list[StoredReport]]:
            found: dict[str, list[StoredReport]] = {}
            for part in _parts(ids):
                query = (
                    f"SELECT {COLUMNS} FROM report WHERE station IN ({_marks(part)}) AND kind = ? "
                    f"AND time BETWEEN ? AND ? ORDER BY station, {_NEWEST}"
                )
                for row in db.execute(query, (*part, kind, _seconds(since), last)):
                    found.setdefault(row[0], []).append(_report(row))
            return found

        return self._read(read, {})

    def summary(self) -> StoreSummary:
        """What is kept, by station and kind; raises StoreError when the store cannot be read."""
        before = len(self.faults)

        def read(db: sqlite3.Connection) -> list[tuple[str, str, int, int, int]]:
            return db.execute(
                "SELECT station, kind, count(*), min(time), max(time) FROM report GROUP BY station, kind"
            ).fetchall()

        rows = self._read(read, None)
        if rows is None:
            if self.path.exists() or len(self.faults) > before:
                raise StoreError(self.faults[-1])
            rows = []
        size = self.path.stat().st_size if self.path.exists() else 0
        return StoreSummary(
            self.folder,
            tuple((s, k, n, _utc(a), _utc(b)) for s, k, n, a, b in rows),
            size,
            self.max_bytes,
            set_aside(self.folder),
        )

    def export(self, out: TextIO, stations: Sequence[str] = (), since: datetime | None = None) -> int:
        """Write observations in the raw archive layout, oldest first: CSV with ``station,time,raw``.

        Times are ISO with Z. Returns the number of rows. Raises StoreError when the store cannot be read.
        """
        ids = [station_id(s) for s in stations]
        only = f"AND station IN ({_marks(ids)})" if ids else ""
        query = f"SELECT {COLUMNS} FROM report WHERE kind = ? AND time >= ? {only} ORDER BY station, time, fetched"

        def read(db: sqlite3.Connection) -> int:
            writer = csv.writer(out, lineterminator="\n")
            writer.writerow(("station", "time", "raw"))
            count = 0
            for row in db.execute(query, (METAR, _seconds(since) if since is not None else 0, *ids)):
                writer.writerow((row[0], f"{_utc(row[2]):%Y-%m-%dT%H:%M:%SZ}", _report(row).raw))
                count += 1
            return count

        if not self.path.exists():
            raise StoreError(f"There is no store at {self.folder} yet: nothing has been fetched on this machine.")
        try:
            return use_file(self.folder, read, self._say, writing=False)
        except sqlite3.Error as error:
            raise StoreError(self._cannot("read", error)) from error

    # -- the file --------------------------------------------------------------------------------------

    def _latest(self, kind: str, ids: list[str], now: datetime | None) -> dict[str, StoredReport]:
        last = _seconds(now + CLOCK_SLACK) if now is not None else _EVER
        query = f"SELECT {COLUMNS} FROM report WHERE station = ? AND kind = ? AND time <= ? ORDER BY {_NEWEST} LIMIT 1"

        def read(db: sqlite3.Connection) -> dict[str, StoredReport]:
            found = {}
            for station in ids:  # one search of the index each: no station's history is read
                row = db.execute(query, (station, kind, last)).fetchone()
                if row is not None:
                    found[station] = _report(row)
            return found

        return self._read(read, {})

    def _insert(self, rows: list[Row]) -> int:
        if not rows:
            return 0

        def write(db: sqlite3.Connection) -> int:
            new = 0
            for row in rows:
                known = db.execute(
                    "SELECT 1 FROM report WHERE station = ? AND kind = ? AND time = ? AND body = ?", row[:4]
                ).fetchone()
                new += known is None
                db.execute(
                    f"INSERT INTO report {VALUES} ON CONFLICT DO UPDATE SET seen = max(seen, excluded.seen), "
                    "word = CASE word WHEN '' THEN excluded.word ELSE word END",
                    row,
                )
            drop_oldest(db, self.max_bytes)
            return new

        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            return use_file(self.folder, write, self._say, writing=True)
        except (sqlite3.Error, OSError) as error:
            self._say(
                f"{self._cannot('written', error)} This answer does not depend on it, but the reports just "
                "fetched will not be there when the network fails. Free some space, or set ADVISOR_STORE to "
                "another folder."
            )
            return 0

    def _read(self, read: Use[T], otherwise: T) -> T:
        try:
            if not self.path.exists():
                return otherwise
            return use_file(self.folder, read, self._say, writing=False)
        except (sqlite3.Error, OSError) as error:
            self._say(f"{self._cannot('read', error)} Reports kept earlier could not be used.")
            return otherwise

    def _cannot(self, verb: str, error: Exception) -> str:
        return f"The store of reports at {self.folder} could not be {verb} ({error})."

    def _say(self, sentence: str) -> None:
        if sentence not in self.faults:
            self.faults.append(sentence)


def _report(row: Row) -> StoredReport:
    station, kind, when, body, word, fetched, seen, source = row
    raw = f"{word} {body}" if word else body
    return StoredReport(station, kind, raw, _utc(when), _utc(fetched), _utc(seen), source)


def _seconds(when: datetime) -> int:
    return int(when.timestamp())


def _utc(seconds: int) -> datetime:
    return datetime.fromtimestamp(seconds, UTC)


def _parts(ids: list[str]) -> list[list[str]]:
    return [ids[i : i + _IDS_A_QUERY] for i in range(0, len(ids), _IDS_A_QUERY)]


def _marks(ids: Sequence[str]) -> str:
    return ", ".join("?" * len(ids))
