"""Reports from the service, with the gateway's files and the store behind it, and the sentences that say so.

Each fallback is said: what failed, what was served instead, and how old that is by its own time.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from advisor.errors import FetchError
from advisor.reports.answers import RawReport
from advisor.reports.faults import PassingFault
from advisor.reports.gathered import (
    HISTORY,
    OLDEST,
    Gathered,
    StationReports,
    StoredReport,
    in_words,
    named,
    newest_first,
    recent,
    same_text,
    timed,
)
from advisor.reports.identity import METAR, TAF, WINDS_ALOFT, own_time
from advisor.reports.store import CLOCK_SLACK, Store

if TYPE_CHECKING:
    from advisor.reports.fetch import Service

#: The service asks for at most one request an endpoint a minute: what came within it is not asked for again.
ASK_AGAIN_AFTER = timedelta(seconds=60)
#: With more stations than this only the newest reports are asked for; the trend then comes from the store.
MOST_WITH_HISTORY = 100
SHORT_HOURS = 1.5
Key = tuple[str, str, str]


def from_store(ids: tuple[str, ...], now: datetime, store: Store, aloft: Sequence[Key]) -> Gathered:
    """Reports kept on disk, nothing asked of the network; a sentence on how old they are."""
    kept = _Kept(ids, now, store)
    notes: list[str] = []
    stations = {i: StationReports(i, recent(kept.metars(i), now), kept.taf(i)) for i in ids}
    notes += _ages("From the store only (--offline)", [s.latest for s in stations.values()], now)
    notes += kept.lacking([i for i in ids if stations[i].latest is None], METAR)
    bulletins = []
    for key in aloft:
        bulletin = _kept_bulletin(store, key, now)
        bulletins += [bulletin] if bulletin else []
        notes += [] if bulletin else [f"No winds-aloft bulletin {'-'.join(key)} recent enough is kept."]
    return Gathered("offline", now, stations, tuple(bulletins), (*notes, *store.faults))


def from_service(
    ids: tuple[str, ...], now: datetime, store: Store | None, service: Service, aloft: Sequence[Key]
) -> Gathered:
    """Reports asked for now; whatever fails is made good from the gateway's files and then from the store."""
    asker = _Asker(service, store, now)
    fresh = _asked_just_now(ids, now, store)
    to_ask = tuple(i for i in ids if i not in fresh)
    hours = HISTORY.total_seconds() / 3600 if len(to_ask) <= MOST_WITH_HISTORY else SHORT_HOURS
    got = {METAR: asker.ask(METAR, to_ask, hours), TAF: asker.ask(TAF, to_ask, hours)}
    bulletins = asker.bulletins(aloft)

    kept = _Kept(ids, now, store)
    stations: dict[str, StationReports] = {}
    for i in ids:
        metars = _merged([*got[METAR].get(i, ()), *kept.metars(i)])
        tafs = _merged([*got[TAF].get(i, ()), *filter(None, [kept.taf(i)])])
        record = asker.records.get(metars[0].raw, {}) if metars else {}
        stations[i] = StationReports(i, recent(metars, now), tafs[0] if tafs else None, record)
    notes = [*asker.notes, *_fallbacks(stations, got, asker.unreached, kept, now)]
    return Gathered("live", now, stations, bulletins, (*notes, *(store.faults if store else ())))


class _Asker:
    """One round of questions; once the service or the gateway is down it is not asked again in the round."""

    def __init__(self, service: Service, store: Store | None, now: datetime) -> None:
        self.service, self.store, self.now = service, store, now
        self.notes: list[str] = []
        self.unreached: dict[str, tuple[str, ...]] = {METAR: (), TAF: ()}
        self.records: dict[str, Mapping[str, Any]] = {}
        self._down = self._gateway_down = False

    def ask(self, kind: str, ids: tuple[str, ...], hours: float) -> dict[str, list[StoredReport]]:
        """Reports of one kind by station, kept in the store as they come."""
        found: dict[str, list[StoredReport]] = {}
        unreached = ids
        if ids and not self._down:
            try:
                fetched = self.service.metars(ids, hours) if kind == METAR else self.service.tafs(ids)
                self.notes += fetched.report.faults
                self._down = fetched.report.down
                unreached = fetched.report.unreached
                if not fetched.reports and fetched.report.faults:
                    unreached = ids  # rows came and not one could be used: its form may have changed
                self._take(found, fetched.reports, "service")
            except FetchError as error:
                self.notes.append(str(error))
                self._down = isinstance(error, PassingFault)
        if unreached and not self._gateway_down:
            files = self.service.gateway(kind, unreached)
            self.notes += files.report.faults
            self._gateway_down = files.report.down
            unreached = files.report.unreached
            self._take(found, files.reports, "gateway")
        self.unreached[kind] = unreached
        return found

    def bulletins(self, keys: Sequence[Key]) -> tuple[StoredReport, ...]:
        """Winds-aloft bulletins, from the store where they cannot be fetched."""
        out = []
        for region, level, cycle in keys:
            key = f"{region}-{level}-{cycle}"
            kept = _kept_bulletin(self.store, (region, level, cycle), self.now) if self.store else None
            if kept and timedelta(0) <= self.now - kept.seen_at < ASK_AGAIN_AFTER:
                out.append(kept)
                continue
            texts: tuple[str, ...] = ()
            if not self._down:
                try:
                    fetched = self.service.winds_aloft(region, level, cycle)
                    self.notes += fetched.report.faults
                    texts = fetched.texts.get(key, ())
                except FetchError as error:
                    self.notes.append(str(error))
                    self._down = isinstance(error, PassingFault)
            for text in texts:
                when = own_time(text, self.now)
                out.append(StoredReport(key, WINDS_ALOFT, text, when, self.now, self.now, "service"))
                if self.store:
                    self.store.put_bulletin(key, text, now=self.now, source="service")
            if not texts and kept:
                out.append(kept)
                self.notes += _ages("Winds aloft from the store instead", [kept], self.now)
            elif not texts:
                self.notes.append(f"No winds-aloft bulletin {key} could be had.")
        return tuple(out)

    def _take(
        self, found: dict[str, list[StoredReport]], reports: Mapping[str, Iterable[RawReport]], source: str
    ) -> None:
        ahead, old = [], []
        for station, several in reports.items():
            for each in several:
                when = each.time or own_time(each.raw, self.now)
                if when is not None and when > self.now + CLOCK_SLACK:
                    ahead.append(station)
                elif when is not None and when <= self.now - OLDEST[each.kind]:
                    old.append(f"{station} {when:%Y-%m-%d %H%M}Z")
                else:
                    kept = StoredReport(station, each.kind, each.raw, when, self.now, self.now, source)
                    found.setdefault(station, []).append(kept)
                    self.records[each.raw] = each.record
        if ahead:
            self.notes.append(
                f"Reports of {named(ahead)} are timed after {self.now:%d %H%M}Z and were not used. Check "
                "this machine's clock."
            )
        if old:
            self.notes.append(f"Too old to be used: {named(old)}.")
        if self.store is not None:
            timed_ones = [(r.raw, r.time) for several in found.values() for r in several if r.source == source]
            self.store.put(timed_ones, now=self.now, source=source)


