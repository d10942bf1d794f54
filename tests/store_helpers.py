"""What the store's tests and the processes they start have in common; it loads little, so that they
start fast."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from advisor.reports.store import METAR, Store

__all__ = ["METAR", "NOW", "Store", "at", "metar", "repair", "write_many"]

NOW = datetime(2026, 4, 25, 13, 5, tzinfo=UTC)


def metar(station: str, when: datetime, rest: str = "24010KT 10SM CLR 12/03 A2992", word: str = "METAR ") -> str:
    return f"{word}{station} {when:%d%H%M}Z {rest}"


def at(hour: int, minute: int = 53, day: int = 25) -> datetime:
    return datetime(2026, 4, day, hour, minute, tzinfo=UTC)


def write_many(folder: str, station: str, count: int) -> list[str]:
    """Write one report of this process's own and one that all write, so many times; the faults said."""
    store = Store(folder)
    for n in range(count):
        shared = metar("XSND", at(0, 0) + timedelta(minutes=n))
        own = metar(station, at(0, 0) + timedelta(minutes=n))
        store.put([(shared, None), (own, None)], now=NOW, source=station)
        assert store.latest_metar("XSND") is not None
    return store.faults


def repair(folder: str) -> tuple[int, list[str]]:
    """Read a damaged store and write to it; stations found and faults said."""
    store = Store(folder)
    found = store.latest(METAR, [f"X{s:03d}" for s in range(60)])
    store.put([(metar("XNEW", at(12)), None)], now=NOW, source="service")
    return len(found), store.faults
