"""The store on disk: what goes in comes out, whatever happens to the disk or beside it."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from advisor.errors import UnknownStation
from advisor.reports.identity import own_time
from advisor.reports.store import Store
from tests.store_helpers import NOW, at, metar

# -- what goes in comes out ---------------------------------------------------------------------------------


def test_the_latest_and_the_history(store: Store):
    texts = [metar("XBRK", at(h)) for h in (12, 9, 11, 10)]
    taf = "TAF XBRK 251120Z 2512/2612 24012KT P6SM SCT045"
    assert store.put([(t, None) for t in [*texts, taf]], now=NOW, source="service") == 5
    latest = store.latest_metar("xbrk")
    assert latest is not None
    assert (latest.raw, latest.time, latest.fetched_at, latest.source) == (texts[0], at(12), NOW, "service")
    assert [r.time for r in store.history("XBRK", at(10))] == [at(12), at(11), at(10)]
    assert [r.time for r in store.history("XBRK", at(9), at(10))] == [at(10), at(9)]
    forecast = store.latest_taf("XBRK")
    assert forecast is not None
    assert (forecast.raw, forecast.time) == (taf, at(11, 20))
    assert store.latest_metar("XHLW") is None
    assert store.faults == []


def test_a_store_that_is_not_there_is_empty_and_is_not_made_by_looking(tmp_path: Path):
    store = Store(tmp_path / "none" / "yet")
    assert store.latest_metar("XBRK") is None
    assert store.history("XBRK", at(0)) == []
    assert store.prune() == 0
    assert store.summary().rows == ()
    assert not (tmp_path / "none").exists()


def test_the_same_report_is_kept_once_and_the_word_in_front_is_won(store: Store):
    later = NOW + timedelta(minutes=20)
    bare, full = metar("XBRK", at(12), word=""), metar("XBRK", at(12), word="SPECI ")
    assert store.put([(bare, None)], now=NOW, source="gateway") == 1
    assert store.put([(full + " =", None), (bare.replace(" ", "\n "), None)], now=later, source="service") == 0
    (kept,) = store.history("XBRK", at(0))
    assert (kept.raw, kept.fetched_at, kept.seen_at, kept.source) == (full, NOW, later, "gateway")


def test_age_is_of_the_report_and_not_of_the_fetch(store: Store):
    """An old report fetched last never hides a newer one fetched before."""
    store.put([(metar("XBRK", at(12)), None)], now=NOW, source="service")
    store.put([(metar("XBRK", at(9)), None)], now=NOW + timedelta(hours=1), source="gateway")
    latest = store.latest_metar("XBRK")
    assert latest is not None
    assert latest.time == at(12)


def test_a_correction_replaces_what_it_corrects(store: Store):
    wrong, right = metar("XBRK", at(12)), metar("XBRK", at(12), "24012KT 10SM CLR 12/03 A2992", "METAR COR ")
    store.put([(right, None), (wrong, None)], now=NOW, source="service")
    latest = store.latest_metar("XBRK")
    assert latest is not None
    assert latest.raw == right
    assert len(store.history("XBRK", at(0))) == 2


def test_a_report_from_the_future_does_not_hide_the_present(store: Store):
    store.put([(metar("XBRK", at(h)), None) for h in (12, 15)], now=NOW, source="service")
    latest = store.latest_metar("XBRK", NOW)
    assert latest is not None
    assert latest.time == at(12)
    newest = store.latest_metar("XBRK")
    assert newest is not None
    assert newest.time == at(15)


def test_a_text_without_station_or_time_is_said(store: Store):
    texts = ["", "NIL", "METAR XBRK NIL", "XBRK", "METAR XBRK 321253Z 24010KT", "\x00"]
    assert store.put([(t, None) for t in texts], now=NOW, source="text") == 0
    assert store.faults == ["6 of the reports could not be kept: no station or no time was found in them."]


def test_a_settled_time_is_believed(store: Store):
    old = at(12) - timedelta(days=60)
    store.put([(metar("XBRK", at(12)), old)], now=NOW, source="gateway")
    latest = store.latest_metar("XBRK")
    assert latest is not None
    assert latest.time == old


def test_a_bulletin_keeps_its_columns(store: Store):
    text = "FBUS31 KWNO 251359\nDATA BASED ON 251200Z    \n\nFT  3000    6000\nXHL      9900+10\n" + "x" * 12_000
    assert store.put_bulletin("us-low-06", text, now=NOW, source="service") == 1
    kept = store.latest_bulletin("us-low-06", NOW)
    assert kept is not None
    assert (kept.raw, kept.time) == (text, at(12, 0))
    assert store.put_bulletin("us-low-06", "no time", now=NOW, source="service") == 0
    assert "carries no time" in store.faults[0]


@pytest.mark.parametrize(
    ("raw", "near", "time"),
    [
        ("XBRK 251253Z 24010KT", NOW, at(12)),
        ("SPECI XBRK 251253Z 24010KT", NOW, at(12)),
        ("METAR COR XBRK 251253Z 24010KT", NOW, at(12)),
        ("XBRK COR 251253Z 24010KT", NOW, at(12)),
        ("TAF XBRK AMD 251120Z 2512/2612 24012KT", NOW, at(11, 20)),
        (
            "XBRK 302350Z 24010KT",
            datetime(2026, 5, 1, 0, 10, tzinfo=UTC),
            datetime(2026, 4, 30, 23, 50, tzinfo=UTC),
        ),
        (
            "XBRK 010005Z 24010KT",
            datetime(2026, 4, 30, 23, 50, tzinfo=UTC),
            datetime(2026, 5, 1, 0, 5, tzinfo=UTC),
        ),
        (
            "XBRK 312350Z 24010KT",
            datetime(2027, 1, 1, 0, 10, tzinfo=UTC),
            datetime(2026, 12, 31, 23, 50, tzinfo=UTC),
        ),
        (
            "XBRK 292350Z 24010KT",
            datetime(2028, 3, 1, 0, 10, tzinfo=UTC),
            datetime(2028, 2, 29, 23, 50, tzinfo=UTC),
        ),
        (
            "XBRK 302350Z 24010KT",
            datetime(2027, 2, 14, 0, 0, tzinfo=UTC),
            datetime(2027, 1, 30, 23, 50, tzinfo=UTC),
        ),
        ("TAF AMD XBRK 251120Z 2512/2612 24012KT", NOW, at(11, 20)),
        ("TAF XBRK 2512/2612 24012KT P6SM", NOW, at(12, 0)),
        ("XBRK 251120Z 2524/2624 24012KT", NOW, at(11, 20)),
        ("TAF XBRK 2524/2624 24012KT P6SM", NOW, datetime(2026, 4, 26, 0, 0, tzinfo=UTC)),
        ("XBRK 252560Z 24010KT", NOW, None),
        ("XBRK 001253Z 24010KT", NOW, None),
        ("WIND 24010KT", NOW, None),
        ("THIS IS NOT A REPORT", NOW, None),
    ],
)
def test_own_time(raw: str, near: datetime, time: datetime | None):
    """Month and year roll-over by hand from a calendar."""
    assert own_time(raw, near) == time


def test_export_is_the_archive_layout(store: Store):
    texts = [metar("XBRK", at(12)), metar("XBRK", at(11)), metar("XHLW", at(11), '24010KT RMK "A, B"')]
    store.put([(t, None) for t in [*texts, "TAF XBRK 251120Z 2512/2612 24012KT"]], now=NOW, source="service")
    out = io.StringIO()
    assert store.export(out) == 3
    assert list(csv.DictReader(io.StringIO(out.getvalue()))) == [
        {"station": "XBRK", "time": "2026-04-25T11:53:00Z", "raw": texts[1]},
        {"station": "XBRK", "time": "2026-04-25T12:53:00Z", "raw": texts[0]},
        {"station": "XHLW", "time": "2026-04-25T11:53:00Z", "raw": texts[2]},
    ]
    assert store.export(io.StringIO(), ["XBRK"], at(12)) == 1


def test_a_station_name_is_never_sql(store: Store):
    with pytest.raises(UnknownStation):
        store.latest_metar("X' OR 1")


# -- size ---------------------------------------------------------------------------------------------------


def test_the_size_is_bounded_and_the_oldest_go_first(tmp_path: Path):
    store = Store(tmp_path, max_bytes=200_000)
    start = at(0, 0, 1)
    for day in range(20):
        reports = [(metar("XBRK", start + timedelta(days=day, minutes=m), "RMK " + "A" * 80), None) for m in range(200)]
        store.put(reports, now=start + timedelta(days=day), source="service")
        assert store.path.stat().st_size <= 200_000
        assert day < 10 or store.path.stat().st_size > 140_000, "no more is dropped than need be"
    kept = store.history("XBRK", start - timedelta(days=1))
    assert len(kept) > 500
    times = [r.time for r in kept]
    assert times[0] == start + timedelta(days=19, minutes=199)
    unbroken = [start + timedelta(days=d, minutes=m) for d in range(20) for m in range(200)]
    assert times == unbroken[: -len(times) - 1 : -1], "what is left is the newest, with no hole"
    assert store.faults == []


def test_pruning_by_age_gives_space_back(store: Store):
    store.put(
        [(metar("XBRK", at(1, 0) + timedelta(minutes=m), "A" * 90), None) for m in range(700)],
        now=NOW,
        source="x",
    )
    before = store.path.stat().st_size
    assert store.prune(before=at(10, 0)) == 540
    assert [r.time for r in store.history("XBRK", at(0))][-1] == at(10, 0)
    assert store.path.stat().st_size < before / 2