class _Kept:
    """What the store holds for the stations, read once."""

    def __init__(self, ids: tuple[str, ...], now: datetime, store: Store | None) -> None:
        self.now = now
        self._history = store.histories(ids, now - HISTORY, now + CLOCK_SLACK) if store else {}
        self._latest = store.latest(METAR, [i for i in ids if i not in self._history], now) if store else {}
        self._tafs = store.latest(TAF, ids, now) if store else {}

    def metars(self, station: str) -> list[StoredReport]:
        """Newest first; nothing past the oldest age served."""
        one = self._usable(self._latest.get(station))
        return self._history.get(station, [one] if one else [])

    def taf(self, station: str) -> StoredReport | None:
        """The newest forecast that may still hold."""
        return self._usable(self._tafs.get(station))

    def lacking(self, ids: Sequence[str], kind: str) -> list[str]:
        """A sentence on stations without a usable report of the kind, if any."""
        if not ids:
            return []
        held = self._latest if kind == METAR else self._tafs
        old = [f"{i} {timed(held[i]):%Y-%m-%d %H%M}Z" for i in ids if i in held]
        tail = f" Kept but too old to be used: {named(old)}." if old else ""
        return [f"No {kind.upper()} to use of {named(ids)}.{tail}"]

    def _usable(self, report: StoredReport | None) -> StoredReport | None:
        return report if report and timed(report) > self.now - OLDEST[report.kind] else None


def _fallbacks(
    stations: Mapping[str, StationReports],
    got: Mapping[str, Mapping[str, Iterable[StoredReport]]],
    unreached: Mapping[str, tuple[str, ...]],
    kept: _Kept,
    now: datetime,
) -> list[str]:
    """Sentences on what stands in for reports that did not come, and on what has nothing to stand in."""
    notes: list[str] = []
    metars = [s.latest for s in stations.values()]
    tafs = [s.taf for s in stations.values()]
    for served, kind in ((metars, METAR), (tafs, TAF)):
        files = [r for r in served if r and r.source == "gateway" and r.station in got[kind]]
        notes += _ages(f"{kind.upper()} from the gateway's text files instead", files, now)
        stored = [r for r in served if r and r.station in unreached[kind]]
        notes += _ages(f"{kind.upper()} from the store instead", stored, now)
    without = [s for s, r in stations.items() if r.latest is None]
    notes += kept.lacking(without, METAR)
    notes += kept.lacking([i for i in unreached[TAF] if stations[i].taf is None], TAF)
    quiet = [
        r for r in metars if r and r.station not in unreached[METAR] and timed(r) < now - HISTORY
    ]  # the service answered and had nothing new
    return notes + _ages("Nothing newer on file at the service", quiet, now)


def _ages(how: str, reports: Iterable[StoredReport | None], now: datetime) -> list[str]:
    """One sentence on the reports served and their ages, oldest first; nothing for none."""
    known = sorted((r for r in reports if r), key=timed)
    if not known:
        return []
    each = [f"{r.station} of {timed(r):%d %H%M}Z, {in_words(now - timed(r))} old" for r in known]
    return [f"{how}: {'; '.join(each[:5])}{f'; and {len(each) - 5} newer ones' if len(each) > 5 else ''}."]


def _merged(reports: Iterable[StoredReport]) -> tuple[StoredReport, ...]:
    """Newest first, each report once: the first of two that differ only by the word in front."""
    once: dict[tuple[datetime | None, str], StoredReport] = {}
    for each in reports:
        once.setdefault((each.time, same_text(each.raw)), each)
    return newest_first(list(once.values()))


def _asked_just_now(ids: Iterable[str], now: datetime, store: Store | None) -> set[str]:
    if store is None:
        return set()
    latest = store.latest(METAR, ids, now)
    return {i for i, r in latest.items() if timedelta(0) <= now - r.seen_at < ASK_AGAIN_AFTER}


def _kept_bulletin(store: Store, key: Key, now: datetime) -> StoredReport | None:
    kept = store.latest_bulletin("-".join(key), now)
    return kept if kept and timed(kept) > now - OLDEST[WINDS_ALOFT] else None
